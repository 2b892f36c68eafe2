import { describe, expect, it } from 'vitest';
import { CART_KEY, type CartForm, CERTIFIED_U, NO_SLIP, type Scales } from '../../../lib/factor/chain/cart-form.ts';
import { type Chain, chainOf } from '../../../lib/factor/chain/chain.ts';
import {
	likelihood,
	type Play,
	places,
	type Relation,
	restsOf,
	STEP_KEY,
	taped,
	usual,
} from '../../../lib/factor/chain/play.ts';
import { playScale } from '../../../lib/factor/chain/play-scale.ts';
import type { Segment } from '../../../lib/factor/chain/timeline.ts';
import { CONSTANT, type Shape } from '../../../lib/factor/form/shape.ts';
import { MONITOR, type Weighing } from '../../../lib/model/index.ts';
import { Belief, backward, layout, meanVariance } from '../../../lib/tank/index.ts';
import { plainMatch } from '../../plain.ts';
import { unloadingsOf, weighing } from './hand.ts';

const scales = (more: Partial<Scales> = {}): Scales => ({
	of: Int32Array.of(0, 0),
	others: [],
	loads: [],
	u_ratio: 0.001,
	asWritten: 0,
	...more,
});

interface One {
	weighings?: Weighing[];
	/** Pieces [start, end, kg] of combine 0's only tank load. */
	pieces?: [number, number, number][];
	combines?: number[];
	scales?: Scales;
	scaleRatio?: number;
	rough?: number;
}

/** A tank load of 6 t by the monitor, taken in over 480 s, and its weight; more of them by more combines. */
function one({
	weighings = [weighing([0])],
	pieces = [[0, 480, 6000]],
	combines = [0],
	rough = 1,
	...more
}: One = {}): Chain {
	const segments = combines.map(
		(combine, unloading): Segment => ({
			combine,
			unloading,
			from: 0,
			to: 0,
			account_kg: pieces.reduce((s, p) => s + p[2], 0),
			pieces: pieces.map(([start_s, end_s, kg]) => ({
				kg,
				kg_flow: 12 * kg,
				time_s: (start_s + end_s) / 2,
				start_s,
				end_s,
			})),
		}),
	);
	const count = 1 + Math.max(...combines);
	return chainOf({
		match: plainMatch({ unloadings: unloadingsOf(combines), weighings }),
		time: { orders: [], segments, ofUnloading: Int32Array.from(combines.keys()), account_kg: Array(count).fill(6000) },
		scales: more.scales ?? scales(),
		scaleRatio: more.scaleRatio ?? 1,
		use: weighings.map((_, w) => w),
		rough: Array(count).fill(rough),
	});
}

const exact: Play = {
	shapes: [CONSTANT],
	prior: () => ({ mean: 0.9, u: 0 }),
	sigma: 0,
	white: 0,
	rests: 1,
	rest: { kg: Float64Array.of(200, 100), u_kg: Float64Array.of(0, 0) },
	extraVariance: new Map(),
	relations: [],
	cart: NO_SLIP,
};
/** Log of a normal density. */
const log = (x: number, mean: number, variance: number) =>
	-0.5 * (Math.log(2 * Math.PI * variance) + (x - mean) ** 2 / variance);
/** A weight of 6 t: it rounds to 5 kg, stands within 0.1 %, and its reading is within 17 kg. */
const OWN = 25 + 36 + 17 ** 2;
/** 0.9 × 6000 and the 100 kg that were in the tank, less the 200 that stayed. */
const MEAN = 5300;
/** The scale's error is in the factor as the scale shows it, and in the grain that it shows: 6000 less 5300. */
const SCALE = (700 * 0.001) ** 2;

