import { describe, expect, it } from 'vitest';
import type { Explained } from '../../lib/match/explained.ts';
import type { MatchInput } from '../../lib/match/problem/input.ts';
import { readObservations } from '../../lib/match/problem/observations.ts';
import { shiftedRows } from '../../lib/match/suppose/shifted-rows.ts';
import { shortages } from '../../lib/match/suppose/shortages.ts';
import type { LoadBook, Match, Records } from '../../lib/model/index.ts';
import { POUND_KG } from '../../lib/units/index.ts';
import { bookOf, dump, offload, recordsOf } from './hand.ts';
import { cart, combinesOf, run, works } from './two.ts';

/** True factors of the two combines of `cart`. */
const TRUE = [1.05, 0.94];

const records = recordsOf(works(true));
const all = (named = true, off = 0) => cart(records, off, named);

function factorsRight(match: Match, within = 0.02): void {
	// Under another unit masses are kilograms, and so are the factors' terms.
	match.factors.forEach((k, c) => {
		expect(Math.abs(k / TRUE[c]! - 1)).toBeLessThan(within);
	});
}

describe('few weights of many', () => {
	it('one dump in the middle of the day: its fill is found, the clock is not bent to make it the first', () => {
		const row = all().filter((r) => r.c === 'A')[5]!;
		const match = run(records, bookOf([row.dump]));
		expect(Math.abs(match.clock.offset_s)).toBeLessThan(300);
		expect(match.factors[0]).toBeCloseTo(1.05, 1);
		const u = match.unloadings[match.fates[0]!.unloadings[0]!]!;
		expect(row.dump.weight_kg / u.account_kg).toBeCloseTo(1.05, 1);
		// Fills before it are listed one by one, as the auger shows them.
		expect(match.unloadings.filter((x) => x.combine === 0 && x.unweighed !== null).length).toBeGreaterThanOrEqual(8);
	});

	it('three dumps of one combine, the clock off by an hour', () => {
		const rows = all(true, 3600).filter((r) => r.c === 'B');
		const match = run(records, bookOf(rows.slice(3, 6).map((r) => r.dump)));
		expect(Math.abs(match.clock.offset_s - 3600)).toBeLessThan(60);
		expect(match.factors[1]).toBeCloseTo(0.94, 2);
	});

	it('the cart log’s date a day off', () => {
		const rows = all(true, 86_400);
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		expect(Math.abs(match.clock.offset_s - 86_400)).toBeLessThan(60);
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		factorsRight(match);
	});

	it('two dumps of three, no names', () => {
		const rows = all(false).filter((_, i) => i % 3 !== 1);
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		factorsRight(match);
	});

	it('two fills that fit alike are both carried, their probabilities adding up with the best to 1', () => {
		const steady = recordsOf([
			{ name: 'A', from_s: 0, to_s: 8000, flow: () => 8, auger: (t) => t % 1000 > 920 || t % 1000 === 0 },
		]);
		// By a clock that is wrong by half of a fill one is as near as the other.
		const match = run(steady, bookOf([dump('D1', 0, 4500, 8300, { combines: ['A'] })]));
		const sum = (match.alternatives ?? []).reduce((total, a) => total + a.weight, 0);
		expect(match.alternatives?.length ?? 0).toBeGreaterThan(0);
		expect(sum).toBeGreaterThan(0.03);
		expect(sum).toBeLessThan(1);
		expect(match.cautions.join(' ')).toMatch(/clock may be/);
		expect(match.clock.u_s).toBeGreaterThan(200);
	});
});

it('a cart that loses a load cell at noon: it is seen, and weights stay as written', () => {
	const lost = all().map(({ dump }, i) => (i < 9 ? dump : { ...dump, weight_kg: Math.round(0.75 * dump.weight_kg) }));
	const match = run(records, bookOf(lost));
	expect(match.scaleChanged).toBe(true);
	expect(match.weighings.length).toBeGreaterThan(9);
	for (const w of match.weighings)
		expect(w.weight_kg).toBeCloseTo(
			w.dumps.reduce((sum, d) => sum + lost[d]!.weight_kg, 0),
			6,
		);
});

describe('weights in another unit from some dump on', () => {
	const rows = all();
	const from = rows.length >> 1;
	const dumps = (inPounds: (i: number) => boolean) =>
		rows.map(({ dump: d }, i) => (inPounds(i) ? { ...d, weight_kg: d.weight_kg / POUND_KG } : d));

	it.each([
		['from', (i: number) => i >= from],
		['before', (i: number) => i < from],
	] as const)(
		'pounds %s the middle of the day: factors for kilograms, and the caution has the dump',
		(when, inPounds) => {
			const match = run(records, bookOf(dumps(inPounds)));
			factorsRight(match);
			expect(match.cautions.join(' ')).toContain(`${when} ${rows[from]!.dump.id}`);
			expect(match.supposed_kg!.every((kg, i) => Math.abs(kg - rows[i]!.dump.weight_kg) < 1e-6)).toBe(true);
		},
	);
});

