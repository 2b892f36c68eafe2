import { describe, expect, it } from 'vitest';
import type { Assignment, Hypothesis } from '../../../lib/match/beam/hypothesis.ts';
import type { Explained } from '../../../lib/match/explained.ts';
import { attribute } from '../../../lib/match/outcome/attribute.ts';
import { byRun, type Emptying, loose } from '../../../lib/match/outcome/emptying.ts';
import { pinDisputes } from '../../../lib/match/outcome/pins.ts';
import {
	deducedReason,
	foreignReason,
	joinedReason,
	outlierReason,
	repeatReason,
	unweighedReason,
} from '../../../lib/match/outcome/reasons.ts';
import { clockOver, openCautions } from '../../../lib/match/outcome/rivals.ts';
import { totalBeside } from '../../../lib/match/outcome/total.ts';
import { uncertainDumps } from '../../../lib/match/outcome/uncertain.ts';
import type { Deduced } from '../../../lib/match/problem/deduced.ts';
import { prepare } from '../../../lib/match/problem/prepare.ts';
import type { Clock, Pins } from '../../../lib/model/index.ts';
import { plainMatch } from '../../plain.ts';
import {
	assigned,
	bookOf,
	dump,
	exactReference,
	inputOf,
	NOON,
	planOf,
	problemOf,
	recordsOf,
	through,
} from '../hand.ts';
import { cart, works } from '../two.ts';

const ENDS = [800, 1600, 2400];
/** Two combines at 8 kg/s for an hour; A's auger runs for 80 s until these seconds. */
const records = recordsOf(
	['A', 'B'].map((name) => ({
		name,
		from_s: 0,
		to_s: 3600,
		flow: () => 8,
		...(name === 'A' && { auger: (t: number) => ENDS.some((end) => t > end - 80 && t <= end) }),
	})),
);

describe('the clock over explanations that remain', () => {
	const clock: Clock = { offset_s: 100, u_s: 10, source: 'estimated', byDay: [] };
	const other = (weight: number, offset_s: number, u_s: number) => ({
		weight,
		match: plainMatch({ clock: { ...clock, offset_s, u_s } }),
	});

	it('stays, and is as unsure as their mixture about it', () => {
		const over = clockOver(clock, [other(0.2, 400, 20), other(0.1, 100, 30)]);
		// Second moments about 100 s: 0.7 × 10² + 0.2 × (20² + 300²) + 0.1 × 30².
		expect(over).toEqual({ ...clock, u_s: Math.sqrt(70 + 0.2 * (400 + 90_000) + 90) });
	});

	it('stays as it is where it was set by hand', () => {
		const pinned: Clock = { ...clock, source: 'pinned' };
		expect(clockOver(pinned, [other(0.5, 400, 20)])).toBe(pinned);
	});
});

describe('cautions on explanations that remain', () => {
	const of = (at_s: number, supposed: Partial<NonNullable<Explained['supposed']>> | null = null) =>
		({ offset: { at_s }, supposed }) as Explained;
	const said = (best: Explained, ...others: Explained[]) =>
		openCautions(
			best,
			others.map((explained, i) => ({ explained, weight: 0.1 * (i + 1), way: `way ${i}` })),
		);

	it('name the clocks, and which way each is off', () => {
		const [caution, ...more] = said(of(20), of(1800), of(-3600), of(100));
		expect(more).toEqual([]);
		expect(caution).toContain('the clock may be about right, or 30 min slow, or 1 h fast.');
	});

	it('name what is not ruled out once, unless it is what is supposed', () => {
		expect(said(of(0), of(0, { caution: 'Pounds.' }), of(0, { caution: 'Pounds.' }))).toEqual([
			'Not ruled out: Pounds.',
		]);
		expect(said(of(0), of(0, { caution: null, open: 'A new scale.' }))).toEqual(['Not ruled out: A new scale.']);
		expect(said(of(0, { caution: 'Pounds.' }), of(500, { caution: 'Pounds.' }))).toHaveLength(1);
	});

	it('name the other ways where neither is it, the likeliest first', () => {
		expect(said(of(0), of(50), of(20))).toEqual([
			'The weights fit the logs in more than one way. Also possible: way 1 (probability 20%). Or: way 0 (probability 10%). ' +
				'The factors allow for each. More weights, or notes of the combine and of tanks not emptied, would decide.',
		]);
	});
});

