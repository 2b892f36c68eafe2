import { describe, expect, it } from 'vitest';
import { NO_SLIP } from '../../../lib/factor/chain/cart-form.ts';
import { CONSTANT, type Shape } from '../../../lib/factor/form/shape.ts';
import { fillShare, sharesOf, spreadOf } from '../../../lib/factor/report/interval.ts';
import { seamRelations } from '../../../lib/factor/seamrelations.ts';
import type { Solved } from '../../../lib/factor/solve-weights.ts';
import { MONITOR } from '../../../lib/model/index.ts';
import { Tape } from '../../../lib/tank/index.ts';
import { exactReference } from '../../match/hand.ts';
import { jump } from './hand.ts';

const near = (x: number) => expect.closeTo(x, 9);

/** Two quantities: one of the cart's scale, of variance 4, one of grain left, of variance 9. */
function solved(more: object = {}): Solved {
	const tape = new Tape(2);
	tape.set(0, 0, 4, 'cart');
	tape.set(1, 0, 9, 'rest');
	return {
		tape,
		scatter: { sigma: 1, sigmaMean: 1, white: 0, whiteMean: 0 },
		chain: { scales: { u_ratio: 0.5 } },
		cart: NO_SLIP,
		play: { relations: [] },
		...more,
	} as unknown as Solved;
}
const f = (...by: number[]) => Float64Array.from(by);

describe('shares of a variance', () => {
	it('by source; the cart’s as a sensitivity to its ratio', () => {
		expect(sharesOf(solved(), f(1, 2), 0)).toMatchObject({ rests: near(36), cart: near(2 / 0.5), scale: 0 });
	});
	it('where the scale changed, its variance is of its own, and nothing is the ratio’s', () => {
		const step = { cart: { ...NO_SLIP, kind: 'step' } };
		expect(sharesOf(solved(step), f(1, 0), 0)).toMatchObject({ cart: 0, scale: near(4) });
		expect(sharesOf(solved({ chain: { scales: { u_ratio: 0 } } }), f(1, 0), 0)).toMatchObject({ cart: 0, scale: 0 });
	});
	it('seams have the fewest degrees of freedom of any', () => {
		const relations = [
			{ cause: 'seam', df: 7 },
			{ cause: 'seam', df: 5 },
			{ cause: 'curve', df: 2 },
		];
		expect(sharesOf(solved({ play: { relations } }), f(1, 0), 0).seamDf).toBe(5);
		expect(sharesOf(solved(), f(1, 0), 0).seamDf).toBe(Infinity);
	});
});

it('a fill’s mean slow error: less, the longer it took to fill', () => {
	const segment = (combine: number, account_kg: number, seconds: number) => ({
		combine,
		account_kg,
		pieces: [
			{ start_s: 0, end_s: seconds / 2 },
			{ start_s: 9000, end_s: 9000 + seconds / 2 },
			{ start_s: Number.NaN, end_s: 9 },
		],
	});
	const tau = MONITOR.slow_s;
	const share = (...segments: object[]) => fillShare(solved({ time: { segments } }), 0);
	// Mean of an exponentially correlated error over T: 2 τ²/T² (T/τ − 1 + exp(−T/τ)); here T = τ.
	expect(share(segment(0, 1, tau))).toBeCloseTo(2 / Math.E, 9);
	expect(share(segment(0, 1, tau), segment(0, 1, 0))).toBeCloseTo((2 / Math.E + 1) / 2, 6);
	expect(share(segment(0, 1, tau), segment(1, 1, 10), segment(0, 0, 10))).toBeCloseTo(2 / Math.E, 9);
	expect(share(segment(1, 1, tau))).toBe(1);
});

it('a factor’s interval takes the cart’s ratio by its sensitivity', () => {
	const shares = { ...sharesOf(solved(), f(1, 0), 0), rests: 0 };
	const reference = { ...exactReference, u_rel: 0.01, df: 0, interval: [1 - 0.0196, 1 + 0.0196] as [number, number] };
	const { u, half } = spreadOf(shares, 0, 9, reference, 1);
	expect(u).toBeCloseTo(4 * 0.01, 9);
	expect(half).toBeCloseTo(1.96 * 4 * 0.01, 3);
	const limited = { ...reference, u_rel: 0.02 / Math.sqrt(3), limit_rel: 0.02 };
	// Rectangular: 95 % of all lies within 95 % of the limit.
	expect(spreadOf(shares, 0, 9, limited, 1).half).toBeCloseTo(0.95 * 4 * 0.02, 2);
});

describe('an equation from a seam', () => {
	const step: Shape = { ...CONSTANT, form: 'step', changes_s: [100] };
	const time = (account_kg: number[]) => ({
		segments: account_kg.map((kg, combine) => ({
			combine,
			pieces: [
				{ kg: kg / 4, time_s: 0 },
				{ kg: (3 * kg) / 4, time_s: 150 },
			],
		})),
		account_kg,
	});
	const input = (account_kg: number[], shapes: Shape[], rough = [0.8, 1]) =>
		({
			account: { account_kg: f(1, 1) },
			track: { passes: [{ records: [0] }, { records: [1] }], flag: new Uint8Array(2) },
			seams: [{ combineA: 0, combineB: 1, passA: 0, passB: 1, length_m: 10, excluded: null }],
			jumps: [jump(0, 1, { log_jump: Math.log(1.25), u_log: 0.012, df: 0.5 })],
			time: time(account_kg),
			time_s: f(0, 150),
			flow: f(0, 0),
			shapes,
			rough,
		}) as never;

	it('sets one factor to the other times what the seam shows', () => {
		const [relation, ...more] = seamRelations(input([100, 200], [CONSTANT, CONSTANT]));
		expect(more).toEqual([]);
		// k_B − 1.25 k_A = 0, each as mass brought in over account mass.
		expect(relation!.at).toEqual([
			{ combine: 1, coefficient: 0, by: 0 },
			{ combine: 1, coefficient: -1, by: near(1 / 200) },
			{ combine: 0, coefficient: 0, by: expect.closeTo(0, 12) },
			{ combine: 0, coefficient: -1, by: near(-1.25 / 100) },
		]);
		// SEAM.carry: 0.5 %.
		expect(relation).toMatchObject({ value: 0, variance: near((0.8 * 1.25 * 0.013) ** 2), cause: 'seam', df: 1 });
		expect(seamRelations(input([100, 200], [CONSTANT, CONSTANT], [Number.NaN, 1]))[0]!.variance).toBeCloseTo(
			(1.25 * 0.013) ** 2,
			9,
		);
	});

	it('where a factor changes, by what it is at the seam against the whole field', () => {
		const [relation] = seamRelations(input([100, 200], [step, CONSTANT]));
		// A was cut at the seam before its change; three quarters of its grain came after.
		expect(relation!.at.filter((a) => a.combine === 0 && a.coefficient === 1)).toEqual([
			{ combine: 0, coefficient: 1, by: near(-1.25 * (0 - 0.75)) },
		]);
	});

	it('of a combine without mass, by its bases alone', () => {
		const [relation] = seamRelations(input([0, 200], [CONSTANT, CONSTANT]));
		expect(relation!.at.filter((a) => a.combine === 0)).toEqual([{ combine: 0, coefficient: 0, by: near(-1.25) }]);
	});
});
