import { describe, expect, it } from 'vitest';
import { emptyRecords, type Match, type Records } from '../../lib/model/index.ts';
import { bookOf, recordsOf } from './hand.ts';
import { cart, combinesOf, run, works } from './two.ts';

const records = recordsOf(works(true));
const rows = cart(records, 137, false).map((r) => r.dump);
const match = run(records, bookOf(rows));

const columns = (r: Records) =>
	Object.entries(r).filter(([, column]) => ArrayBuffer.isView(column)) as [keyof Records, Float64Array][];

/** The same records in this order, each as `parts` records of as many parts of its interval. */
function rearranged(order: readonly number[], parts = 1): Records {
	const other = emptyRecords(order.length * parts);
	other.combines = records.combines;
	order.forEach((from, k) => {
		for (let n = 0; n < parts; n++) {
			const to = parts * k + n;
			for (const [name, column] of columns(other)) column[to] = (records[name] as Float64Array)[from]!;
			other.interval_s[to] = records.interval_s[from]! / parts;
			other.distance_m[to] = records.distance_m[from]! / parts;
			other.time_s[to] = records.time_s[from]! - ((parts - 1 - n) / parts) * records.interval_s[from]!;
		}
	});
	return other;
}
const inOrder = Array.from({ length: records.n }, (_, i) => i);

function expectSame(found: Match, r: Records, scale = 1): void {
	expect(combinesOf(found, r)).toEqual(combinesOf(match, records));
	expect(found.fates.map((f) => f.status)).toEqual(match.fates.map((f) => f.status));
	expect(Math.abs(found.clock.offset_s - match.clock.offset_s)).toBeLessThan(1);
	found.factors.forEach((k, c) => {
		expect(k / match.factors[c]!).toBeCloseTo(scale, 3);
	});
	found.unloadings.forEach((u, i) => {
		const own = match.unloadings[i]!;
		expect(Math.abs(u.end_s - own.end_s)).toBeLessThan(1);
		expect(Math.abs(u.account_kg - own.account_kg)).toBeLessThan(15);
	});
}

describe('the same logs in other records', () => {
	it('give the same match: files of later hours first', () => {
		const half = records.n >> 1;
		const other = rearranged([...inOrder.slice(half), ...inOrder.slice(0, half)]);
		expectSame(run(other, bookOf(rows)), other);
	});

	it('give the same match: twice as many records of half the time', () => {
		const other = rearranged(inOrder, 2);
		expectSame(run(other, bookOf(rows)), other);
	});

	it('give factors so much larger as all weights are', () => {
		const heavy = rows.map((d) => ({ ...d, weight_kg: 1.02 * d.weight_kg }));
		expectSame(run(records, bookOf(heavy)), records, 1.02);
	});
});
