import { describe, expect, it } from 'vitest';
import type { Assignment, Offer } from '../../../lib/match/beam/hypothesis.ts';
import { offerMixed } from '../../../lib/match/beam/mixed.ts';
import { placesFor } from '../../../lib/match/beam/places.ts';
import { offerRepeat } from '../../../lib/match/beam/repeated-dump.ts';
import { offerNormal } from '../../../lib/match/beam/single.ts';
import type { Step } from '../../../lib/match/beam/step.ts';
import { flowNoise } from '../../../lib/match/beam/tank-levels.ts';
import type { Problem } from '../../../lib/match/problem/problem.ts';
import { type Dump, TANK } from '../../../lib/model/index.ts';
import {
	assigned,
	bookOf,
	density,
	dump,
	hypothesisOf,
	type Known,
	NOON,
	problemOf,
	recordsOf,
	stepOf,
	through,
} from '../hand.ts';

const FLOWS: Record<string, number> = { A: 8, B: 9, C: 7 };
/** Combines that cut steadily from 0 s on, some with an auger that runs for 80 s until these seconds. */
const works = (names: string, augers: Record<string, number[]> = {}) =>
	[...names].map((name) => ({
		name,
		from_s: 0,
		to_s: 4000,
		flow: () => FLOWS[name]!,
		...(augers[name] && { auger: (t: number) => augers[name]!.some((end) => t > end - 80 && t <= end) }),
	}));

const field = (names: string, rows: Dump[], augers?: Record<string, number[]>) =>
	problemOf(recordsOf(works(names, augers)), bookOf(rows));

/** Costs of a tank that is emptied, and of grain left in it. */
const EMPTY = -Math.log(TANK.emptied);
const KEPT = -Math.log(1 - TANK.emptied);
const HALF = Math.log(2);
/** Mean of what stays in a tank that is not emptied: a quarter of 9 t. */
const REST_KG = 2250;
/** −ln of the chance of a weight that is d below what was in the tank, whose rest is exponential. */
function restCost(d: number, v: number, scale = REST_KG): number {
	let sum = 0;
	for (let r = 0.5; r < 8 * scale; r++) sum += (Math.exp(-r / scale) / scale) * density(d - r, v);
	return -Math.log(sum);
}
const find = (step: Step, is: (a: Assignment) => boolean): Offer[] => step.offers.list.filter((o) => is(o.assignment));
const rests = (a: Assignment): string => a.parts.map((p) => (p.rests ? 1 : 0)).join('');

describe('a dump as a second entry', () => {
	/** A hypothesis in which these dumps are of A's tank at their time. */
	const explaining = (problem: Problem, rows: number[]) =>
		through(
			problem,
			rows.map((i) => assigned(i, [{ c: 0, t: problem.observations[i]!.time_s - NOON }])),
		);
	const first = dump('D1', 0, 800, 5000);
	function offers(more: Dump[], odd = 0): Offer[] {
		const problem = field('AB', [first, ...more]);
		const step = stepOf(problem, more.length, explaining(problem, [...more.keys()]));
		offerRepeat(step, odd);
		return step.offers.list;
	}

	it('costs a slip, the difference of the readings and the time between', () => {
		const [offer, ...others] = offers([dump('D2', 1, 830, 5010)]);
		expect(others).toEqual([]);
		// One in a hundred; readings repeat within 12 kg and 0.2 %; usually within 2 min, where a dump comes every 10.
		const slip = 4.6 - Math.log(density(10, 12 ** 2 + 10 ** 2)) + 30 / 120 + Math.log(120 / 600);
		expect(offer!.cost).toBeCloseTo(slip, 9);
		expect(offer!.assignment).toMatchObject({ kind: 'repeat', observation: 1, of: 0 });
		expect(offers([dump('D2', 1, 830, 5010)], 3)[0]!.cost).toBeCloseTo(slip + 3, 9);
	});

	it.each([
		['more than a quarter of an hour later', dump('D2', 1, 1710, 5000)],
		['of another weight', dump('D2', 1, 830, 5080)],
	])('is none: %s', (_, row) => {
		expect(offers([row])).toEqual([]);
	});

	it('is none where the other names another combine', () => {
		const noted = (name: string) => ({ combines: [name] });
		const problem = field('AB', [dump('D1', 0, 800, 5000, noted('A')), dump('D2', 1, 830, 5000, noted('B'))]);
		const step = stepOf(problem, 1, explaining(problem, [0]));
		offerRepeat(step, 0);
		expect(step.offers.list).toEqual([]);
	});

	it('repeats the first of three, not the second entry of it', () => {
		const rows = [first, dump('D2', 1, 820, 5000), dump('D3', 2, 840, 5000)];
		const problem = field('AB', rows);
		const own = assigned(0, [{ c: 0, t: 800 }]);
		const twice = through(problem, [own, { ...own, observation: 1, kind: 'repeat', of: 0 }]);
		const step = stepOf(problem, 2, twice);
		offerRepeat(step, 0);
		expect(step.offers.list.map((o) => o.assignment.of)).toEqual([0]);
	});

	it('is of the dump before it', () => {
		expect(offers([dump('D2', 1, 840, 3000), dump('D3', 2, 860, 5000)])).toEqual([]);
		expect(offers([{ ...dump('D2', 1, Number.NaN, 5000), timeGrain: 'none' }])).toHaveLength(1);
	});
});

