import { describe, expect, it } from 'vitest';
import { accountMass } from '../../lib/account/account.ts';
import type { LoadBook, Match, SeamJump, Track, Unloading } from '../../lib/model/index.ts';
import { moistureGaps, moistureOffsets, moistureSlips } from '../../lib/reference/index.ts';
import { bookOf, dump, offload, planOf, recordsOf, ticket } from '../match/hand.ts';

/** A sensed 18 % and B 19 %; truly 18.6 and 18.7: offsets +0.6 and −0.3. */
const records = recordsOf([
	{ name: 'A', from_s: 0, to_s: 6000, flow: () => 8 },
	{ name: 'B', from_s: 0, to_s: 6000, flow: () => 8 },
]);
for (let i = 0; i < records.n; i++) records.moisture_pct[i] = records.combine[i] === 0 ? 18 : 19;

const unloading = (combine: number, n: number, dumpIndex: number): Unloading => ({
	combine,
	fill: `${'AB'[combine]}${n + 1}`,
	start_s: 0,
	end_s: 0,
	u_s: 3,
	from: 1000 * n,
	to: 1000 * (n + 1),
	account_kg: 8000,
	u_account_kg: 0,
	rest_kg: 0,
	u_rest_kg: 30,
	dump: dumpIndex,
	ticket: -1,
	unweighed: null,
	deduced_kg: Number.NaN,
});

/** Loads of one dump of each combine; load i holds share[i] of A. */
function field(certified: (shareA: number) => number, shares: number[]) {
	const dumps = shares.flatMap((_, i) => [
		dump(`A${i}`, 3 * i, 1000 * i, 8000),
		dump(`B${i}`, 3 * i + 1, 1000 * i + 300, 8000),
	]);
	const offloads = shares.map((_, i) => offload(`L${i}`, 3 * i + 2, 1000 * i + 600, 16_000, `T${i}`));
	const tickets = shares.map((a, i) =>
		ticket(String(i), 1000 * i + 900, 16_000, { truckLoad: `T${i}`, moisture_pct: certified(a) }),
	);
	const unloadings = [
		...shares.map((a, i) => ({ ...unloading(0, i, 2 * i), to: 1000 * i + 1000 * a, from: 1000 * i })),
		...shares.map((a, i) => ({ ...unloading(1, i, 2 * i + 1), to: 1000 * i + 1000 * (1 - a), from: 1000 * i })),
	];
	const match = {
		unloadings,
		fates: dumps.map((_, i) => ({ dump: i, status: 'used' })),
		weighings: [],
		factors: [1, 1],
	} as unknown as Match;
	const book: LoadBook = bookOf(dumps, offloads, tickets);
	const track = { moisture_pct: new Float64Array(records.n).fill(Number.NaN) } as unknown as Track;
	return {
		book,
		plan: planOf(['A', 'B']),
		records,
		account: accountMass(records),
		track,
		match,
		seams: [] as SeamJump[],
	};
}