describe('dumps whose match is uncertain', () => {
	// The cart log's rows are not in order: dump 0 is the last.
	const problem = problemOf(
		records,
		bookOf([dump('D3', 2, 2400, 6400), dump('D1', 0, 800, 6400), dump('D2', 1, 1600, 6400)]),
	);
	const chain = (cs: number[], more: Partial<Hypothesis> = {}) =>
		through(
			problem,
			cs.map((c, i) => assigned(i, [{ c, t: ENDS[i]! }])),
			more,
		);
	const uncertain = (...hypotheses: Hypothesis[]) => [...uncertainDumps(problem, hypotheses)].sort();

	it('are those that another hypothesis within 2.3 nats explains otherwise', () => {
		const best = chain([0, 1, 0]);
		expect(uncertain(best, chain([0, 0, 0], { cost: 2.2 }))).toEqual([2]);
		expect(uncertain(best, chain([1, 1, 1], { cost: 1 }), chain([0, 0, 0], { cost: 2 }))).toEqual([0, 1, 2]);
		expect(uncertain(best, chain([0, 0, 0], { cost: 2.4 }))).toEqual([]);
		expect(uncertain(best, chain([0, 1, 0], { cost: 0.1 }))).toEqual([]);
		expect(uncertain()).toEqual([]);
	});

	it.each<[string, (a: Assignment) => Assignment]>([
		['kind', (a) => ({ ...a, kind: 'outlier' })],
		['unloadings before it', (a) => ({ ...a, inserts: [{ run: 0, rests: false }] })],
		['run of the auger', (a) => ({ ...a, parts: [{ ...a.parts[0]!, place: { ...a.parts[0]!.place, run: 2 } }] })],
		['tanks', (a) => ({ ...a, parts: [...a.parts, { ...a.parts[0]!, combine: 1 }] })],
	])('differ by another %s', (_, change) => {
		const best = chain([0, 0, 0]);
		expect(uncertain(best, { ...best, assignment: change(best.assignment!), cost: 1 })).toEqual([0]);
	});

	it('are also those of a hypothesis that led to the same state', () => {
		const rival = chain([0, 1], { cost: 1 });
		const best = chain([0, 0, 0]);
		best.parent!.rivals = [rival];
		expect(uncertain(best)).toEqual([2]);
		best.parent!.rivals = [{ ...rival, cost: 3 }];
		expect(uncertain(best)).toEqual([]);
	});
});