describe('a dump as the weight of one combine', () => {
	/** Offers of one dump at 800 s of what A had in its tank by then: 6.4 t. */
	function offered(kg: number, more: Partial<Dump> = {}, known: Known[] = [], change: Partial<Problem> = {}) {
		const problem = { ...field('A', [dump('D', 0, 800, kg, more)]), ...change };
		const step = stepOf(problem, 0, hypothesisOf(problem, known));
		offerNormal(step, 0, 0);
		const [place] = placesFor(step, 0);
		const noise = flowNoise(problem, 6400, known[0]?.factor ?? 1);
		return { step, place: place!, u2: step.observation.u2, noise };
	}
	const cost = (step: Step, is: (a: Assignment) => boolean): number => find(step, is)[0]?.cost ?? Infinity;
	const empty = (a: Assignment) => a.kind === 'normal' && rests(a) === '0' && a.inserts.length === 0;
	const kept = (a: Assignment) => a.kind === 'normal' && rests(a) === '1';

	it('costs its difference from what was in the tank, where that is empty now', () => {
		const { step, place, u2, noise } = offered(6350);
		expect(cost(step, empty)).toBeCloseTo(place.cost + EMPTY - Math.log(density(50, u2 + place.slack + noise)), 6);
	});

	it('widens by what the factor, the tank and the monitor are not known to', () => {
		const known = [{ factor: 1.1, u: 0.1, level_kg: 300, u_kg: 200 }];
		const { step, place, u2, noise } = offered(6350, {}, known);
		const v = 200 ** 2 + (0.1 * 6400) ** 2 + u2 + place.slack + noise;
		expect(cost(step, empty)).toBeCloseTo(place.cost + EMPTY - Math.log(density(300 + 1.1 * 6400 - 6350, v)), 3);
	});

	it('costs a rest by how large it is, where grain is left', () => {
		const { step, place, u2, noise } = offered(5000);
		expect(cost(step, kept)).toBeCloseTo(place.cost + KEPT + restCost(1400, u2 + noise), 2);
	});

	it('hears a note on the tank, which is wrong about once in fifty', () => {
		const plain = offered(5900);
		const noted = offered(5900, { emptied: 1 });
		const not = offered(5900, { emptied: 0 });
		expect(cost(noted.step, empty) - cost(plain.step, empty)).toBeCloseTo(0.02 - EMPTY, 6);
		expect(cost(noted.step, kept) - cost(plain.step, kept)).toBeCloseTo(4 - KEPT, 6);
		expect(cost(not.step, empty) - cost(plain.step, empty)).toBeCloseTo(4 - EMPTY, 6);
		expect(cost(not.step, kept) - cost(plain.step, kept)).toBeCloseTo(0.02 - KEPT, 6);
	});

	it('may be an outlier: any weight up to 15 t', () => {
		const { step, place } = offered(5900);
		expect(cost(step, (a) => a.kind === 'outlier' && a.right === null)).toBeCloseTo(
			place.cost + 6.5 + Math.log(15_000),
			6,
		);
	});

	it('may follow an unloading that nobody weighed, where far more was cut: any weight up to that', () => {
		const { step, place } = offered(3000);
		const unknown = (a: Assignment) => a.inserts.some((i) => i.run < 0);
		expect(cost(step, unknown)).toBeCloseTo(place.cost + step.problem.priors.unweighed + Math.log(6400), 6);
		expect(cost(offered(6300).step, unknown)).toBe(Infinity);
	});

	it('may be another weight by its truckload', () => {
		const { step, place, u2, noise } = offered(3400);
		step.observation.right = [{ kg: 6400, u2: u2 + 100, cost: 2.5 }];
		step.offers.list.length = 0;
		offerNormal(step, 0, 0);
		expect(cost(step, (a) => a.kind === 'outlier' && !!a.right && rests(a) === '0')).toBeCloseTo(
			place.cost + 2.5 + EMPTY - Math.log(density(0, u2 + 100 + place.slack + noise)),
			6,
		);
	});

	it('is rare where weights are of whole cart loads', () => {
		const costs = (wholeLoads: boolean) => {
			const problem = { ...field('AB', [dump('D', 0, 800, 6400)]), wholeLoads };
			const step = stepOf(problem);
			offerNormal(step, 0, 0);
			return Math.min(...step.offers.list.map((o) => o.cost));
		};
		expect(costs(true) - costs(false)).toBeCloseTo(1.5, 9);
	});

	it('scales: weights, flow, tank and variances by 2 and 4 take ln 2 from each density', () => {
		const { step, place, u2 } = offered(5000);
		const twice = offered(10_000, {}, [{ factor: 2 }], { tank_kg: [18_000] });
		twice.step.observation.u2 = 4 * u2;
		twice.step.offers.list.length = 0;
		offerNormal(twice.step, 0, 0);
		expect(cost(twice.step, kept) - twice.place.cost).toBeCloseTo(cost(step, kept) - place.cost + HALF, 3);
	});
});