it.each([
	['weight', 1, 'up'],
	['weight', -1, 'down'],
	['time', 1, 'up'],
	['time', -1, 'down'],
] as const)(
	'a %s of the row %i before in each row: moved back, and the row that has none is set aside',
	(what, by, way) => {
		const dumps = all().map(({ dump: d }, order) => ({ ...d, order, weight_kg: 5000 + 10 * order }));
		const key = what === 'weight' ? 'weight_kg' : 'time_s';
		const slipped = dumps.map((d, i) => ({ ...d, [key]: (dumps[i - by] ?? d)[key] }));
		const input = { book: bookOf(slipped), plan: { pins: {}, cartLog: null } } as unknown as Explained['input'];
		const found = shiftedRows({ input } as Explained).find(
			(s) => s.caution!.startsWith(`The ${what}s`) && s.caution!.includes(`moved ${way}`),
		)!;
		const last = by > 0 ? dumps.length - 1 : 0;
		found.input.book.dumps.forEach((d, i) => {
			if (i !== last) expect(d[key]).toBe(dumps[i]![key]);
		});
		expect([...found.input.aside!.keys()]).toEqual([last]);
	},
);

it('a row that a supposition sets aside is kept out with its reason, except where the user has decided to use it', () => {
	const book = bookOf(all().map((r) => r.dump));
	const aside = new Map([[3, 'its own weight is missing']]);
	const read = (dumps = {}) =>
		readObservations({
			book,
			records,
			reference: { ratio: 1 },
			aside,
			plan: { name: '', scales: {}, pins: { dumps } },
		} as unknown as MatchInput);
	expect(read().observations).toHaveLength(book.dumps.length - 1);
	expect(read().excluded).toEqual([{ dump: 3, reason: 'its own weight is missing' }]);
	expect(read({ [book.dumps[3]!.id]: { status: 'used' } }).excluded).toEqual([]);
});

describe('units: they scale the factors and change nothing else', () => {
	const rows = all();
	const scaled = (by: number, of = rows): LoadBook =>
		bookOf(of.map((r) => ({ ...r.dump, weight_kg: r.dump.weight_kg * by })));
	const plain = run(records, bookOf(rows.map((r) => r.dump)));

	it.each([
		['pounds', 1 / POUND_KG, 0],
		['metric tons', 0.001, 0],
		['metric tons, by a clock nine minutes off', 0.001, 547],
		['bushels', 1 / 25.401, 0],
	])('weights in %s', (_, by, off_s) => {
		const match = run(records, scaled(by, all(true, off_s)));
		factorsRight(match);
		expect(match.fates.map((f) => [f.fill, f.status])).toEqual(plain.fates.map((f) => [f.fill, f.status]));
		expect(match.cautions.join(' ')).toMatch(/unit/);
	});

	it('the weights of one combine in pounds', () => {
		const mixed = rows.map((r) => ({ ...r.dump, weight_kg: r.dump.weight_kg / (r.c === 'A' ? POUND_KG : 1) }));
		const match = run(records, bookOf(mixed));
		expect(match.fates.map((f) => [f.fill, f.status])).toEqual(plain.fates.map((f) => [f.fill, f.status]));
		expect(match.cautions.join(' ')).toMatch(/weights of combine A .* in lb/);
		expect(match.weighings.map((w) => w.weight_kg)).toEqual(
			match.weighings.map((w) => expect.closeTo(mixed[w.dumps[0]!]!.weight_kg, 6)),
		);
		factorsRight(match);
	});

	const flowing = (change: (i: number) => number): Records => ({
		...records,
		flow_kg_s: records.flow_kg_s.map((q, i) => q * change(i)),
	});

	it('one log in lb/s', () => {
		const match = run(
			flowing((i) => (records.combine[i] === 0 ? 1 / POUND_KG : 1)),
			bookOf(rows.map((r) => r.dump)),
		);
		expect(match.fates.map((f) => [f.fill, f.status])).toEqual(plain.fates.map((f) => [f.fill, f.status]));
		expect(match.cautions.join(' ')).toMatch(/unit/);
		expect(match.cautions.join(' ')).toContain('flow_kg_s');
	});

	it('one log in lb/s from the middle of the day on', () => {
		const noon = records.time_s[0]! + 4100;
		const match = run(
			flowing((i) => (records.combine[i] === 0 && records.time_s[i]! > noon ? 1 / POUND_KG : 1)),
			bookOf(rows.map((r) => r.dump)),
		);
		expect(match.fates.map((f) => [f.fill, f.status])).toEqual(plain.fates.map((f) => [f.fill, f.status]));
		expect(match.under?.scale).not.toBeNull();
		factorsRight(match, 0.03);
	});
});

