import { expect, it } from 'vitest';
import type { Account, Match, Track, Unloading } from '../../lib/model/index.ts';
import { ticketGrain } from '../../lib/reference/ticket-grain.ts';
import { bookOf, dump, offload, recordsOf, ticket } from '../match/hand.ts';

/** A cuts 8 kg and B 6 kg in each record; A's sensor shows 18 %, then nothing it can be, B's 20 %. */
const records = recordsOf([
	{ name: 'A', from_s: 0, to_s: 400, flow: () => 8 },
	{ name: 'B', from_s: 0, to_s: 300, flow: () => 6 },
]);
for (let i = 0; i < records.n; i++) records.moisture_pct[i] = i < 200 ? 18 : i < 300 ? 2 : i < 400 ? 50 : 20;
const account = { account_kg: records.flow_kg_s.slice() } as unknown as Account;
const placed = new Float64Array(records.n).fill(Number.NaN);
// Where the track knows better: A's first hundred.
placed.fill(17, 0, 100);
// Grain without mass weighs no moisture.
account.account_kg[150] = 0;
records.moisture_pct[150] = 49;

const unloading = (combine: number, from: number, to: number, of: number): Unloading =>
	({ combine, from, to, dump: of }) as Unloading;
const match = {
	unloadings: [
		unloading(0, 0, 100, 0),
		unloading(0, 100, 200, 1),
		unloading(1, 0, 100, 2),
		unloading(0, 200, 400, 3),
		unloading(1, 100, 200, -1),
		unloading(1, 200, 200, 4),
	],
	fates: [0, 1, 2, 3, 4, 5].map((d) => ({ dump: d, status: d === 2 ? 'aside' : 'used' })),
	weighings: [
		{ kind: 'ticket', ticket: 1, unloadings: [4, 99] },
		{ kind: 'ticket', ticket: 0, unloadings: [] },
		{ kind: 'dump', ticket: 2, unloadings: [0] },
	],
	factors: [1.1, 0.9],
} as unknown as Match;
const book = bookOf(
	[
		dump('D0', 0, 0, 800),
		dump('D1', 1, 100, 800),
		dump('D2', 2, 200, 600),
		dump('D3', 4, 400, 1600, { truckLoad: 'T1' }),
		dump('D4', 5, 500, 600),
		dump('D5', 7, 700, 600),
	],
	[offload('L0', 3, 300, 2200, 'T0'), offload('L1', 6, 600, 1600), offload('L2', 8, 800, 600, 'T2')],
	[
		ticket('0', 900, 2200, { truckLoad: 'T0' }),
		ticket('1', 901, 1600, { truckLoad: 'T1' }),
		ticket('2', 902, 600, { truckLoad: 'T2' }),
		ticket('3', 903, 600),
		ticket('4', 904, 600, { truckLoad: 'none' }),
	],
);
const track = { moisture_pct: placed } as unknown as Track;

it('each ticket has the grain of the dumps behind its truck, corrected, with the moisture that was sensed', () => {
	const [t0, t1, t2, t3, t4] = ticketGrain({ book, records, account, track, match });
	// D0 and D1 by the next offload; D2 was set aside. 100 records at 17 %, 99 at 18 %.
	expect(t0).toEqual([
		{
			combine: 0,
			kg: expect.closeTo(1.1 * 199 * 8, 8),
			sensed_pct: expect.closeTo((100 * 17 + 99 * 18) / 199, 10),
		},
	]);
	// D3 by its own truckload, though an offload to nowhere follows; straight from B by its weighing.
	expect(t1).toEqual([
		{ combine: 0, kg: expect.closeTo(1.1 * 200 * 8, 8), sensed_pct: Number.NaN },
		{ combine: 1, kg: expect.closeTo(0.9 * 100 * 6, 8), sensed_pct: expect.closeTo(20, 10) },
	]);
	expect([t2, t3, t4]).toEqual([[], [], []]);
});

it('one combine’s grain in two unloadings is one share; moisture that one of them lacks is the other’s', () => {
	const both = { ...match, fates: [0, 1, 3].map((d) => ({ dump: d, status: 'used' })) } as unknown as Match;
	const one = bookOf(
		book.dumps.slice(0, 4).map((d) => ({ ...d, truckLoad: 'T' })),
		[],
		[ticket('0', 900, 3200, { truckLoad: 'T' })],
	);
	const [shares] = ticketGrain({ book: one, records, account, track, match: both });
	expect(shares).toEqual([
		{ combine: 0, kg: expect.closeTo(1.1 * 399 * 8, 8), sensed_pct: expect.closeTo((100 * 17 + 99 * 18) / 199, 10) },
	]);
	// The other way round.
	const turned = { ...both, unloadings: [unloading(0, 200, 400, 0), unloading(0, 0, 100, 1)] } as unknown as Match;
	expect(ticketGrain({ book: one, records, account, track, match: turned })[0]![0]!.sensed_pct).toBeCloseTo(17, 10);
});