describe('moisture offsets', () => {
	const truth = (a: number): number => a * 18.6 + (1 - a) * 18.7;

	it('are solved together from loads that mix combines', () => {
		const found = moistureOffsets(field(truth, [0.9, 0.2, 0.7, 0.1, 0.5, 0.8]));
		expect(found[0]!.offset_pct).toBeCloseTo(0.6, 1);
		expect(found[1]!.offset_pct).toBeCloseTo(-0.3, 1);
		expect(found[0]).toMatchObject({ source: 'tickets', n: 6 });
		expect(found[0]!.u_pct).toBeGreaterThan(0.05);
		expect(found[0]!.u_pct).toBeLessThan(0.2);
	});

	it('loads of equal shares tell the mean alone; a seam tells the combines apart', () => {
		const half = field(truth, [0.5, 0.5, 0.5, 0.5, 0.5]);
		expect(moistureOffsets(half)[0]!.u_pct).toBeGreaterThan(0.3);
		const jump = { combineA: 0, combineB: 1, moisture_diff_pct: -0.9, length_m: 2000 } as SeamJump;
		const found = moistureOffsets({ ...half, seams: [jump] });
		expect(found[0]!.offset_pct).toBeCloseTo(0.6, 1);
		expect(found[1]!.offset_pct).toBeCloseTo(-0.3, 1);
		expect(found[0]!.u_pct).toBeLessThan(0.2);
	});

	it('a ticket that stands far off is not believed', () => {
		const one = field(truth, [0.9, 0.2, 0.7, 0.1, 0.5, 0.8]);
		one.book.tickets[2]!.moisture_pct = 23;
		const found = moistureOffsets(one);
		expect(found[0]!.offset_pct).toBeCloseTo(0.6, 1);
		expect(found[0]!.odd).toEqual([{ ticket: 2, by_pct: expect.closeTo(4.4, 1) }]);
		expect(found[0]!.apart_pct).toBeUndefined();
		expect(moistureSlips(one.book, found).join(' ')).toMatch(/moisture of ticket 2 is 4\.\d points above/);
	});

	it('two tickets that contradict each other say little, and a caution says so', () => {
		const jump = { combineA: 0, combineB: 1, moisture_diff_pct: -0.9, length_m: 2000 } as SeamJump;
		const two = { ...field(truth, [0.9, 0.2]), seams: [jump] };
		const agreed = moistureOffsets(two)[0]!;
		expect(agreed.apart_pct).toBeUndefined();
		two.book.tickets[1]!.moisture_pct += 3;
		const found = moistureOffsets(two);
		expect(found[0]!.u_pct).toBeGreaterThan(3 * agreed.u_pct);
		for (const [c, m] of found.entries()) expect(Math.abs(m.offset_pct - [0.6, -0.3][c]!)).toBeLessThan(2.5 * m.u_pct);
		expect(moistureSlips(two.book, found).join(' ')).toMatch(/contradict each other by up to 1\.\d points/);
	});

	it('tickets on a dry basis: both bases count, the likelier more, and a caution says so', () => {
		const dry = field((a) => (100 * truth(a)) / (100 - truth(a)), [0.9, 0.2, 0.7, 0.1, 0.5, 0.8]);
		const found = moistureOffsets(dry);
		expect(found[0]!.given_pct).toBeGreaterThan(4);
		found.forEach((o, c) => {
			const error = o.offset_pct - [0.6, -0.3][c]!;
			expect(Math.abs(error)).toBeLessThan(Math.max(0.3, 2 * o.u_pct));
		});
		expect(moistureSlips(dry.book, found).join(' ')).toMatch(/above the sensors of all combines.*on a dry basis/s);
		// Sensors that are off by a point and more on both are no such slip.
		const off = moistureOffsets(field((a) => truth(a) + 1.5, [0.9, 0.2, 0.7, 0.1]));
		expect(off[0]!.given_pct).toBeUndefined();
	});

	it('two sensors that differ on the same ground are as uncertain where no ticket decides, and a caution says so', () => {
		const none = field(() => Number.NaN, [0.9, 0.2]);
		const jump = (moisture_diff_pct: number) => [
			{ combineA: 0, combineB: 1, moisture_diff_pct, length_m: 2000 } as SeamJump,
		];
		const found = moistureOffsets({ ...none, seams: jump(-4) });
		expect(found.map((o) => o.u_pct)).toEqual([Math.hypot(0.6, 2), Math.hypot(0.6, 2)]);
		expect(moistureSlips(none.book, found).join(' ')).toMatch(/differ by 4\.0 points on the same ground/);
		const usual = moistureOffsets({ ...none, seams: jump(1.5) });
		expect(usual.map((o) => o.u_pct)).toEqual([0.6, 0.6]);
		expect(moistureSlips(none.book, usual)).toEqual([]);
	});

	it('without a ticket nothing is known: 0 with u 0.6', () => {
		const none = field(() => Number.NaN, [0.9, 0.2]);
		expect(moistureOffsets(none)).toEqual([
			{ combine: 0, offset_pct: 0, u_pct: 0.6, n: 0, source: 'none' },
			{ combine: 1, offset_pct: 0, u_pct: 0.6, n: 0, source: 'none' },
		]);
	});
});

describe('where no sensor measured', () => {
	const blank = recordsOf([
		{ name: 'A', from_s: 0, to_s: 6000, flow: () => 8 },
		{ name: 'B', from_s: 0, to_s: 6000, flow: () => 8 },
	]);
	blank.moisture_pct.fill(Number.NaN);
	const solve = (certified: number, noted: number) => {
		const given = field(() => certified, [0.5, 0.5]);
		for (const d of given.book.dumps) d.moisture_pct = noted;
		return moistureOffsets({ ...given, records: blank });
	};

	it.each([
		['the tickets stand in', 19, 17, { pct: 19, u_pct: 0.6, from: 'tickets' }],
		['or the cart log', Number.NaN, 17, { pct: 17, u_pct: 0.6, from: 'cart' }],
		['or market moisture, and then much is open', Number.NaN, Number.NaN, { pct: 15.5, u_pct: 2, from: 'market' }],
	])('%s', (_, certified, noted, standIn) => {
		for (const offset of solve(certified, noted))
			expect(offset).toMatchObject({ offset_pct: 0, source: 'none', standIn });
	});

	it('says what stands in, and where one combine lacks it', () => {
		const { plan } = field(() => 19, [0.5]);
		const track = { moisture_pct: blank.moisture_pct } as unknown as Track;
		const moisture = solve(19, Number.NaN);
		expect(moistureGaps({ records: blank, track, moisture, plan })).toEqual([
			'No log has a moisture. Dry weights assume 19.0%, the mean of the tickets.',
		]);
		const onlyA = Float64Array.from(records.moisture_pct, (m, i) => (records.combine[i] === 0 ? m : Number.NaN));
		const one = { moisture_pct: onlyA } as unknown as Track;
		expect(moistureGaps({ records, track: one, moisture: [], plan })).toEqual([
			"Combine B has no moisture. Dry weights assume the mean of the field's other records there.",
		]);
	});
});