describe('a weight, as it is expected', () => {
	it('is factor × monitor, with what was in the tank before, without what stayed', () => {
		expect(likelihood(one(), exact)).toBeCloseTo(log(6000, MEAN, OWN + SCALE), 9);
		const seen = one({ scales: scales({ u_ratio: 0 }) });
		expect(likelihood(seen, exact)).toBeCloseTo(log(6000, MEAN, OWN), 9);
	});

	it('is uncertain by the factor, the slow error over its time, the white one, and the grain in the tank', () => {
		const rest = { ...exact.rest, u_kg: Float64Array.of(50, 30) };
		const by: [Partial<Play>, number][] = [
			[{ prior: () => ({ mean: 0.9, u: 0.05 }) }, (6000 * 0.05) ** 2],
			[{ sigma: 0.01 }, (6000 * 0.01) ** 2 * meanVariance(480, 1500)],
			[{ white: 0.006 }, (6000 * 0.006) ** 2],
			[{ rest }, 50 ** 2 + 30 ** 2],
			[{ rest, rests: 4 }, 4 * (50 ** 2 + 30 ** 2)],
			[{ extraVariance: new Map([[0, 444]]) }, 444],
		];
		for (const [more, variance] of by)
			expect(likelihood(one(), { ...exact, ...more })).toBeCloseTo(log(6000, MEAN, OWN + SCALE + variance), 8);
	});

	it('is as uncertain in two pieces as in one', () => {
		const two = one({
			pieces: [
				[0, 160, 2000],
				[160, 480, 4000],
			],
		});
		const play = { ...exact, sigma: 0.01, white: 0.006 };
		expect(likelihood(two, play)).toBeCloseTo(likelihood(one(), play), 2);
		const white = { ...exact, white: 0.006 };
		expect(likelihood(two, white)).toBeCloseTo(likelihood(one(), white), 9);
	});

	it('has errors of the monitor as grain of the rough factor', () => {
		const chain = one({ rough: 0.9 });
		const variance = OWN + SCALE + (0.9 * 6000 * 0.006) ** 2;
		expect(likelihood(chain, { ...exact, white: 0.006 })).toBeCloseTo(log(6000, MEAN, variance), 9);
	});

	it('has readings that the cart’s ratio stretches; a ticket’s are its own', () => {
		const stretched = one({ scaleRatio: 1.1 });
		expect(likelihood(stretched, exact)).toBeCloseTo(log(6000, MEAN, 61 + (1.1 * 17) ** 2 + SCALE), 9);
		const gross = weighing([0], { readings: [3, 4], u_gross_kg: [20, 30] });
		expect(likelihood(one({ scaleRatio: 1.1, weighings: [gross] }), exact)).toBeCloseTo(
			log(6000, MEAN, 61 + 1.1 ** 2 * (400 + 900) + SCALE),
			9,
		);
		const unread = weighing([0], { u_reading_kg: Number.NaN });
		expect(likelihood(one({ weighings: [unread] }), exact)).toBeCloseTo(log(6000, MEAN, 61 + SCALE), 9);
		const ticket = weighing([0], { kind: 'ticket', byCart: false });
		const onTicket = one({ scaleRatio: 1.1, weighings: [ticket], scales: scales({ of: Int32Array.of(-1) }) });
		// The factor is as the cart shows it; the certified scale has an error of its own.
		const variance = OWN + (6000 * 0.001) ** 2 + (5300 * CERTIFIED_U) ** 2;
		expect(likelihood(onTicket, exact)).toBeCloseTo(log(6000, MEAN, variance), 9);
	});

	it('of everything has all grain, whatever is in tanks, and no scale of the cart', () => {
		const total = weighing([], { kind: 'total', reference_kg: 6000 });
		const chain = one({ weighings: [total] });
		expect(likelihood(chain, exact)).toBeCloseTo(log(6000, 5400, OWN + (6000 * 0.001) ** 2), 9);
	});

	it('shares a gross reading with the next: one too high makes the other too low', () => {
		const gross = (unloading: number, a: number, b: number) =>
			weighing([unloading], { readings: [a, b], u_gross_kg: [20, 20], reference_kg: 5500 });
		const two = (b: number) =>
			one({ combines: [0, 1], weighings: [gross(0, 3, 4), gross(1, b, 6)], scales: scales({ u_ratio: 0 }) });
		const play = {
			...exact,
			shapes: [CONSTANT, CONSTANT],
			rest: { kg: Float64Array.of(200, 200, 100, 100), u_kg: new Float64Array(4) },
		};
		const own = 25 + 5.5 ** 2 + 2 * 400;
		expect(likelihood(two(5), play)).toBeCloseTo(2 * log(5500, 5300, own), 9);
		// Of a joint normal density with covariance −400: the second, given the first.
		const given = log(5500, 5300 - (400 / own) * 200, own - 400 ** 2 / own);
		expect(likelihood(two(4), play)).toBeCloseTo(log(5500, 5300, own) + given, 9);
	});

	it('of two combines together is the sum of both', () => {
		const both = one({ combines: [0, 1], weighings: [weighing([0, 1])], scales: scales({ u_ratio: 0 }) });
		const play: Play = {
			...exact,
			shapes: [CONSTANT, CONSTANT],
			prior: (c) => ({ mean: c ? 1 : 0.9, u: c ? 0.02 : 0.01 }),
			rest: { kg: Float64Array.of(200, 0, 100, 0), u_kg: new Float64Array(4) },
		};
		const variance = 25 + 144 + 17 ** 2 + 6000 ** 2 * (0.02 ** 2 + 0.01 ** 2);
		expect(likelihood(both, play)).toBeCloseTo(log(12_000, MEAN + 6000, variance), 9);
	});

	it('changes with the factor: a step within the load is of the pieces after it', () => {
		const step: Shape = { ...CONSTANT, form: 'step', changes_s: [200] };
		const chain = one({
			pieces: [
				[0, 160, 2000],
				[160, 480, 4000],
			],
			scales: scales({ u_ratio: 0 }),
		});
		const prior: Play['prior'] = (_, j) => (j === 0 ? { mean: 0.9, u: 0 } : { mean: 0.1, u: 0.02 });
		const variance = OWN + (4000 * 0.02) ** 2;
		expect(likelihood(chain, { ...exact, shapes: [step], prior })).toBeCloseTo(log(6000, MEAN + 400, variance), 9);
	});
});

