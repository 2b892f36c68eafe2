import { Belief } from '../../tank/index.ts';
import { restMoments } from './normal.ts';

/**
 * Filter state of C combines within a hypothesis: slot c is the factor of combine c, slot C + c its tank level in kg of
 * reference mass, as of the combine's latest unloading.
 */
export { Belief };

const levelOf = (b: Belief, c: number): number => (b.n >> 1) + c;

/** The lists of one quantity that a search hands over millions of times. */
const slots = [0];
const weights = [0.5];
const NONE: readonly number[] = [];
const WHOLE: readonly number[] = [1];

/** Lets monitor mass dM, kg, flow into combine c's tank; `noise` is the variance of the monitor's error. */
export function flowIn(b: Belief, c: number, dM: number, noise: number): void {
	slots[0] = c;
	weights[0] = dM;
	b.mix(levelOf(b, c), 1, slots, weights, 0, noise);
}

/** Takes a known weight out of a tank. */
export function takeOut(b: Belief, c: number, kg: number, variance: number): void {
	b.mix(levelOf(b, c), 1, NONE, NONE, -kg, variance);
}

/** Replaces a tank's level, independent of all else. */
export function setLevel(b: Belief, c: number, mean: number, variance: number): void {
	b.set(levelOf(b, c), mean, variance);
}

/** Observes tank c's level. */
export function learnLevel(b: Belief, c: number, value: number, variance: number): void {
	slots[0] = levelOf(b, c);
	b.observe(slots, WHOLE, value, variance);
}

/** Observes that grain is left in tank c, with an exponential prior of mean `scale` (see `restMoments`). */
export function learnRest(b: Belief, c: number, scale: number): void {
	const l = levelOf(b, c);
	const m = b.x[l]!;
	const v = b.P[l * b.n + l]!;
	const { mean, variance } = restMoments(m, v, scale);
	// An observation y with variance w takes N(m, v) to these moments.
	if (!(variance < v * (1 - 1e-9))) return;
	const w = (v * variance) / (v - variance);
	slots[0] = l;
	b.observe(slots, WHOLE, m + ((mean - m) * (v + w)) / v, w);
}

/** Observes that factor b is `ratio` times factor a. */
export function learnRatio(belief: Belief, a: number, b: number, ratio: number, variance: number): void {
	belief.observe([b, a], [1, -ratio], 0, variance);
}

/** Lets all factors change by one share that they have in common: 1 with this standard deviation, relative. */
export function changeFactors({ n, x, P }: Belief, u_rel: number): void {
	for (let a = 0; a < n / 2; a++) for (let b = 0; b < n / 2; b++) P[a * n + b]! += u_rel * u_rel * x[a]! * x[b]!;
}

/** Lets combine c's factor change by a share somewhere in the next fill of monitor mass `fill_kg`: on average half of it is as before. */
export function changeFactor(b: Belief, c: number, u_rel: number, fill_kg: number): void {
	const variance = (u_rel * b.x[c]!) ** 2;
	b.mix(c, 1, [], [], 0, variance);
	const l = levelOf(b, c);
	b.P[l * b.n + c]! -= (variance * fill_kg) / 2;
	b.P[c * b.n + l]! -= (variance * fill_kg) / 2;
	b.P[l * b.n + l]! += variance * fill_kg ** 2 * (1 / 4 + 1 / 12);
}

/** The share by which these combines' factors changed between two beliefs: the mean of their log ratios, weighted by variances. */
export function factorChange(combines: readonly number[], before: Belief, after: Belief): number {
	const { n } = before;
	let log = 0;
	let weight = 0;
	for (const c of combines) {
		const [k0, k1] = [before.x[c]!, after.x[c]!];
		const w = 1 / (after.P[c * n + c]! / k1 ** 2 + before.P[c * n + c]! / k0 ** 2);
		log += w * Math.log(k1 / k0);
		weight += w;
	}
	return Math.exp(log / weight);
}

/** Adds tank a's grain to tank b, except an amount N(mean, variance) that stays in tank a. */
export function poolIn(belief: Belief, a: number, b: number, mean: number, variance: number): void {
	const A = levelOf(belief, a);
	const B = levelOf(belief, b);
	belief.mix(B, 1, [A], [1]);
	belief.set(A, mean, variance);
	belief.mix(B, 1, [A], [-1]);
}
