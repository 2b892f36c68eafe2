import { describe, expect, it } from 'vitest';
import { truckLoads } from '../../lib/reference/index.ts';
import { bookOf, dump, NOON, offload, planOf, recordsOf, ticket } from './hand.ts';
import { cart, combinesOf, run, TIMES_A, TIMES_B, twoDays, weigh, works } from './two.ts';

describe('two combines and one cart', () => {
	it('unlabeled dumps, clock off by 137 s: combine, clock and factors', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 137, false);
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		expect(match.fates.every((f) => f.status === 'used' && f.combineSource === 'inferred')).toBe(true);
		expect(match.clock.offset_s).toBeCloseTo(137, -1);
		expect(match.factors[0]).toBeCloseTo(1.05, 2);
		expect(Math.abs(match.factors[1]! - 0.94)).toBeLessThan(0.015);
		// Every weight is one equation over its own fill.
		expect(match.weighings).toHaveLength(19);
		for (const w of match.weighings) {
			const u = match.unloadings[w.unloadings[0]!]!;
			expect(w.reference_kg / u.account_kg).toBeCloseTo([1.05, 0.94][u.combine]!, 1);
		}
	});

	it('no auger signal and a clock off by a zone: by weights, levels and pauses alone', () => {
		const records = recordsOf(works(false));
		const rows = cart(records, -25_200, false);
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		expect(Math.abs(match.clock.offset_s + 25_200)).toBeLessThan(120);
		expect(Math.abs(match.clock.offset_s + 25_200)).toBeLessThan(2 * match.clock.u_s + 1);
	});

	it('a tank that keeps a rest: joined with the next, and the rest is found', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true, (i) => (i === 3 ? 1860 : 0));
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		const joined = match.fates.filter((f) => f.status === 'joined');
		const a = rows.filter((r) => r.c === 'A');
		expect(joined.map((f) => f.dump)).toEqual([rows.indexOf(a[3]!), rows.indexOf(a[4]!)]);
		expect(joined[0]!.fill).toBe(joined[1]!.fill);
		expect(joined[0]!.reason).toMatch(/^about 4,\d00 lb \(1,\d\d0 kg\) stayed in A's tank/);
		const left_kg = Number(
			joined[0]!
				.reason!.match(/\((\d),(\d+) kg\)/)!
				.slice(1)
				.join(''),
		);
		expect(Math.abs(left_kg - 1860)).toBeLessThan(150);
	});

	it('saved twice: the second row is set aside, in words', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => r.dump);
		const twice = dump('X', 99, 800 + 35, rows[0]!.weight_kg, { combines: ['A'] });
		const match = run(records, bookOf([...rows, twice]));
		expect(match.fates[rows.length]).toMatchObject({
			status: 'aside',
			reason: 'entered twice, 35 s apart (see D1)',
		});
		expect(match.unloadings.every((u) => u.unweighed === null)).toBe(true);
	});

	it('dumped straight into a truck: listed at its stretch, its ticket telling the weight', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => r.dump);
		const gone = rows.find((d) => d.time_s === NOON + 3200)!;
		const book = bookOf(
			rows.filter((d) => d !== gone),
			[],
			[ticket('7', 3200 + 1500, gone.weight_kg, { combine: 'A' })],
		);
		const match = run(records, book);
		const missing = match.unloadings.filter((u) => u.dump < 0);
		expect(missing).toHaveLength(1);
		expect(missing[0]!.combine).toBe(0);
		expect(Math.abs(missing[0]!.end_s - (NOON + 3200))).toBeLessThan(60);
		expect(missing[0]!.deduced_kg).toBe(gone.weight_kg);
		expect(missing[0]!.unweighed).toMatch(/direct to truck/);
	});

	it('never saved: the cart’s level tells of it', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => r.dump);
		const offloads = rows
			.filter((_, i) => i % 2 === 1)
			.map((d, i) => offload(`L${i}`, 0, d.time_s - NOON + 150, d.weight_kg + rows[2 * i]!.weight_kg));
		const gone = rows[6]!;
		const book = bookOf(
			rows.filter((d) => d !== gone),
			offloads,
		);
		const order = [...book.dumps, ...book.offloads].sort((a, b) => a.time_s - b.time_s);
		order.forEach((row, i) => {
			row.order = i;
		});
		const match = run(records, book);
		const missing = match.unloadings.filter((u) => u.dump < 0);
		expect(missing).toHaveLength(1);
		expect(Math.abs(missing[0]!.end_s - gone.time_s)).toBeLessThan(60);
		expect(Math.abs(missing[0]!.deduced_kg / gone.weight_kg - 1)).toBeLessThan(0.02);
		expect(missing[0]!.unweighed).toMatch(/no dump saved/);
	});

	it.each([
		['too high', 1.4],
		['too low', 0.7],
	])('without names, the truck tells that a weight is %s and what it was', (_, by) => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, false).map((r) => r.dump);
		const offloads = rows
			.filter((_, i) => i % 2 === 1)
			.map((d, i) => offload(`L${i}`, 0, d.time_s - NOON + 150, d.weight_kg + rows[2 * i]!.weight_kg));
		// Few weights, so that a wrong one could move the factor.
		const few = rows.slice(0, 6).map((d, i) => (i === 2 ? { ...d, weight_kg: Math.round(by * d.weight_kg) } : d));
		const book = bookOf(few, offloads.slice(0, 3));
		const order = [...book.dumps, ...book.offloads].sort((a, b) => a.time_s - b.time_s);
		order.forEach((row, i) => {
			row.order = i;
		});
		const match = run(records, book);
		expect(match.factors[0]).toBeCloseTo(1.05, 1);
		expect(match.factors[1]).toBeCloseTo(0.94, 1);
		const [load] = truckLoads(book, match.fates).filter((t) => t.repaired);
		expect(load?.repaired).toMatchObject({ dump: 'D3' });
		expect(Math.abs(load!.repaired!.cart_kg / rows[2]!.weight_kg - 1)).toBeLessThan(0.01);
	});

	it('a dump before anything was cut is no dump of this field', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => r.dump);
		const early = dump('E', 0, -1800, 7400, { combines: ['A'] });
		const match = run(records, bookOf([early, ...rows]));
		expect(match.fates[0]!.status).toBe('aside');
		expect(match.fates[0]!.reason).toMatch(/no combine/);
		expect(match.fates.slice(1).every((f) => f.status === 'used')).toBe(true);
	});

	it('a row of another field is set aside by its name', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => ({ ...r.dump, field: 'Hand field' }));
		rows[4] = { ...rows[4]!, field: 'Creek' };
		const match = run(records, bookOf(rows));
		expect(match.fates[4]).toMatchObject({ status: 'aside', reason: 'entered as grain from another field, Creek' });
	});

	it('the wrong combine noted beside one weight: the logs are heard, and it is said', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true);
		const wrong = rows.findIndex((r) => r.c === 'B');
		rows[wrong]!.dump.combines = ['A'];
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		expect(combinesOf(match, records)).toEqual(rows.map((r) => r.c));
		expect(match.fates[wrong]).toMatchObject({ status: 'used', combineSource: 'inferred' });
		expect(match.fates[wrong]!.reason).toMatch(/entered for A, but it fits B's tank/);
		const id = (i: number) => rows[i]!.dump.id;
		expect(match.cautions).toContain(`${id(wrong)}: entered for A, but it fits B's tank and not A's.`);
		// Two alike are said at once.
		const again = rows.findIndex((r, i) => i > wrong + 4 && r.c === 'B');
		rows[again]!.dump.combines = ['A'];
		expect(run(records, bookOf(rows.map((r) => r.dump))).cautions).toContain(
			`${id(wrong)}, ${id(again)}: each entered for A, but it fits B's tank and not A's.`,
		);
	});

	it('the dumps of two combines in one row, noted for the later one', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true);
		const second = rows.findIndex((r, i) => i > 6 && r.c !== rows[i - 1]!.c);
		const [first] = rows.splice(second - 1, 1);
		const both = rows[second - 1]!;
		both.dump.weight_kg += first!.dump.weight_kg;
		const match = run(records, bookOf(rows.map((r) => r.dump)));
		expect(match.fates[second - 1]).toMatchObject({ combines: [0, 1], combineSource: 'inferred' });
		expect(match.fates[second - 1]!.reason).toMatch(/^entered for [AB], but it fits the tanks of A and B together/);
		expect(match.factors.map((k) => k.toFixed(2))).toEqual(['1.05', '0.94']);
	});

	it('two carts keep two levels: what one gave to its truck says nothing of the other', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => ({ ...r.dump, scale: r.c === 'A' ? 'red' : 'green' }));
		const offloads = rows.map((d, i) => ({
			...offload(`L${i}`, 0, d.time_s - NOON + 700, d.weight_kg),
			scale: d.scale,
		}));
		const all = [...rows, ...offloads].sort((a, b) => a.time_s - b.time_s);
		all.forEach((row, i) => {
			row.order = i;
		});
		const match = run(records, bookOf(rows, offloads));
		expect(match.fates.every((f) => f.status === 'used')).toBe(true);
		expect(match.unloadings.every((u) => u.unweighed === null)).toBe(true);
	});

	it('two readings that fit alike are in doubt', () => {
		const records = recordsOf([
			{ name: 'A', from_s: 0, to_s: 2000, flow: () => 8 },
			{ name: 'B', from_s: 0, to_s: 2000, flow: () => 8 },
		]);
		const match = run(records, bookOf([dump('D1', 0, 1000, 8000), dump('D2', 1, 1010, 8000)]));
		expect(match.fates.map((f) => f.inDoubt)).toEqual([true, true]);
	});
});