describe('equations after all weights', () => {
	const relation = (at: Relation['at'], value: number, variance: number): Relation => ({
		at,
		value,
		variance,
		cause: 'seam',
		df: 9,
	});
	const play = { ...exact, prior: () => ({ mean: 0.9, u: 0.05 }) };
	const plain = likelihood(one({ weighings: [] }), play);
	it('of the factor, and of the mass brought in', () => {
		expect(plain).toBe(0);
		const of = (r: Relation) => likelihood(one({ weighings: [] }), { ...play, relations: [r] });
		const cart = 0.001 ** 2;
		expect(of(relation([{ combine: 0, coefficient: 0, by: 2 }], 2, 0.01))).toBeCloseTo(
			log(2, 1.8, 0.01 + 4 * (0.05 ** 2 + cart)),
			9,
		);
		expect(of(relation([{ combine: 0, coefficient: -1, by: 1 }], 5500, 100))).toBeCloseTo(
			log(5500, 5400, 100 + 6000 ** 2 * (0.05 ** 2 + cart)),
			9,
		);
	});

	it('have the mass brought in as a quantity only where one is about it, or where this run is the last', () => {
		const brought = (more: Partial<Play>) => places(one(), { ...play, ...more }).brought[0]! >= 0;
		expect(brought({})).toBe(false);
		expect(brought({ relations: [relation([{ combine: 0, coefficient: 0, by: 1 }], 1, 1)] })).toBe(false);
		expect(brought({ relations: [relation([{ combine: 0, coefficient: -1, by: 1 }], 1, 1)] })).toBe(true);
		expect(brought({ last: true })).toBe(true);
		expect(likelihood(one(), { ...play, last: false })).toBeCloseTo(likelihood(one(), play), 12);
	});
});

