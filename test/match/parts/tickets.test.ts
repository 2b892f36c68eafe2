import { describe, expect, it } from 'vitest';
import { matchTickets } from '../../../lib/match/outcome/match-tickets.ts';
import type { MatchInput } from '../../../lib/match/problem/input.ts';
import type { Match, SeamJump, Ticket } from '../../../lib/model/index.ts';
import { bookOf, inputOf, NOON, planOf, problemOf, recordsOf, ticket } from '../hand.ts';

const FLOW = [8, 5];
const HOUR = 3600;
/** Two combines that cut steadily for 8,000 s; augers run for 80 s until these seconds. */
const recordsWith = (ends: number[] | null) =>
	recordsOf(
		FLOW.map((flow, c) => ({
			name: 'AB'[c]!,
			from_s: 0,
			to_s: 8000,
			flow: () => flow,
			...(ends && { auger: (t: number) => ends.some((end) => t > end - 80 && t <= end) }),
		})),
	);
const records = recordsWith(null);
const CUT = FLOW.map((flow) => 8000 * flow);

function run(tickets: Ticket[], more: Partial<MatchInput> = {}): Match {
	const book = bookOf([], [], tickets);
	const r = more.records ?? records;
	return matchTickets(inputOf(r, book, more), problemOf(r, book, more));
}
/** A seam at which monitor a reads so many times what b does: factor b is so many times factor a. */
const seam = (combineA: number, combineB: number, ratio: number): SeamJump =>
	({ combineA, combineB, length_m: 1000, log_jump: Math.log(ratio), u_log: 0.002 }) as SeamJump;
const of = (match: Match, c: number) => match.unloadings.filter((u) => u.combine === c);
const named = (combine: string, ...kg: number[]) =>
	kg.map((net, i) => ticket(`${i + 1}`, 9000 + 100 * i, net, { combine }));

describe('tickets of one combine', () => {
	const match = run(named('A', 16_800, 33_600, 16_800));

	it('give its factor by their sum, and the other none', () => {
		expect(match.factors[0]).toBeCloseTo(67_200 / CUT[0]!, 9);
		expect(match.factors[1]).toBeNaN();
		expect(match.independent).toEqual([1, 0]);
	});

	it('divide its log where it had cut as much', () => {
		// A quarter, a half and a quarter of what was cut at one flow.
		expect(of(match, 0).map((u) => Math.round(u.end_s - NOON))).toEqual([2000, 6000, 8001]);
		expect(of(match, 0).map((u) => Math.round(u.account_kg))).toEqual([16_000, 32_000, 16_000]);
		expect(of(match, 0).map((u) => Math.round(u.deduced_kg))).toEqual([16_800, 33_600, 16_800]);
		expect(of(match, 1)).toEqual([]);
		for (const [i, w] of match.weighings.entries())
			expect(w).toMatchObject({ kind: 'ticket', ticket: i, unloadings: [i], reference_kg: [16_800, 33_600][i % 2] });
	});

	it('scale, permute and split', () => {
		const twice = run(named('A', 2 * 15_000, 2 * 15_000));
		expect(twice.factors[0]! / run(named('A', 30_000, 30_000)).factors[0]!).toBeCloseTo(1, 9);
		expect(run(named('A', 15_000, 15_000, 30_000)).factors[0]).toBeCloseTo(twice.factors[0]!, 9);
		const tickets = named('A', 16_800, 33_600, 16_800);
		const back = run(tickets.toReversed());
		expect(back.unloadings.map((u) => u.end_s)).toEqual(match.unloadings.map((u) => u.end_s));
		// The rows are in another order; the tickets are the same.
		expect(back.unloadings.map((u) => u.ticket)).toEqual(match.unloadings.map((u) => 2 - u.ticket));
	});

	it('take whole unloadings where the auger shows them', () => {
		const ends = [1200, 2600, 4000, 5500, 6900, 8000];
		const found = run(named('A', 21_000, 46_200), { records: recordsWith(ends) });
		// The first is due at 2,500 s: the run that ended nearest to it is its last.
		expect(of(found, 0).map((u) => [u.end_s - NOON, u.ticket])).toEqual(ends.map((t) => [t, t > 2600 ? 1 : 0]));
		expect(found.weighings.map((w) => w.unloadings)).toEqual([
			[0, 1],
			[2, 3, 4, 5],
		]);
		expect(of(found, 0).reduce((sum, u) => sum + u.account_kg, 0)).toBeCloseTo(CUT[0]!, 6);
	});

	it('are less sure of where one truck ended than of the end of the log', () => {
		const [first, , last] = of(match, 0);
		expect(first!.u_rest_kg).toBeGreaterThan(1000);
		expect(last!.u_rest_kg).toBe(40);
	});
});