describe('what is decided by hand', () => {
	const records = recordsOf(works(true));
	const rows = cart(records, 0, false).map((r) => r.dump);

	it('stands, and a disagreement is told', () => {
		const plan = planOf(['A', 'B'], { pins: { dumps: { D1: { combine: 'B' }, D4: { status: 'aside' } } } });
		const match = run(records, bookOf(rows), plan);
		expect(match.fates[0]!.combines).toEqual([1]);
		expect(match.fates[3]).toMatchObject({ status: 'aside', reason: 'overridden to not used' });
		expect(match.cautions.join(' ')).toMatch(/D1 is overridden to B; the logs fit A better/);
		expect(match.cautions.join(' ')).toMatch(/D4 is overridden to not used; it fits the logs/);
	});

	it('holds for the clock', () => {
		const plan = planOf(['A', 'B'], { pins: { clock_offset_s: 400 } });
		const match = run(records, bookOf(rows), plan);
		expect(match.clock).toMatchObject({ offset_s: 400, source: 'pinned' });
		expect(match.cautions.join(' ')).toMatch(/set by hand to 6 min 40 s; the logs fit best at −?\d/);
	});
});

describe('without times, without dumps, without anything', () => {
	it('row order and weights place dumps that have no time', () => {
		const records = recordsOf(works(true));
		const rows = cart(records, 0, true).map((r) => ({ ...r.dump, time_s: Number.NaN, timeGrain: 'none' as const }));
		const match = run(records, bookOf(rows));
		expect(match.clock.source).toBe('none');
		expect(match.fates.every((f) => f.status === 'used')).toBe(true);
		expect(match.fates.map((f) => Math.round(f.end_s - NOON))).toEqual([...TIMES_A, ...TIMES_B].sort((a, b) => a - b));
	});

	it('a dump on the go weighs more than its tank holds, by what comes in meanwhile', () => {
		const fast = works(false).map((w) => ({ ...w, flow: (t: number) => 3 * w.flow(t) }));
		const records = recordsOf(fast);
		const rows = cart(records, 0, true).map((r) => ({ ...r.dump, time_s: Number.NaN, timeGrain: 'none' as const }));
		const plan = planOf(['A', 'B']);
		for (const combine of Object.values(plan.combines)) combine.tank_kg = 14_500;
		const match = run(records, bookOf(rows), plan);
		expect(match.fates.every((f) => f.combines.length === 1)).toBe(true);
		expect(match.cautions.join(' ')).not.toMatch(/more than a tank holds/);
		expect(Math.abs(match.factors[0]! - 1.05)).toBeLessThan(0.015);
		expect(Math.abs(match.factors[1]! - 0.94)).toBeLessThan(0.015);
	});

	it('tickets alone cut the work of a combine into truck loads', () => {
		const records = recordsOf([works(true)[0]!]);
		const kg = weigh(records, 0, 1.05, TIMES_A);
		const pairs = [0, 2, 4, 6, 8].map((i) => kg[i]! + kg[i + 1]!);
		const tickets = pairs.map((net, i) => ticket(String(i + 1), TIMES_A[2 * i + 1]! + 1800, net, { combine: 'A' }));
		const match = run(records, bookOf([], [], tickets), planOf(['A']));
		expect(match.factors[0]).toBeCloseTo(1.05, 3);
		expect(match.weighings.map((w) => w.unloadings.length)).toEqual([2, 2, 2, 2, 2]);
		for (const w of match.weighings) {
			const account = w.unloadings.reduce((s, u) => s + match.unloadings[u]!.account_kg, 0);
			expect(w.reference_kg / account).toBeCloseTo(1.05, 1);
		}
	});

	it('a ticket of another day is not of this field', () => {
		const records = recordsOf([works(true)[0]!]);
		const kg = weigh(records, 0, 1.05, TIMES_A);
		const tickets = kg.map((net, i) => ticket(String(i + 1), TIMES_A[i]! + 1800, net, { combine: 'A' }));
		const other = ticket('77', -3 * 86_400, 21_000, { combine: 'A' });
		const match = run(records, bookOf([], [], [other, ...tickets]), planOf(['A']));
		expect(match.factors[0]).toBeCloseTo(1.05, 3);
		expect(match.cautions).toContain('Ticket 77 is from a day on which this field was not cut. Not used.');
	});

	it('a field without a weight is no list of unweighed fills', () => {
		const records = recordsOf(works(true));
		const match = run(records, bookOf([]));
		expect(match.unloadings.length).toBeGreaterThan(10);
		expect(match.unloadings.every((u) => u.unweighed === null)).toBe(true);
		expect(match.factors.every(Number.isNaN)).toBe(true);
	});

	it('two days and a clock that was set anew between them', () => {
		const records = twoDays();
		const first = recordsOf(works(true));
		const one = cart(first, 0, true).map((r) => r.dump);
		// Weights of the second day start from what was in the tanks overnight: B's last 400 s.
		const two = cart(first, 3600, true).map((r) => ({
			...r.dump,
			id: `${r.dump.id}b`,
			time_s: r.dump.time_s + 86_400,
		}));
		two.forEach((d, i) => {
			d.order = 100 + i;
		});
		const match = run(records, bookOf([...one, ...two]));
		expect(match.clock.byDay.map((d) => Math.abs(Math.round(d.offset_s / 60)))).toEqual([0, 60]);
		expect(match.fates.filter((f) => f.status === 'aside')).toEqual([]);
	});
});