describe('one slip for many rows', () => {
	const exchanged = (name: string): string => (name === 'A' ? 'B' : 'A');

	it.each([
		['all', 0, 0],
		['all, by a clock nine minutes off', 0, 547],
		['from the ninth on', 8, 0],
	])('names exchanged beside %s', (_, from, off_s) => {
		const rows = all(true, off_s);
		const wrong = rows.map((r, i) => ({
			...r.dump,
			combines: i < from ? r.dump.combines : r.dump.combines.map(exchanged),
		}));
		const match = run(records, bookOf(wrong));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		expect(match.cautions.join(' ')).toMatch(/exchanged/);
		expect(match.fates.at(-1)).toMatchObject({ combineSource: 'inferred' });
		factorsRight(match);
	});

	it.each([true, false])('readings of a cart that fills up in place of weights, names %s', (named) => {
		const rows = all(named);
		let held_kg = 0;
		const readings = rows.map((r, i) => {
			held_kg = r.dump.weight_kg + (i % 3 === 0 ? 0 : held_kg);
			return { ...r.dump, weight_kg: held_kg };
		});
		const match = run(records, bookOf(readings));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		expect(match.cautions.join(' ')).toMatch(/fills up/);
		rows.forEach((r, i) => {
			expect(match.supposed_kg![i]).toBeCloseTo(r.dump.weight_kg, 6);
		});
		factorsRight(match);
	});

	it("one log's clock an hour off", () => {
		const rows = all();
		const time_s = records.time_s.map((t, i) => (records.combine[i] === 1 ? t + 3600 : t));
		const match = run({ ...records, time_s }, bookOf(rows.map((r) => r.dump)));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		expect(match.cautions.join(' ')).toMatch(/clock in combine B/);
		// Moments are told by the log's own clock, as its records are.
		const last = match.fates.findLast((f) => f.combines[0] === 1)!;
		expect(Math.abs(last.end_s - match.clock.offset_s - rows[last.dump]!.dump.time_s - 3600)).toBeLessThan(30);
		factorsRight(match);
	});
});

describe('weights saved too early', () => {
	/** Six loads of two dumps, and of as many by turns. */
	const loads = (short: (i: number, first: boolean) => number, most = 3) => {
		const dumps = [];
		const offloads = [];
		let order = 0;
		for (let load = 0; load < 6; load++) {
			let sum = 0;
			for (let j = 0; j < (load % 2 ? most : 2); j++, order++) {
				const kg = 6000 + 111 * order;
				sum += kg;
				dumps.push(dump(`D${order}`, order, 500 * order, kg - short(dumps.length, j === 0)));
			}
			offloads.push(offload(`L${load}`, order, 500 * order, sum));
			order++;
		}
		return bookOf(dumps, offloads);
	};

	const of = (kind: 'every' | 'first', book: LoadBook) => shortages(book).find((s) => s.of === kind);

	it('a shortage of every dump is found, and one of each load', () => {
		expect(
			of(
				'every',
				loads(() => 300),
			)!.kg,
		).toBeCloseTo(300, 6);
		expect(
			of(
				'first',
				loads((_, first) => (first ? 250 : 0)),
			)!.kg,
		).toBeCloseTo(250, 6);
	});

	it('where the cart closes with either, both are tried', () => {
		const found = shortages(loads((_, first) => (first ? 250 : 0), 2));
		expect(found.map((s) => s.of)).toEqual(['every', 'first']);
		expect(found.map((s) => s.kg)).toEqual([125, 250]);
	});

	it('a shortage of every dump from a load on is found, and one up to a load', () => {
		expect(
			of(
				'every',
				loads((i) => (i >= 7 ? 300 : 0)),
			),
		).toMatchObject({ from: 10 });
		const until = of(
			'every',
			loads((i) => (i < 7 ? 300 : 0)),
		)!;
		expect(until).toMatchObject({ from: 0, to: 10 });
		expect(until.kg).toBeCloseTo(300, 6);
	});

	it('a cart that closes, and a dump that was not saved, are none', () => {
		expect(shortages(loads(() => 0))).toEqual([]);
		const book = loads(() => 0);
		expect(shortages({ ...book, dumps: book.dumps.filter((_, i) => i !== 5) })).toEqual([]);
	});
});