describe('tickets that name no combine', () => {
	const sum = 1.1 * (CUT[0]! + CUT[1]!);

	it('give the sum of the combines: one factor', () => {
		const match = run([ticket('1', 9000, sum / 2), ticket('2', 9100, sum / 2)]);
		expect(match.factors[0]).toBeCloseTo(1.1, 9);
		expect(match.factors[1]).toBeCloseTo(1.1, 9);
		// Both were half done at the same time.
		for (const c of [0, 1]) expect(of(match, c)[0]!.end_s - NOON).toBeCloseTo(4000, 3);
		expect(match.weighings.map((w) => w.unloadings)).toEqual([
			[0, 2],
			[1, 3],
		]);
		expect(match.notes).toHaveLength(1);
	});

	it.each([
		['A against B', seam(0, 1, 1.2)],
		['B against A', seam(1, 0, 1 / 1.2)],
	])('and seams give the ratio: %s', (_, jump) => {
		const { factors } = run([ticket('1', 9000, sum)], { seams: [jump] });
		expect(factors[1]! / factors[0]!).toBeCloseTo(1.2, 9);
		expect(factors[0]! * CUT[0]! + factors[1]! * CUT[1]!).toBeCloseTo(sum, 3);
	});

	it('are of the combines that no other names; where all are named, of all', () => {
		const rest = run([...named('A', 67_200), ticket('2', 9100, 42_000)]);
		expect(rest.factors[0]).toBeCloseTo(1.05, 9);
		expect(rest.factors[1]).toBeCloseTo(42_000 / CUT[1]!, 9);
		const all = run([...named('A', 40_000), ...named('B', 30_000), ticket('9', 9500, 44_400)]);
		expect(all.factors[0]).toBeCloseTo(114_400 / (CUT[0]! + CUT[1]!), 9);
		expect(all.factors[1]).toBe(all.factors[0]);
	});
});

describe('tickets that are not used', () => {
	it.each([
		['less than three quarters of what was cut', 0.74],
		['more than four thirds of it', 1.34],
	])('together %s: all', (_, share) => {
		const match = run(named('A', share * CUT[0]!));
		expect(match.factors[0]).toBeNaN();
		expect(match.unloadings).toEqual([]);
		expect(match.weighings).toEqual([]);
		expect(match.cautions).toHaveLength(1);
		expect(match.cautions[0]).toContain(`add up to ${Math.round(100 * share)}% of what the monitors recorded for A.`);
	});

	it.each([
		[
			'of another day',
			ticket('77', -25 * HOUR, 9000),
			'Ticket 77 is from a day on which this field was not cut. Not used.',
		],
		[
			'of the day after next',
			ticket('77', 8001 + 30 * HOUR, 9000),
			'Ticket 77 is from a day on which this field was not cut. Not used.',
		],
		[
			'of a combine without a log',
			ticket('77', 9000, 9000, { combine: 'Z' }),
			'Ticket 77 names combine Z, which has no log here. Not used.',
		],
	])('%s: said', (_, other, caution) => {
		const match = run([other, ...named('A', 67_200)]);
		expect(match.factors[0]).toBeCloseTo(1.05, 9);
		expect(match.factors[1]).toBeNaN();
		expect(match.cautions[0]).toBe(caution);
	});

	it('may be of the next morning, and of a day that has begun', () => {
		const late = ticket('2', 8000 + 30 * HOUR, 33_600, { combine: 'A' });
		const day = { ...ticket('3', -12 * HOUR, 16_800, { combine: 'A' }), timeGrain: 'day' as const };
		const match = run([late, day, ...named('A', 16_800)]);
		expect(match.factors[0]).toBeCloseTo(1.05, 9);
		expect(match.cautions.join(' ')).not.toMatch(/Not used/);
	});
});