describe('the last run', () => {
	it('lets a factor change where no weight would show it: before the first and after the last of its own', () => {
		// Every hour by as much as a change of 6 % in 100 hours.
		const change = 0.06 ** 2 * (480 / 3600 / 100);
		const variance = OWN + SCALE + 6000 ** 2 * change;
		expect(likelihood(one(), { ...exact, last: true })).toBeCloseTo(log(6000, MEAN, variance), 8);
		const rough = likelihood(one({ rough: 0.9 }), { ...exact, last: true });
		expect(rough).toBeCloseTo(log(6000, MEAN, OWN + SCALE + 0.81 * 6000 ** 2 * change), 8);
		// Weighed with another combine alone: its whole work is between.
		const both = one({ combines: [0, 1], weighings: [weighing([0, 1])], scales: scales({ u_ratio: 0 }) });
		const two = {
			...exact,
			shapes: [CONSTANT, CONSTANT],
			rest: { kg: new Float64Array(4), u_kg: new Float64Array(4) },
		};
		expect(likelihood(both, { ...two, last: true })).toBeCloseTo(likelihood(both, two), 9);
	});

	it('between two weights of its own it does not', () => {
		const half = (start: number): Segment['pieces'] => [
			{ kg: 3000, kg_flow: 0, time_s: start + 120, start_s: start, end_s: start + 240 },
			{ kg: 3000, kg_flow: 0, time_s: start + 360, start_s: start + 240, end_s: start + 480 },
		];
		const of = (count: number) =>
			chainOf({
				match: plainMatch({
					unloadings: unloadingsOf([0, 0, 0].slice(0, count)),
					weighings: [0, 1, 2].slice(0, count).map((u) => weighing([u])),
				}),
				time: {
					orders: [],
					segments: [0, 1, 2].slice(0, count).map((unloading) => ({
						combine: 0,
						unloading,
						from: 0,
						to: 0,
						account_kg: 6000,
						pieces: half(500 * unloading),
					})),
					ofUnloading: Int32Array.of(0, 1, 2),
					account_kg: [18_000],
				},
				scales: scales({ u_ratio: 0, of: Int32Array.of(0, 0, 0) }),
				scaleRatio: 1,
				use: [0, 1, 2].slice(0, count),
				rough: [1],
			});
		const play: Play = { ...exact, rest: { kg: new Float64Array(4), u_kg: new Float64Array(4) } };
		const uncertain = (count: number, last: boolean) => {
			const { at, tape } = taped(of(count), { ...play, last });
			return tape.P[at.factor[0]! * tape.n + at.factor[0]!]!;
		};
		// Without a last run the factor is as certain as its prior, which is exact; in it, as after its first tank load.
		expect(uncertain(3, false)).toBe(0);
		expect(uncertain(3, true)).toBeGreaterThan(0);
		expect(uncertain(3, true)).toBeLessThan(uncertain(1, true));
		const after = of(2);
		const { at, tape } = taped(
			{ ...after, steps: after.steps.filter((s) => s.do !== 'weigh' || s.weighing === 0) },
			{ ...play, last: true },
		);
		// Grain after the last weight: an error of eight minutes' work is added in full.
		expect(tape.P[at.factor[0]! * tape.n + at.factor[0]!]! - uncertain(1, true)).toBeCloseTo(
			0.06 ** 2 * (500 / 3600 / 100),
			9,
		);
	});
});

describe('a chain as it was run', () => {
	it('is marked where a factor may step, after each unloading, and where the scale may', () => {
		const { at, tape } = taped(one(), {
			...exact,
			rest: { ...exact.rest, u_kg: Float64Array.of(50, 30) },
			sigma: 0.01,
		});
		const { marks, leftOut } = backward(tape);
		expect(marks.map((m) => m.key).sort((a, b) => a - b)).toEqual([0, STEP_KEY, CART_KEY + 2]);
		expect(leftOut.map((l) => l.key)).toEqual([0]);
		expect(leftOut[0]!.residual).toBeCloseTo(700, 6);
		expect(at.n).toBe(tape.n);
		const outside = one();
		outside.steps.forEach((s) => {
			if (s.do === 'in') s.inTank = false;
		});
		expect(
			backward(taped(outside, exact).tape)
				.marks.map((m) => m.key)
				.sort((a, b) => a - b),
		).toEqual([0, CART_KEY + 2]);
	});
});

describe('settings to begin with', () => {
	it('grain left in tanks: as it was before any weight, and the error of the moment of unloading', () => {
		const [a, b, c] = unloadingsOf([0, 0, 1]);
		const unloadings = [
			{ ...a!, rest_kg: 300, u_rest_kg: 250, u_account_kg: 0 },
			{ ...b!, rest_kg: 20, u_rest_kg: 60, u_account_kg: 100 },
			{ ...c!, rest_kg: 0, u_rest_kg: 30, u_account_kg: Number.NaN },
		];
		const match = plainMatch({ unloadings, start_kg: [{ kg: 9, u_kg: 8 }] });
		const { kg, u_kg } = restsOf(match, [0.5, 2]);
		expect([...kg]).toEqual([300, 20, 0, 9, 0]);
		// A tank that counts as empty holds 40 kg more or less.
		expect([...u_kg]).toEqual([250, Math.hypot(60, 50), 40, 8, 0]);
		const unknown = plainMatch({
			unloadings: [{ ...a!, rest_kg: Number.NaN, u_rest_kg: Number.NaN }],
			start_kg: [{ kg: Number.NaN, u_kg: Infinity }],
		});
		const none = restsOf(unknown, [1]);
		expect([...none.kg, ...none.u_kg]).toEqual([0, 0, 40, 0]);
	});

	it('wide priors about the rough factors, usual errors, a scale without one', () => {
		const play = usual([0.9], [CONSTANT], exact.rest, []);
		expect([0, 1].map((j) => play.prior(0, j))).toEqual([
			{ mean: 0.9, u: 0.9 },
			{ mean: 0, u: 0.9 },
		]);
		expect(play).toMatchObject({
			sigma: MONITOR.slow,
			white: 0,
			rests: 1,
			cart: NO_SLIP,
			relations: [],
			rest: exact.rest,
		});
		expect(play.extraVariance.size).toBe(0);
	});
});