describe('weights that cart or ticket tell', () => {
	const problem = problemOf(records, bookOf([]));
	problem.fill_kg = 6400;
	const told = (more: Partial<Deduced> = {}): Deduced => ({
		kind: 'unsaved',
		combine: -1,
		kg: 6600,
		variance: 100,
		from_s: NOON + 900,
		to_s: NOON + 1700,
		ticket: -1,
		...more,
	});
	/** Unloadings without a dump: of A at its runs, of B at 1,600 s; each of what was cut since the last. */
	function attributed(deduced: Deduced[], offset_s = 0, change: (list: Emptying[]) => void = () => {}) {
		const list = [
			...ENDS.map((_, run) => ({ ...byRun(problem, 0, { run, rests: false }, 'not weighed'), account_kg: 6400 })),
			{ ...loose(problem, 1, { end_s: NOON + 1600, reason: 'not weighed', mass_kg: 12_800 }), account_kg: 12_800 },
		];
		change(list);
		attribute({ ...problem, deduced }, list, [1.1, 1], offset_s);
		return list.map((e) => e.deduced);
	}

	it('go to the unloading of that time with that much grain, factor and all', () => {
		expect(attributed([told()])).toEqual([-1, 0, -1, -1]);
		expect(attributed([told({ kg: 12_000 })])).toEqual([-1, -1, -1, 0]);
		// 35 % off is another load.
		expect(attributed([told({ kg: 4000 })])).toEqual([-1, -1, -1, -1]);
		expect(attributed([told({ combine: 1 })])).toEqual([-1, -1, -1, -1]);
	});

	it('go to the nearest weight, in reference mass', () => {
		// A's 6,400 kg × 1.1 are 7,040; B's 6,700 × 1 are nearer to 6,650, and by the monitor to 7,000 as well.
		const like = (list: Emptying[]) => {
			list[3]!.account_kg = 6700;
		};
		expect(attributed([told({ kg: 7000 })], 0, like)).toEqual([-1, 0, -1, -1]);
		expect(attributed([told({ kg: 6650 })], 0, like)).toEqual([-1, -1, -1, 0]);
	});

	it('go by the cart’s clock', () => {
		expect(attributed([told()], 800)).toEqual([-1, -1, 0, -1]);
		expect(attributed([told()], -800)).toEqual([0, -1, -1, -1]);
	});

	it('go to one each, and to none that has a weight', () => {
		const wide = told({ from_s: NOON, to_s: NOON + 3600 });
		expect(attributed([wide, wide, wide]).toSorted()).toEqual([-1, 0, 1, 2]);
		const weighed = attributed([told()], 0, (list) => {
			list[1]!.assignment = assigned(0, [{ c: 0, t: 1600 }]);
		});
		expect(weighed).toEqual([-1, -1, -1, -1]);
	});

	it('of a ticket may be a quarter of an hour off the cart’s clock; more than was in the load is no weight', () => {
		const straight = told({ kind: 'straight', combine: 0, from_s: NOON + 1700, to_s: NOON + 2200 });
		// Within 1,700 to 2,200 there is none; 900 s later or earlier there are two, alike.
		expect(attributed([straight]).filter((d) => d === 0)).toHaveLength(1);
		expect(attributed([{ ...straight, kind: 'unsaved' }])).toEqual([-1, -1, -1, -1]);
		expect(attributed([told({ kind: 'excess' })])).toEqual([-1, -1, -1, -1]);
	});

	it('are said', () => {
		const list = [byRun(problem, 0, { run: 1, rests: false }, 'not weighed')].map((e) => ({ ...e, account_kg: 6400 }));
		attribute({ ...problem, deduced: [told()] }, list, [1.1, 1], 0);
		expect(list[0]!.unweighed).toBe(deducedReason(told()));
	});
});

describe('decisions of the user that the logs dispute', () => {
	const two = recordsOf(works(true));
	const rows = cart(two, 0, false).map((r) => r.dump);
	const last = rows.length;
	rows.push(dump('twice', last, 820, rows[0]!.weight_kg), dump('odd', last + 1, 4000, 2222));
	rows.sort((a, b) => a.time_s - b.time_s);
	rows.forEach((d, i) => {
		d.order = i;
	});
	const disputes = (dumps: NonNullable<Pins['dumps']>) => {
		const input = inputOf(two, bookOf(rows), { plan: planOf(['A', 'B'], { pins: { dumps } }) });
		return pinDisputes(input, prepare(input).problem, 0);
	};

	it('are none without one, or where the logs agree', () => {
		expect(disputes({})).toEqual([]);
		expect(disputes({ D1: { combine: 'A', status: 'used' }, twice: { status: 'aside' } })).toEqual([]);
	});

	it.each<[string, NonNullable<Pins['dumps']>, string]>([
		['another combine', { D1: { combine: 'B' } }, 'Dump D1 is overridden to B; the logs fit A better.'],
		['two combines', { D1: { combine: 'A+B' } }, 'Dump D1 is overridden to A+B; the logs fit A better.'],
		['not used', { D1: { status: 'aside' } }, 'Dump D1 is overridden to not used; it fits the logs as grain from A.'],
		[
			'used, twice',
			{ twice: { status: 'used' } },
			'Dump twice is overridden to used; by the logs it was entered twice.',
		],
		[
			'used, nobody’s',
			{ odd: { status: 'used' } },
			'Dump odd is overridden to used; by the logs it fits no combine’s tank.',
		],
		[
			'of a row that is not there',
			{ D99: { status: 'aside' } },
			'Dump D99 is overridden, but no row of the cart log has that id.',
		],
	])('are named: %s', (_, pins, caution) => {
		expect(disputes(pins)).toEqual([caution]);
	});
});