describe('a load without a ticket, or a ticket that is not of the field', () => {
	/** Six tank loads of one combine, two of them in each truck; the factor is 1.05. */
	const ends = [1200, 2600, 4000, 5500, 6900, 8000];
	const seen = { records: recordsWith(ends) };
	const kg = [2600, 2900, 2500].map((s) => 1.05 * 8 * s);
	const trucks = kg.map((net, i) => ticket(String(i + 1), 9000 + 100 * i, net, { combine: 'A' }));
	/** Share of a factor within 2% of this one, over all ways to read the tickets. */
	const odds = ({ alternatives = [], ...main }: Match, factor: number) =>
		[{ weight: 1 - alternatives.reduce((s, a) => s + a.weight, 0), match: main as Match }, ...alternatives]
			.filter((a) => Math.abs(a.match.factors[0]! / factor - 1) < 0.02)
			.reduce((s, a) => s + a.weight, 0);

	it('is told by whole tank loads: no matter which', () => {
		expect(odds(run(trucks, seen), 1.05)).toBe(1);
		for (const out of [0, 1, 2]) {
			const match = run(trucks.toSpliced(out, 1), seen);
			expect(odds(match, 1.05)).toBeGreaterThan(0.7);
			expect(match.cautions.join(' ')).toMatch(/Most likely a truckload .*tickets? [123]\b.* has no ticket/);
			expect(of(match, 0).filter((u) => u.ticket < 0)[0]?.unweighed).toBe('into a truck without a ticket');
		}
		const more = run(trucks.toSpliced(1, 0, ticket('9', 9050, 19_400, { combine: 'A' })), seen);
		expect(odds(more, 1.05)).toBeGreaterThan(0.8);
		expect(more.cautions.join(' ')).toMatch(/ticket 9 is of another field/);
	});

	it('remains possible where nothing shows it', () => {
		const eight = Array.from({ length: 8 }, (_, i) =>
			ticket(String(i + 1), Number.NaN, 8200 + 70 * ((3 * i) % 8), { combine: 'A' }),
		);
		const whole = eight.reduce((s, t) => s + t.net_kg, 0) / CUT[0]!;
		const match = run(eight);
		expect(odds(match, whole)).toBeGreaterThan(0.7);
		expect(odds(match, (whole * 9) / 8)).toBeGreaterThan(0.03);
		expect(odds(match, (whole * 9) / 8)).toBeLessThan(0.2);
		expect(match.cautions.join(' ')).toMatch(/more than one way. Also possible: .*a truckload has no ticket/);
	});

	it('is no wrong weight where one truck is larger', () => {
		const kg = [15_200, 16_100, 25_700, 14_800, 15_600];
		const match = run(kg.map((net, i) => ticket(String(i + 1), Number.NaN, (67_200 / 87_400) * net, { combine: 'A' })));
		expect(match.factors[0]).toBeCloseTo(1.05, 6);
		expect(match.cautions.join(' ')).toMatch(/Also possible: .*ticket 3 has a wrong weight/);
	});

	it('is told by seams: the other combine has all its tickets', () => {
		const four = (c: number) =>
			[0.24, 0.26, 0.245, 0.255].map((share, i) =>
				ticket(`${'AB'[c]}${i}`, Number.NaN, 1.05 * share * CUT[c]!, { combine: 'AB'[c]! }),
			);
		const tickets = [...four(0).slice(1), ...four(1)];
		const [without, by] = [run(tickets), run(tickets, { seams: [seam(0, 1, 1)] })];
		expect(odds(by, 1.05)).toBeGreaterThan(0.8);
		expect(odds(by, 1.05)).toBeGreaterThan(2 * odds(without, 1.05));
		expect(by.factors[1]).toBeCloseTo(1.05, 2);
	});

	it('counts once where it is entered twice', () => {
		const match = run(trucks.toSpliced(2, 0, { ...trucks[1]!, ticket: '22' }));
		expect(match.factors[0]).toBeCloseTo(1.05, 2);
		expect(match.cautions.join(' ')).toMatch(/ticket 22 is entered twice/);
	});

	it('has its time: a drive after the grain was cut, as the others', () => {
		const timed = Array.from({ length: 10 }, (_, i) =>
			ticket(String(i), 800 * 6 * (i + 1) + 1800, 40_320, { combine: 'A' }),
		);
		const slow = recordsOf([{ name: 'A', from_s: 0, to_s: 48_000, flow: () => 8 }]);
		const out = timed.toSpliced(4, 1);
		const [with_, blind] = [out, out.map((t) => ({ ...t, time_s: Number.NaN }))].map((tickets) => {
			const book = bookOf([], [], tickets);
			return odds(matchTickets(inputOf(slow, book, {}), problemOf(slow, book, {})), 1.05);
		});
		expect(with_).toBeGreaterThan(2 * blind!);
	});
});

it('nothing shows that a load has no ticket, or that one is gross', () => {
	const said = (tickets: Ticket[], more: Partial<MatchInput> = {}) => run(tickets, more).cautions;
	const four = [16_000, 17_000, 16_500, 17_700].flatMap((kg, i) => [
		ticket(String(i), 2000 * (i + 1), kg, { combine: 'A' }),
	]);
	expect(said(four)).toEqual([expect.stringMatching(/sum of the tickets alone.*a load is about 25% of all/)]);
	const gross = four.map((t, i) => (i === 1 ? { ...t, net_kg: 26_000 } : t));
	expect(said(gross)[1]).toMatch(/^Ticket 1 is 1\.5 times the usual load.*gross weight for the net/);
});

it('a weight of the whole field is a weighing of its own', () => {
	const plan = { ...planOf(['A', 'B']), total: { wet_kg: 110_000, u_rel: 0.01 } };
	const { weighings } = run(named('A', 67_200), { plan: plan as MatchInput['plan'] });
	expect(weighings.map((w) => w.kind)).toEqual(['ticket', 'total']);
	expect(weighings[1]).toMatchObject({ reference_kg: 110_000, u_reading_kg: 1100, unloadings: [] });
});
