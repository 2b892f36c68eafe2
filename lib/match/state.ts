import { restMoments } from './normal.ts';

/**
 * What is believed of C combines at some point of a reading: their factors and the grain in their tanks, jointly
 * normal. Index c is the factor of combine c, C + c its tank's level in kg of reference mass. A level is that of the
 * combine's latest unloading; it moves on only when the next one is looked at.
 */
export interface Belief {
	x: Float64Array;
	/** Covariance, row-major. */
	P: Float64Array;
}

export function copyBelief(b: Belief): Belief {
	return { x: b.x.slice(), P: b.P.slice() };
}

/** Lets the monitor's mass dM flow into combine c's tank; `noise` is the variance of what the monitor got wrong. */
export function flowIn({ x, P }: Belief, c: number, dM: number, noise: number): void {
	const D = x.length;
	const l = D / 2 + c;
	x[l]! += x[c]! * dM;
	for (let j = 0; j < D; j++) P[l * D + j]! += dM * P[c * D + j]!;
	for (let j = 0; j < D; j++) P[j * D + l]! += dM * P[j * D + c]!;
	P[l * D + l]! += noise;
}

/** Takes a known weight out of a tank. */
export function takeOut({ x, P }: Belief, c: number, kg: number, variance: number): void {
	const D = x.length;
	const l = D / 2 + c;
	x[l]! -= kg;
	P[l * D + l]! += variance;
}

/** Forgets what was known of a tank: its level is now this, on its own. */
export function setLevel({ x, P }: Belief, c: number, mean: number, variance: number): void {
	const D = x.length;
	const l = D / 2 + c;
	for (let j = 0; j < D; j++) P[l * D + j] = P[j * D + l] = 0;
	x[l] = mean;
	P[l * D + l] = variance;
}

/** Learns that tank c holds `value`, with that variance. */
export function learnLevel(b: Belief, c: number, value: number, variance: number): void {
	const D = b.x.length;
	const l = D / 2 + c;
	const S = b.P[l * D + l]! + variance;
	pull(b, l, (value - b.x[l]!) / S, 1 / S);
}

/** Learns that tank c holds something between nothing and much (see `restMoments`). */
export function learnRest(b: Belief, c: number, scale: number): void {
	const D = b.x.length;
	const l = D / 2 + c;
	const v = b.P[l * D + l]!;
	const { mean, variance } = restMoments(b.x[l]!, v, scale);
	pull(b, l, (mean - b.x[l]!) / v, (v - variance) / (v * v));
}

/** Learns that factor b is `ratio` times factor a, with that variance. */
export function learnRatio(belief: Belief, a: number, b: number, ratio: number, variance: number): void {
	const { x, P } = belief;
	const D = x.length;
	const g = new Float64Array(D);
	for (let j = 0; j < D; j++) g[j] = P[j * D + b]! - ratio * P[j * D + a]!;
	const S = g[b]! - ratio * g[a]! + variance;
	const miss = ratio * x[a]! - x[b]!;
	for (let i = 0; i < D; i++) {
		x[i]! += (g[i]! * miss) / S;
		for (let j = 0; j < D; j++) P[i * D + j]! -= (g[i]! * g[j]!) / S;
	}
}

/** Moves the whole belief along column l: the mean by `step` times it, the covariance down by `gain` times its square. */
function pull({ x, P }: Belief, l: number, step: number, gain: number): void {
	const D = x.length;
	const column = new Float64Array(D);
	for (let j = 0; j < D; j++) column[j] = P[j * D + l]!;
	for (let i = 0; i < D; i++) {
		x[i]! += column[i]! * step;
		const g = column[i]! * gain;
		if (g !== 0) for (let j = 0; j < D; j++) P[i * D + j]! -= g * column[j]!;
	}
}

/**
 * One weight of two tanks was taken out: both have flowed in, the weight is gone from their sum. Afterwards tank a
 * holds N(mean, variance) of its own and b what is left of the sum.
 */
export function shareOut(
	belief: Belief,
	a: number,
	b: number,
	kg: number,
	u2: number,
	mean: number,
	variance: number,
): void {
	const { x, P } = belief;
	const D = x.length;
	const A = D / 2 + a;
	const B = D / 2 + b;
	// b becomes the sum of both less the weight …
	x[B]! += x[A]! - kg;
	for (let j = 0; j < D; j++) P[B * D + j]! += P[A * D + j]!;
	for (let j = 0; j < D; j++) P[j * D + B]! += P[j * D + A]!;
	P[B * D + B]! += u2;
	// … a is forgotten and set anew, and what it holds is no longer b's.
	setLevel(belief, a, mean, variance);
	x[B]! -= mean;
	P[B * D + B]! += variance;
	P[A * D + B] = P[B * D + A] = -variance;
}
