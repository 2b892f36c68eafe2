import { tQuantile } from '../../stats/index.ts';
import type { Book } from '../book.ts';
import { find, inOrder, kept } from '../kept.ts';
import { ledger } from '../ledger/ledger.ts';
import type { RunningFactor } from './running-answer.ts';

/** A dump that does not fit the others. */
export interface Doubt {
	dumps: string[];
	error_pct: number;
	/** Where a load that fits the others would lie. */
	expected_pct: [number, number];
}

/**
 * Fills that lie outside the 99% range predicted from all other weights, and by more than the tolerance. Empty with
 * fewer than three other fills: then an outlier cannot be recognized.
 */
export function doubts(factor: RunningFactor, tolerance_pct: number): Doubt[] {
	if (factor.points.length < 4) return [];
	return factor.points.flatMap((p) => {
		const half_kg = Math.max(tQuantile(0.995, p.expectedDf) * p.u_expected_kg, (tolerance_pct / 100) * p.expected_kg);
		if (!(Math.abs(p.reference_kg - p.expected_kg) > half_kg)) return [];
		const error = (kg: number) => 100 * (p.monitor_kg / kg - 1);
		return [
			{
				dumps: p.dumps,
				error_pct: p.error_pct,
				expected_pct: [error(p.expected_kg + half_kg), error(p.expected_kg - half_kg)] as [number, number],
			},
		];
	});
}

/** Two rows of the same dump are written within this time, with weights this near to each other. */
const TWINS_S = 900;
const TWINS_REL = 0.01;
/** On one tablet within this time: no combine fills a tank faster. */
const AGAIN_S = 300;

/**
 * Pairs of rows that may be the same dump: of the same combine, within minutes of each other, with nearly the same weight where
 * two tablets entered them, and with exactly the same where one did.
 */
export function twins(book: Book): { dumps: [string, string] }[] {
	const l = ledger(book);
	const dumps = kept(book, 'dump').sort(inOrder);
	const found: ReturnType<typeof twins> = [];
	for (let i = 0; i < dumps.length; i++)
		for (let j = i + 1; j < dumps.length; j++) {
			const [a, b] = [dumps[i]!, dumps[j]!];
			if (b.v.time_s - a.v.time_s > TWINS_S) break;
			if (!a.v.combines.some((c) => b.v.combines.includes(c))) continue;
			// A keyed reading that another row already used shows as "no weight moved": an equal reading is evidence
			// too.
			const [x, y] = [l.byId.get(a.id)!, l.byId.get(b.id)!];
			const one = a.entries[0]!.by === b.entries[0]!.by;
			if (one && b.v.time_s - a.v.time_s > AGAIN_S) continue;
			const sameNet =
				x.net_kg > 0 && Math.abs(x.net_kg - y.net_kg) <= (one ? 0 : TWINS_REL) * Math.max(x.net_kg, y.net_kg);
			const sameReading =
				!one && a.v.reading_kg !== null && b.v.reading_kg !== null && Math.abs(a.v.reading_kg - b.v.reading_kg) <= 20;
			if (sameNet || sameReading) found.push({ dumps: [a.id, b.id] });
		}
	return found;
}

/** What is odd about a dump's own row, before it is compared with others. */
export function oddities(book: Book, dump: string): ('no weight' | 'wrong way' | 'above size' | 'above tank')[] {
	const d = find(book, 'dump', dump);
	const w = ledger(book).byId.get(dump);
	if (!d || !w) return [];
	const odd: ReturnType<typeof oddities> = w.odd.filter((o) => o !== 'below nothing');
	const tank = d.v.combines.reduce((s, c) => s + (find(book, 'combine', c)?.v.tank_kg ?? Number.NaN), 0);
	// While unloading on the go, grain keeps coming in as the tank empties: half a tank more is possible.
	if (w.net_kg > tank * 1.5) odd.push('above tank');
	return odd;
}