describe('a total that nothing else certified checks', () => {
	const problem = problemOf(records, bookOf([]));
	const plan = planOf(['A', 'B'], { total: { wet_kg: 57_000, u_rel: 0.002 } });
	const best = { factor: [1, 1], u_factor: [0.12, 0.12] } as never;
	const said = (wet_pct: number, source: 'limit' | 'none' | 'tickets' = 'none') => {
		const wet = { ...records, moisture_pct: records.moisture_pct.map(() => wet_pct) };
		return totalBeside(plan, wet, { ...exactReference, source }, problem, best).caution;
	};

	it('may lack a load or be a dry weight, and by how much', () => {
		expect(said(20)).toMatch(/alone sets the level.*load is missing.*dry weight at 15\.5% moisture \(5\.3% less\)/);
		expect(said(20, 'limit')).toMatch(/alone sets the level/);
		expect(said(15.5)).not.toMatch(/dry/);
		expect(said(Number.NaN)).not.toMatch(/dry/);
		expect(said(20, 'tickets')).toBeNull();
	});
});

describe('reasons in words', () => {
	const problem = problemOf(
		records,
		bookOf([
			dump('heavy', 0, 2000, 15_000),
			dump('late', 1, 3600 + 3601, 6000),
			dump('early', 2, 300, 6000, { combines: ['A'] }),
			dump('other', 3, 2400, 4000, { combines: ['B'] }),
			dump('open', 4, 2400, 4000),
		]),
	);
	const foreign = (dump: number, offset_s = 0) =>
		foreignReason(
			problem,
			records,
			[1, 1],
			assigned(
				problem.observations.findIndex((o) => o.dump === dump),
				[],
			),
			offset_s,
		);

	it('say why a weight is not of this field', () => {
		expect(foreign(0)).toBe('33,100 lb (15,000 kg) is more than any tank here holds');
		expect(foreign(1)).toMatch(/^no combine was at work in this field then/);
		expect(foreign(1, -3600)).toMatch(/^does not match/);
		// 8 × 300 kg are less than 80 % of 6 t.
		expect(foreign(2)).toBe('no combine had cut this much by then');
		expect(foreign(3)).toMatch(/^does not match what B had in the tank then/);
		expect(foreign(4)).toMatch(/^does not match what any combine had in the tank then/);
	});

	it('say what was expected of an outlier', () => {
		expect(outlierReason(records, assigned(0, [{ c: 1, t: 800 }]), 6400, 2000)).toBe(
			"4,400 lb (2,000 kg) recorded, about 14,100 lb (6,400 kg) expected in B's tank; possibly a wrong weight",
		);
	});

	it('say which dump was entered twice, and how far apart where clocks tell', () => {
		const first = dump('D1', 0, 800, 5000);
		expect(repeatReason(first, dump('D2', 1, 835, 5000))).toBe('entered twice, 35 s apart (see D1)');
		expect(repeatReason(first, { ...dump('D2', 1, 860, 5000), timeGrain: 'minute' })).toBe('entered twice (see D1)');
		expect(repeatReason(first, dump('D2', 1, Number.NaN, 5000))).toBe('entered twice (see D1)');
	});

	it('say what was left before and after', () => {
		const none = { rests: false, kg: 0 };
		expect(joinedReason('A', { ...none, start: false }, { ...none, noted: false })).toBeNull();
		expect(joinedReason('A', { rests: true, kg: 1000, start: true }, { ...none, noted: false })).toBe(
			'A arrived with about 2,200 lb (1,000 kg) in its tank',
		);
		expect(joinedReason('A', { rests: true, kg: 59, start: false }, { rests: true, kg: 1000, noted: true })).toBe(
			"a little was left in A's tank by the dump before; grouped with it; about 2,200 lb (1,000 kg) stayed in A's tank (entered as not emptied); grouped with the next dump",
		);
	});

	it('say why an unloading has no weight', () => {
		const told = { combine: 0, kg: 6000, variance: 1, from_s: 0, to_s: 1, ticket: 0 };
		expect(deducedReason({ ...told, kind: 'straight' })).toBe('direct to truck: its ticket has 13,200 lb (6,000 kg)');
		expect(deducedReason({ ...told, kind: 'unsaved' })).toMatch(
			/^no dump saved: the cart put 13,200 lb \(6,000 kg\) more/,
		);
		expect(unweighedReason(problem, { run: 2, rests: false })).toMatch(/^the unloading auger ran/);
		const unknown = { run: -1, rests: false };
		expect(unweighedReason(problem, unknown)).not.toContain('the cart never held it');
		expect(unweighedReason({ ...problem, hasOffloads: true }, unknown)).toContain('the cart never held it');
	});
});