describe('the cart’s scales along a chain', () => {
	const form = (kind: CartForm['kind'], more: Partial<CartForm> = {}): CartForm => ({ ...NO_SLIP, kind, ...more });
	const load = (more: object = {}) => ({
		truckLoad: 'T',
		time_s: 0,
		shares: [1],
		rel: 0.01,
		offload_rel: 0.02,
		u: 0.003,
		used: true,
		...more,
	});
	function played(cart: CartForm, of: Partial<Scales> = {}, final = false) {
		const with_ = scales({ u_ratio: 0.02, ...of });
		const at = layout([1], 1, 2 + with_.others.length + Number(cart.kind === 'drift'));
		const b = new Belief(at.n);
		const chain = { scales: with_, span_s: 7200 } as unknown as Chain;
		const scale = playScale(chain, cart, final, at, b);
		const sd = (i: number) => Math.sqrt(b.P[at.cart[i]! * at.n + at.cart[i]!]!);
		return { scale, b, at, sd, mean: (i: number) => b.x[at.cart[i]!]! };
	}

	it('begin as certain as the ratio, or as a scale that truckloads are yet to check', () => {
		expect(played(NO_SLIP).sd(0)).toBeCloseTo(0.02, 12);
		expect(played(NO_SLIP).sd(1)).toBeCloseTo(CERTIFIED_U, 12);
		// Unchecked: 5 %, about what it would be off by if it were right as it stands.
		expect(played(NO_SLIP, { loads: [load()], asWritten: 0.03 }).sd(0)).toBeCloseTo(Math.hypot(0.05, 0.03), 12);
		expect(played(NO_SLIP, { loads: [load({ used: false })], asWritten: 0.03 }).sd(0)).toBeCloseTo(0.02, 12);
		const others = [{ name: 'blue', mean: 0.01, u: 0.03 }];
		expect(played(NO_SLIP, { others }).mean(2)).toBe(0.01);
		expect(played(NO_SLIP, { others }).sd(2)).toBeCloseTo(0.03, 12);
		expect(played(form('drift'), { others }).sd(3)).toBeCloseTo(0.03, 12);
	});

	it('right at last and not at first: as uncertain as the error is large, and then as the ratio', () => {
		for (const [kind, size] of [
			['step', 0.06],
			['drift', 0.03],
			['two', 0.06],
			['none', 0],
		] as const) {
			expect(played(form(kind, { right: 'last' })).sd(0)).toBeCloseTo(Math.hypot(0.02, size), 12);
			expect(played(form(kind)).sd(0)).toBeCloseTo(0.02, 12);
		}
		const ended = (cart: CartForm, of: Partial<Scales> = {}) => {
			const { scale, sd } = played(cart, of);
			scale.end();
			return sd(0);
		};
		expect(ended(form('step'))).toBeCloseTo(0.02, 12);
		// Two normal densities, of 0.04 + 0.36 and 0.04 percent squared.
		expect(ended(form('step', { right: 'last' })) ** 2).toBeCloseTo(1 / (1 / 0.004 + 1 / 0.0004), 9);
		const loads = [load()];
		expect(ended(form('step', { right: 'last' }), { loads })).toBeCloseTo(0.05, 12);
		expect(ended(form('two', { right: 'last' }))).toBeCloseTo(Math.hypot(0.02, 0.06), 12);
	});

	it('of two carts by turns, either may be the one within the ratio’s error', () => {
		const others = [{ name: null, mean: 0, u: 0.06 }];
		expect(played(form('two'), { others }).sd(2)).toBeCloseTo(0.06, 12);
		expect(played(form('two', { right: 'last' }), { others }).sd(2)).toBeCloseTo(0.02, 12);
		expect(played(form('two', { right: 'last' }), { others, loads: [load()] }).sd(2)).toBeCloseTo(0.06, 12);
		expect(played(form('step', { right: 'last' }), { others }).sd(2)).toBeCloseTo(0.06, 12);
	});

	it('go on: a step at its moment, a drift with time, a wander where truckloads check it', () => {
		const step = played(form('step', { at: 4 }));
		step.scale.goesOn(3, 600);
		expect(step.sd(0)).toBeCloseTo(0.02, 12);
		step.scale.goesOn(4, 600);
		expect(step.sd(0)).toBeCloseTo(Math.hypot(0.02, 0.06), 12);
		const drift = played(form('drift'));
		drift.scale.goesOn(0, 3600);
		expect(drift.sd(0)).toBeCloseTo(Math.hypot(0.02, 0.03 / 2), 12);
		drift.scale.goesOn(1, 3600);
		expect(drift.sd(0)).toBeCloseTo(Math.hypot(0.02, 0.03), 12);
		const checked = played(NO_SLIP, { loads: [load()] });
		checked.scale.goesOn(0, 36_000);
		// 0.1 % over ten hours.
		expect(checked.sd(0)).toBeCloseTo(Math.hypot(0.05, 0.001), 12);
		checked.scale.goesOn(0, -3600);
		expect(checked.sd(0)).toBeCloseTo(Math.hypot(0.05, 0.001), 12);
		const still = played(form('drift'), {});
		still.scale.goesOn(0, 0);
		expect(still.sd(0)).toBeCloseTo(0.02, 12);
	});

	it('a drift over no time is none', () => {
		const at = layout([1], 1, 3);
		const b = new Belief(at.n);
		const scale = playScale(
			{ scales: scales({ u_ratio: 0.02 }), span_s: 0 } as unknown as Chain,
			form('drift'),
			false,
			at,
			b,
		);
		scale.goesOn(0, 3600);
		expect(b.P[at.cart[0]! * at.n + at.cart[0]!]).toBeCloseTo(0.0004, 12);
	});

	it('checked by a truckload: by its offload as scales repeat, in the last run by the ratio’s own error', () => {
		const start = Math.hypot(0.05, 0) ** 2 + CERTIFIED_U ** 2;
		const checking = played(NO_SLIP, { loads: [load()] });
		expect(checking.scale.check(0)).toBeCloseTo(log(0.02, 0, start + 0.002 ** 2), 9);
		expect(checking.mean(0)).toBeCloseTo((0.02 * 0.05 ** 2) / (start + 0.002 ** 2), 9);
		const last = played(NO_SLIP, { loads: [load()] }, true);
		expect(last.scale.check(0)).toBeCloseTo(log(0.01, 0, start + 0.003 ** 2), 9);
		expect(played(form('step'), { loads: [load()] }, true).scale.check(0)).toBeCloseTo(
			log(0.02, 0, start + 0.002 ** 2),
			9,
		);
		expect(played(form('two'), { loads: [load()] }, true).scale.check(0)).toBeCloseTo(
			log(0.01, 0, start + 0.003 ** 2),
			9,
		);
		const unused = played(NO_SLIP, { loads: [load({ used: false }), load()] }, true);
		expect(unused.scale.check(0)).toBe(0);
		expect(unused.mean(0)).toBe(0);
	});

	it('a truckload of two carts’ grain is checked by its shares', () => {
		const others = [{ name: 'blue', mean: 0.04, u: 0.03 }];
		const { scale } = played(NO_SLIP, { others, loads: [load({ shares: [0.25, 0.75] })] });
		const variance = (0.25 * 0.05) ** 2 + (0.75 * 0.03) ** 2 + CERTIFIED_U ** 2 + 0.002 ** 2;
		expect(scale.check(0)).toBeCloseTo(log(0.02, 0.03, variance), 9);
	});

	it('a truckload that fits badly costs its prior odds and changes nothing', () => {
		const { scale, mean, sd } = played(NO_SLIP, { loads: [load({ offload_rel: 0.4 })] });
		// One in thirty, and then anything up to 15 % either way.
		expect(scale.check(0)).toBeCloseTo(-Math.log(30 * 0.3), 9);
		expect([mean(0), sd(0)]).toEqual([0, expect.closeTo(0.05, 12)]);
	});
});
