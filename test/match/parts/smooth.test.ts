import { describe, expect, it } from 'vitest';
import { type Emptying, loose } from '../../../lib/match/outcome/emptying.ts';
import { smoothRests, weights } from '../../../lib/match/outcome/smooth.ts';
import { MONITOR, TANK } from '../../../lib/model/index.ts';
import { Dense } from '../../tank/dense.ts';
import { assigned, bookOf, dump, NOON, problemOf, recordsOf } from '../hand.ts';

const records = recordsOf(['A', 'B'].map((name) => ({ name, from_s: 0, to_s: 4000, flow: () => 8 })));
/** Weights of A, of B, of both together, of A, and one that a ticket tells. */
const KG = [6700, 5900, 11_800, 5200];
const rows = KG.map((kg, i) => dump(`D${i}`, i, 800 * (i + 1), kg, i === 2 ? { combines: ['A', 'B'] } : {}));
const problem = problemOf(records, bookOf(rows));
problem.wholeLoads = false;
problem.priors.ratios = [{ a: 0, b: 1, ratio: 0.93, u: 0.03 }];
problem.deduced = [
	{ kind: 'straight', combine: 1, kg: 6000, variance: 900, from_s: NOON, to_s: NOON + 4000, ticket: 0 },
];

const emptying = (combine: number, t: number, fill_kg: number, observation: number, prior_kg: number): Emptying => ({
	...loose(problem, combine, { end_s: NOON + t, reason: '', mass_kg: 0 }),
	fill_kg,
	assignment: observation < 0 ? null : assigned(observation, [{ c: combine, t }]),
	prior_kg,
	u_prior_kg: prior_kg || 40,
	u_flow_kg: 30,
	rests: prior_kg > 0,
});
const list: Emptying[] = [
	emptying(0, 800, 6400, 0, 0),
	emptying(0, 2300, 6100, 2, 1500),
	emptying(0, 3200, 6000, 3, 0),
	emptying(1, 1600, 6300, 1, 0),
	emptying(1, 2400, 6600, 2, 2000),
	{ ...emptying(1, 3600, 6500, -1, 0), deduced: 0 },
];
const starts = [false, true];

describe('factors and rests of one hypothesis', () => {
	const found = smoothRests(problem, list, starts);
	const dense = new Dense();
	const of = (name: string) => dense.rows.get(name)!;
	for (const c of [0, 1]) {
		const some = starts[c] ? 0.35 * problem.tank_kg[c]! : 0;
		dense.put(`k${c}`, 1, [[dense.noise(MONITOR.factor ** 2), 1]]);
		dense.put(`start${c}`, some, [[dense.noise((some || TANK.clinging_kg) ** 2), 1]]);
	}
	dense.observe(
		[
			['k1', 1],
			['k0', -0.93],
		],
		0,
		0.03 ** 2,
	);
	list.forEach((e, i) => {
		dense.put(`rest${i}`, e.prior_kg, [[dense.noise(e.u_prior_kg ** 2 + 30 ** 2), 1]]);
	});
	/** Weight = Σ factor × fill + what was in the tank before − what stayed after. */
	const terms = (i: number): [string, number][] => [
		[`k${list[i]!.combine}`, list[i]!.fill_kg],
		[list[i - 1]?.combine === list[i]!.combine ? `rest${i - 1}` : `start${list[i]!.combine}`, 1],
		[`rest${i}`, -1],
	];
	const weigh = (kg: number, u2: number, of: number[]) => {
		const noise = of.reduce((sum, i) => sum + (problem.priors.fill * list[i]!.fill_kg) ** 2, 0);
		dense.observe(of.flatMap(terms), kg, u2 + noise);
	};
	[[0], [3], [1, 4], [2]].forEach((own, s) => {
		weigh(KG[s]!, problem.observations[s]!.u2, own);
	});
	weigh(6000, 900, [5]);

	it('are those of dense least squares over all weights', () => {
		for (const c of [0, 1]) {
			const { mean, variance } = dense.given(of(`k${c}`));
			expect(found.factor[c]).toBeCloseTo(mean, 9);
			expect(found.u_factor[c]! / Math.sqrt(variance)).toBeCloseTo(1, 6);
			const start = dense.given(of(`start${c}`));
			expect(found.start_kg[c]!.kg).toBeCloseTo(Math.max(0, start.mean), 5);
			expect(found.start_kg[c]!.u_kg).toBeCloseTo(Math.sqrt(start.variance), 4);
		}
		list.forEach((_, i) => {
			const rest = dense.given(of(`rest${i}`));
			expect(found.rest_kg[i]).toBeCloseTo(Math.max(0, rest.mean), 5);
			expect(found.u_rest_kg[i]).toBeCloseTo(Math.sqrt(rest.variance), 4);
		});
	});

	it('leave each weight what it differs by from what they make of it', () => {
		const { rest_kg: r, start_kg, factor } = found;
		const expected = factor[0]! * 6400 + start_kg[0]!.kg - r[0]!;
		expect(found.miss[0]).toBeCloseTo(6700 / expected - 1, 9);
		const both = factor[0]! * 6100 + r[0]! - r[1]! + factor[1]! * 6600 + r[3]! - r[4]!;
		expect(found.miss[1]).toBeCloseTo(11_800 / both - 1, 9);
		expect(found.miss[4]).toBe(found.miss[1]);
	});

	it('do not hear an outlier, nor what has no weight', () => {
		const odd = list.map((e, i) =>
			i === 2 ? { ...e, assignment: { ...e.assignment!, kind: 'outlier' as const } } : { ...e, deduced: -1 },
		);
		const without = smoothRests(problem, odd, starts);
		expect(without.miss[2]).toBeNaN();
		expect(without.miss[5]).toBeNaN();
		// As if those fills had never been: what was in the tanks before them has no other weight.
		const fewer = smoothRests(problem, [odd[0]!, odd[1]!, odd[3]!, odd[4]!], starts);
		for (const c of [0, 1]) expect(without.factor[c]).toBeCloseTo(fewer.factor[c]!, 9);
	});

	it('scale with all weights, as far as what is known beforehand does', () => {
		const twice = {
			...problem,
			tank_kg: problem.tank_kg.map((kg) => 2 * kg),
			observations: problem.observations.map((o) => ({ ...o, kg: 2 * o.kg, u2: 4 * o.u2 })),
			deduced: problem.deduced.map((d) => ({ ...d, kg: 2 * d.kg, variance: 4 * d.variance })),
		};
		const heavy = list.map((e) => ({
			...e,
			fill_kg: 2 * e.fill_kg,
			prior_kg: 2 * e.prior_kg,
			u_prior_kg: 2 * e.u_prior_kg,
			u_flow_kg: 2 * e.u_flow_kg,
		}));
		const other = smoothRests(twice, heavy, [true, true]);
		const own = smoothRests(problem, list, [true, true]);
		other.factor.forEach((k, c) => {
			expect(k).toBeCloseTo(own.factor[c]!, 9);
		});
		other.rest_kg.forEach((kg, i) => {
			expect(kg).toBeCloseTo(2 * own.rest_kg[i]!, 5);
		});
	});
});

it('weights cover the emptyings that are in them, deduced ones their own', () => {
	expect(weights(problem, list).map((w) => [w.observation, w.deduced, w.kg, w.emptyings])).toEqual([
		[-1, 0, 6000, [5]],
		[0, -1, 6700, [0]],
		[2, -1, 11_800, [1, 4]],
		[3, -1, 5200, [2]],
		[1, -1, 5900, [3]],
	]);
});
