import { describe, expect, test } from 'vitest';
import { seeded } from '../../lib/stats/index.ts';
import {
	Belief,
	backward,
	causes,
	courseOf,
	flowIn,
	type Layout,
	layout,
	meanVariance,
	Tape,
	unload,
	weigh,
} from '../../lib/tank/index.ts';

const SIGMA = 0.01;
const TAU_S = 1500;

/** A day's weights: one combine, fills of ten minutes cut into `parts`. */
function day(weights: readonly number[], scale = 1, parts = 1, sigma = SIGMA) {
	const at = layout([1]);
	const tape = new Tape(at.n);
	tape.set(at.factor[0]!, 1, 0.1 ** 2);
	tape.set(at.slow[0]!, 0, sigma ** 2, 'slow');
	tape.set(at.cart[0]!, 0, 0.002 ** 2, 'cart');
	tape.set(at.level[0]!, 0, (40 * scale) ** 2, 'rest');
	const on = at.free[0]!;
	weights.forEach((kg, i) => {
		for (let p = 0; p < parts; p++)
			flowIn(
				tape,
				at,
				{ combine: 0, course: courseOf(0, 600 / parts, TAU_S), basis_kg: [(6000 * scale) / parts], rough: 1 },
				sigma,
			);
		tape.set(on, 0, 0);
		unload(tape, at, 0, [on], { kg: 0, u_kg: 40 * scale });
		tape.key = i;
		weigh(tape, at, on, { kg: kg * scale, variance: (15 * scale) ** 2, before: -1, after: -1, cart_kg: [kg * scale] });
	});
	return { at, tape };
}

const random = seeded(11);
const WEIGHTS = Array.from({ length: 10 }, () => 5700 * (1 + 0.01 * random.normal()));
const state = ({ at, tape }: { at: Layout; tape: Tape }) => {
	const f = at.factor[0]!;
	const b = at.brought[0]!;
	return [tape.x[f]!, Math.sqrt(tape.P[f * at.n + f]!), tape.x[b]!, Math.sqrt(tape.P[b * at.n + b]!)];
};

describe('the tank', () => {
	const plain = state(day(WEIGHTS));
	test('finds the factor, and the mass brought in is what was weighed', () => {
		expect(plain[0]).toBeCloseTo(0.95, 2);
		const sum = WEIGHTS.reduce((a, b) => a + b, 0);
		expect(Math.abs(plain[2]! / sum - 1)).toBeLessThan(1e-4);
	});
	test('all in pounds: the same factor, masses scaled', () => {
		const [k, u, kg, ukg] = state(day(WEIGHTS, 1 / 0.45359237));
		expect(k).toBeCloseTo(plain[0]!, 10);
		expect(u).toBeCloseTo(plain[1]!, 10);
		expect(kg! * 0.45359237).toBeCloseTo(plain[2]!, 5);
		expect(ukg! * 0.45359237).toBeCloseTo(plain[3]!, 6);
	});
	test('a fill told in parts is the fill told at once: the slow error’s mean is exact', () => {
		state(day(WEIGHTS, 1, 7)).forEach((v, i) => {
			expect(Math.abs(v / plain[i]! - 1)).toBeLessThan(1e-9);
		});
	});
	test('the day told backward is the same day', () => {
		// The cart's relative error is of the grain expected by the weights before: their order shows in the fifth digit.
		// Without a slow error the order of fills says nothing, and rests at both ends are alike.
		const [k] = state(day([...WEIGHTS], 1, 1, 0));
		expect(state(day([...WEIGHTS].reverse(), 1, 1, 0))[0]).toBeCloseTo(k!, 3);
	});
	test('a weight out of line alone is foretold by the others', () => {
		const bad = WEIGHTS.slice();
		bad[4] = bad[4]! * 1.2;
		const { tape } = day(bad);
		const left = backward(tape).leftOut;
		const odd = left.map((l) => Math.abs(l.residual) / Math.sqrt(l.variance));
		expect(odd.indexOf(Math.max(...odd))).toBe(4);
		expect(left[4]!.residual).toBeCloseTo(0.2 * WEIGHTS[4]!, -2);
	});
	test('the same weights once more tell the factor better, by no more than twice as many may', () => {
		const twice = state(day([...WEIGHTS, ...WEIGHTS]));
		expect(twice[1]! / plain[1]!).toBeGreaterThan(Math.SQRT1_2 - 0.02);
		expect(twice[1]! / plain[1]!).toBeLessThan(1);
	});
	test('what the mass rests on adds up, the cart’s ratio with it', () => {
		const { at, tape } = day(WEIGHTS);
		const f = new Float64Array(at.n);
		f[at.brought[0]!] = 1;
		const shares = causes(tape, f);
		const all = [...shares.values()].reduce((a, b) => a + b, 0);
		expect(all / plain[3]! ** 2).toBeCloseTo(1, 8);
		expect(Math.sqrt(shares.get('cart')!) / plain[2]!).toBeCloseTo(0.002, 4);
	});
});

