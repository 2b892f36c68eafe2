import { Belief } from '../../tank/index.ts';
import { restMoments } from './normal.ts';

/**
 * What is believed of C combines at some point of a hypothesis, as one state of the tank's filter: slot c is the factor
 * of combine c, C + c its tank's level in kg of reference mass. A level is that of the combine's latest unloading; it
 * moves on only when the next one is looked at.
 */
export { Belief };

const levelOf = (b: Belief, c: number): number => b.n / 2 + c;

/** Lets the monitor's mass dM flow into combine c's tank; `noise` is the variance of what the monitor got wrong. */
export function flowIn(b: Belief, c: number, dM: number, noise: number): void {
	b.mix(levelOf(b, c), 1, [c], [dM], 0, noise);
}

/** Takes a known weight out of a tank. */
export function takeOut(b: Belief, c: number, kg: number, variance: number): void {
	b.mix(levelOf(b, c), 1, [], [], -kg, variance);
}

/** Forgets what was known of a tank: its level is now this, on its own. */
export function setLevel(b: Belief, c: number, mean: number, variance: number): void {
	b.set(levelOf(b, c), mean, variance);
}

/** Learns that tank c holds `value`, with that variance. */
export function learnLevel(b: Belief, c: number, value: number, variance: number): void {
	b.observe([levelOf(b, c)], [1], value, variance);
}

/** Learns that tank c holds something between nothing and much (see `restMoments`). */
export function learnRest(b: Belief, c: number, scale: number): void {
	const l = levelOf(b, c);
	const m = b.x[l]!;
	const v = b.P[l * b.n + l]!;
	const { mean, variance } = restMoments(m, v, scale);
	// The observation that leaves just those moments: N(m, v) and a value y with variance w.
	if (!(variance < v * (1 - 1e-9))) return;
	const w = (v * variance) / (v - variance);
	b.observe([l], [1], m + ((mean - m) * (v + w)) / v, w);
}

/** Learns that factor b is `ratio` times factor a, with that variance. */
export function learnRatio(belief: Belief, a: number, b: number, ratio: number, variance: number): void {
	belief.observe([b, a], [1, -ratio], 0, variance);
}

/** Tank a's grain goes into the sum that stands in tank b, but for N(mean, variance) of its own, which it keeps. */
export function poolIn(belief: Belief, a: number, b: number, mean: number, variance: number): void {
	const A = levelOf(belief, a);
	const B = levelOf(belief, b);
	belief.mix(B, 1, [A], [1]);
	belief.set(A, mean, variance);
	belief.mix(B, 1, [A], [-1]);
}
