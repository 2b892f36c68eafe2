import type { Match } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { addReason } from '../outcome/fates.ts';
import { clockUnder } from './clock-under.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of names that say nothing, such as one name for all, nats; each weight then costs its choice of a combine as well. */
const NOTHING = 6;

/** The field without the names beside the weights: exchanged, all of them or from some dump on, or one name for all. */
export function withoutNames(plain: Explained): Supposition[] {
	const { problem, input } = plain;
	const { book, records } = input;
	const noted = problem.observations.filter((s) => s.noted && !s.sure && s.mixed.length === 0);
	if (records.combines.length < 2 || noted.length < 2) return [];
	const dumps = new Set(noted.map((s) => s.dump));
	const unnamed = book.dumps.map((d, i) => (dumps.has(i) ? { ...d, combines: [] } : d));
	const supposed = { ...input, book: { ...book, dumps: unnamed } };
	return [
		{
			input: supposed,
			price: NOTHING,
			caution:
				'The weights fit the logs only where the combines noted with them are set aside: perhaps names were exchanged, or one name was entered for all. Each weight went to the combine that it fits by time and weight. Check the names in the cart log.',
			// Wrong names pull the clock to where they fit better.
			offsets: clockUnder(plain, supposed),
			undo(match: Match): void {
				for (const fate of match.fates) {
					if (!dumps.has(fate.dump) || fate.status === 'aside') continue;
					const name = book.dumps[fate.dump]!.combines.join('+');
					if (fate.combines.map((c) => records.combines[c]).join('+') === name) continue;
					addReason(fate, `entered for ${name}; the name appears to be wrong`);
				}
			},
		},
	];
}