describe('one weight of two combines', () => {
	const both = (ratio: number | null) => {
		const at = layout([1, 1]);
		const b = new Belief(at.n);
		for (const c of [0, 1]) {
			b.set(at.factor[c]!, 1, 0.1 ** 2);
			b.set(at.slow[c]!, 0, SIGMA ** 2);
			b.set(at.level[c]!, 0, 40 ** 2);
		}
		// A seam: the second factor is `ratio` times the first, known to 0.5 %.
		if (ratio !== null) b.observe([at.factor[1]!, at.factor[0]!], [1, -ratio], 0, (ratio * 0.005) ** 2, 'seam');
		const on = at.free[0]!;
		b.set(on, 0, 0);
		for (const c of [0, 1]) {
			flowIn(b, at, { combine: c, course: courseOf(0, 600, TAU_S), basis_kg: [5000], rough: 1 }, SIGMA);
			unload(b, at, c, [on], { kg: 0, u_kg: 40 });
		}
		weigh(b, at, on, { kg: 10_500, variance: 225, before: -1, after: -1, cart_kg: [] });
		return [b.x[at.factor[0]!]!, b.x[at.factor[1]!]!];
	};
	test('moves both factors alike', () => {
		const [a, b] = both(null);
		expect(a).toBeCloseTo(b!, 10);
		expect(a).toBeCloseTo(1.05, 2);
	});
	test('and with the seam each gets its own', () => {
		const [a, b] = both(1.1);
		expect(b! / a!).toBeCloseTo(1.1, 2);
		expect(a! + b!).toBeCloseTo(2.1, 2);
	});
});

test('consecutive dumps share a reading: their errors cancel in the sum', () => {
	const u = (shared: boolean) => {
		const at = layout([1]);
		const b = new Belief(at.n);
		b.set(at.factor[0]!, 1, 1);
		b.set(at.level[0]!, 0, 0);
		const [on, before, after] = at.free as [number, number, number];
		b.set(before, 0, 400);
		for (let i = 0; i < 8; i++) {
			if (!shared && i > 0) b.set(before, 0, 400);
			flowIn(b, at, { combine: 0, course: courseOf(0, 600, TAU_S), basis_kg: [5000], rough: 1 }, 0);
			b.set(on, 0, 0);
			unload(b, at, 0, [on], { kg: 0, u_kg: 0 });
			b.set(after, 0, 400);
			weigh(b, at, on, { kg: 5000, variance: 1, before, after, cart_kg: [] });
			b.mix(before, 0, [after], [1]);
		}
		return Math.sqrt(b.P[at.factor[0]! * at.n + at.factor[0]!]!);
	};
	// Eight weights of which only the first and the last reading count.
	expect(u(true)).toBeLessThan(0.5 * u(false));
});

describe('the slow error', () => {
	test('keeps its variance, whatever the stretches and pauses', () => {
		for (const [cut, wait] of [
			[600, 30],
			[10, 4000],
			[3000, 1],
		] as const) {
			const { keep, end, share, mean } = courseOf(wait, cut, TAU_S);
			expect(keep ** 2 + end).toBeCloseTo(1, 9);
			expect(share ** 2 + mean).toBeCloseTo(meanVariance(cut, TAU_S), 9);
		}
	});
	test('its mean over a stretch by summing exp(−|s − t| / τ) over a grid', () => {
		const n = 400;
		let sum = 0;
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) sum += Math.exp((-Math.abs(i - j) * 2000) / n / 1500);
		expect(meanVariance(2000, 1500)).toBeCloseTo(sum / (n * n), 4);
	});
});