describe('a dump as one weight of several combines', () => {
	const ENDS = { A: [720], B: [800], C: [760] };
	/** What each had cut by the end of its run. */
	const KG: Record<string, number> = { A: 8 * 720, B: 9 * 800, C: 7 * 760 };
	const held = (names: string) => [...names].reduce((sum, c) => sum + KG[c]!, 0);
	function offered(names: string, kg: number, noted: string, correlated = false) {
		const problem = field(names, [dump('D', 0, 800, kg, { combines: [...noted] })], ENDS);
		const hypothesis = hypothesisOf(problem, correlated ? [{ u: 0.05 }, { u: 0.05 }] : []);
		if (correlated) {
			// The factors are wrong alike.
			hypothesis.belief.P[1] = hypothesis.belief.P[4] = 0.05 ** 2;
		}
		const step = stepOf(problem, 0, hypothesis);
		offerMixed(step);
		return step;
	}
	const sets = (step: Step) => new Set(step.offers.list.map((o) => o.assignment.parts.map((p) => p.combine).join('')));
	const cost = (step: Step, parts: string, as: string, inserts = 0) =>
		find(
			step,
			(a) => a.parts.map((p) => p.combine).join('') === parts && rests(a) === as && a.inserts.length === inserts,
		)[0]?.cost ?? Infinity;
	/** Grain clings to each tank and comes in for some seconds. */
	const slack = (names: string) => [...names].reduce((sum, c) => sum + 40 ** 2 + (4 * FLOWS[c]!) ** 2, 0);
	/** The monitors' own errors. */
	const scatter = ({ problem }: Step) => flowNoise(problem, KG.A!, 1) + flowNoise(problem, KG.B!, 1);
	/** Taken at the end of the last unloading, within 20 s, or else within half an hour. */
	const WHEN = -Math.log(450 * density(0, 20 ** 2) + 0.25);

	it('costs its difference from what was in the tanks together, where all are empty now', () => {
		const step = offered('AB', held('AB') - 70, 'AB');
		const v = step.observation.u2 + slack('AB') + scatter(step);
		expect(cost(step, '01', '00')).toBeCloseTo(WHEN + 2 * EMPTY - Math.log(density(70, v)), 6);
	});

	it('counts what factors have in common for both tanks', () => {
		const step = offered('AB', held('AB') - 70, 'AB', true);
		const v = step.observation.u2 + slack('AB') + scatter(step) + (0.05 * held('AB')) ** 2;
		expect(cost(step, '01', '00')).toBeCloseTo(WHEN + 2 * EMPTY - Math.log(density(70, v)), 6);
	});

	it('costs a rest in all tanks by how large it is', () => {
		const step = offered('AB', held('AB') - 40, 'AB');
		const v = step.observation.u2 + scatter(step);
		expect(cost(step, '01', '11')).toBeCloseTo(WHEN + 2 * KEPT + restCost(40, v, 2 * REST_KG), 2);
	});

	it('may follow unloadings that nobody weighed, where far more was cut', () => {
		const step = offered('AB', 0.8 * held('AB'), 'AB');
		expect(cost(step, '01', '00', 1)).toBeCloseTo(WHEN + step.problem.priors.unweighed + Math.log(held('AB')), 6);
	});

	it('does not depend on the order of its names', () => {
		const costs = (noted: string) => offered('AB', held('AB') - 70, noted).offers.list.map((o) => o.cost);
		const sorted = (list: number[]) => list.sort((a, b) => a - b).map((x) => x.toFixed(9));
		expect(sorted(costs('BA'))).toEqual(sorted(costs('AB')));
	});

	it('without a note may be of any two or more, at a price for each combine more and for the choice', () => {
		const step = offered('ABC', held('AC'), '');
		expect(sets(step)).toContain('02');
		const noted = offered('ABC', held('AC'), 'AC');
		expect(sets(noted)).toEqual(new Set(['02']));
		// Rare where none is noted as mixed; three pairs.
		expect(cost(step, '02', '00') - cost(noted, '02', '00')).toBeCloseTo(9 + Math.log(3), 1);
		const all = offered('ABC', held('ABC'), '');
		const three = offered('ABC', held('ABC'), 'ABC');
		// More than any tank holds: whole loads, so usual.
		expect(cost(all, '012', '000') - cost(three, '012', '000')).toBeCloseTo(2 * 0.3, 1);
	});

	it('with a note of one combine has that one in it', () => {
		const step = offered('ABC', held('AB'), 'A');
		for (const set of sets(step)) expect(set).toContain('0');
		expect(sets(step)).not.toContain('12');
	});
});
