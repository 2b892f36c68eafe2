import type { Records } from '../../model/index.ts';
import { RowIndex } from './row-index.ts';

/** Records at the same places with the same flow: this many are no chance … */
const LEAST = 30;
/** … where they make up most of the stretch that they lie in. */
const MOST_OF = 0.8;

/** Matches of one log and combine at one difference of time. */
interface Shift {
	first: number;
	last: number;
	count: number;
}

/**
 * Finds records that stand in the logs a second time under another clock: an export in another time zone, or made after
 * the display's clock was set. Their position and flow are equal to those of earlier rows, all by one
 * difference of time.
 *
 * @param usable - 1 for a record with time and position that counts so far
 * @param alike - 1 for a record whose place may be that of another
 * @returns for each such record the one that it repeats
 */
export function shiftedCopies(records: Records, usable: Uint8Array, alike: Uint8Array): Map<number, number> {
	const { n, log, combine, time_s, lat_deg, lon_deg, flow_kg_s } = records;
	const flowing = (i: number) => usable[i] === 1 && flow_kg_s[i]! > 0;
	const places = new RowIndex([lat_deg, lon_deg, flow_kg_s]);
	const source = (i: number) => log[i]! * records.combines.length + combine[i]!;
	const shifts = new Map<string, Shift>();
	for (let i = 0; i < n; i++) {
		if (alike[i] === 0 || !flowing(i)) continue;
		const j = places.first(i);
		if (j === i || time_s[i] === time_s[j]) continue;
		const key = `${source(i)} ${ms(time_s[i]! - time_s[j]!) / 1000}`;
		const shift = shifts.get(key);
		if (!shift) shifts.set(key, { first: i, last: i, count: 1 });
		else {
			shift.last = i;
			shift.count++;
		}
	}
	const copies = new Map<number, number>();
	for (const [key, { first, last, count }] of shifts) {
		if (count < LEAST) continue;
		const [from, shift] = key.split(' ').map(Number) as [number, number];
		let all = 0;
		for (let i = first; i <= last; i++) if (source(i) === from && flowing(i)) all++;
		if (count < MOST_OF * all) continue;
		// With what stood still between, too.
		const moments = new RowIndex([time_s.map(ms), lat_deg, lon_deg]);
		for (let i = 0; i < n; i++) {
			if (usable[i] === 0 || copies.has(i)) continue;
			if (source(i) === from) {
				const j = moments.find(ms(time_s[i]! - shift), lat_deg[i]!, lon_deg[i]!);
				if (j >= 0) {
					copies.set(i, j);
					continue;
				}
			}
			moments.first(i);
		}
	}
	return copies;
}

const ms = (s: number): number => Math.round(1000 * s);
