import type { Match } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { addReason } from '../outcome/fates.ts';
import { clockUnder } from './clock-under.ts';
import type { Supposition } from './supposition.ts';

/** Prior costs of names exchanged for all dumps, and from one dump on, nats. */
const ALL = 5;
const FROM = 6;
/** Prior cost of names that say nothing, such as one name for all, nats; each weight then costs its choice of a combine as well. */
const NOTHING = 6;
/** Most moments tried for an exchange from some dump on. */
const MOMENTS = 24;

/** The field with other names beside the weights, or none. */
export function otherNames(plain: Explained): Supposition[] {
	const unnamed = withoutNames(plain);
	const all = [...exchangedNames(plain), ...unnamed];
	if (all.length === 0) return all;
	// Wrong names pull the clock to where they fit better.
	const offsets = clockUnder(plain, (unnamed[0] ?? all[0]!).input);
	return all.map((s) => ({ ...s, offsets }));
}

/** The field with the names of two combines exchanged beside the weights, all of them or from one dump on. */
function exchangedNames(plain: Explained): Supposition[] {
	const { problem, input } = plain;
	const { combines } = input.records;
	const noted = problem.observations.filter((s) => s.noted && !s.sure);
	const list: Supposition[] = [];
	if (noted.length < 2) return list;
	for (let a = 0; a < combines.length; a++) {
		for (let b = a + 1; b < combines.length; b++) {
			const some = noted.filter((s) => s.combines.includes(a) !== s.combines.includes(b));
			if (some.length < 2) continue;
			const stride = Math.max(1, Math.ceil(some.length / MOMENTS));
			for (let from = 0; from < some.length - 1; from += stride) {
				const dumps = new Set(some.slice(from).map((s) => s.dump));
				list.push(exchange(plain, [combines[a]!, combines[b]!], dumps, from === 0, Math.log(some.length / stride)));
			}
		}
	}
	return list;
}

function exchange(
	plain: Explained,
	[a, b]: [string, string],
	dumps: ReadonlySet<number>,
	all: boolean,
	moments: number,
): Supposition {
	const other = (name: string): string => (name === a ? b : name === b ? a : name);
	const first = plain.input.book.dumps[Math.min(...dumps)]!.id;
	const where = all ? 'beside the weights' : `for the weights from dump ${first} on`;
	return {
		...renamed(plain, dumps, (names) => names.map(other)),
		price: all ? ALL : FROM + moments,
		caution: `The weights fit the logs only with the names of ${a} and ${b} exchanged ${where}. Possible cause: the names were swapped in the cart log or between the two log files. Check them.`,
	};
}

/** The field without the names beside the weights. */
function withoutNames(plain: Explained): Supposition[] {
	const noted = plain.problem.observations.filter((s) => s.noted && !s.sure && s.mixed.length === 0);
	if (plain.input.records.combines.length < 2 || noted.length < 2) return [];
	return [
		{
			...renamed(plain, new Set(noted.map((s) => s.dump)), () => []),
			price: NOTHING,
			caution:
				'The weights fit the logs only where the combines noted with them are set aside: perhaps one name was entered for all. Each weight went to the combine that it fits by time and weight. Check the names in the cart log.',
		},
	];
}

/** The field with other names beside some dumps; a dump that goes to another combine than was noted has a reason. */
function renamed(
	{ input }: Explained,
	dumps: ReadonlySet<number>,
	to: (names: string[]) => string[],
): Pick<Supposition, 'input' | 'undo'> {
	const { book, records } = input;
	const other = book.dumps.map((d, i) => (dumps.has(i) ? { ...d, combines: to(d.combines) } : d));
	return {
		input: { ...input, book: { ...book, dumps: other } },
		undo(match: Match): void {
			for (const fate of match.fates) {
				if (!dumps.has(fate.dump) || fate.status === 'aside') continue;
				const noted = book.dumps[fate.dump]!.combines.join('+');
				if (fate.combines.map((c) => records.combines[c]).join('+') === noted) continue;
				fate.combineSource = 'inferred';
				addReason(fate, `entered for ${noted}; the name appears to be wrong`);
			}
		},
	};
}
