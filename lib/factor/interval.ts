import type { Reference } from '../model/index.ts';
import { effectiveFreedom, halfWidth, type Part, tQuantile } from '../stats/index.ts';
import type { Segment, Timeline } from './segments.ts';
import { overlap } from './slow.ts';
import type { Extra, Scatter, Solution } from './solve.ts';
import { type System, slowCovariance } from './system.ts';

/** Variances of a factor by where they come from, in units of the factor squared; `cart` is a sensitivity. */
export interface Shares {
	readings: number;
	rests: number;
	slow: number;
	seam: number;
	curve: number;
	/** Change of the factor per unit of the cart's ratio. */
	cart: number;
	seamDf: number;
}

/** Variance shares of a linear functional f of the coefficients, less the slow error of a target mass where given. */
export function sharesOf(
	system: System,
	slow: Float64Array,
	scatter: Scatter,
	extras: readonly Extra[],
	solution: Solution,
	f: readonly number[],
	g: readonly number[] = f,
): Shares {
	const n = system.weighings.length;
	const h = weights(solution, f);
	const e = f === g ? h : weights(solution, g);
	const out: Shares = { readings: 0, rests: 0, slow: 0, seam: 0, curve: 0, cart: 0, seamDf: 0 };
	for (let i = 0; i < n; i++) {
		for (let j = 0; j < n; j++) {
			const w = h[i]! * e[j]!;
			out.readings += w * system.reading[i * n + j]!;
			out.rests += w * scatter.rests * system.rest[i * n + j]!;
			out.slow += w * scatter.sigma ** 2 * slow[i * n + j]!;
		}
		out.readings += h[i]! * e[i]! * system.own[i]!;
		out.cart += h[i]! * system.cart[i]!;
	}
	let below = 0;
	extras.forEach((x, k) => {
		const v = h[n + k]! * e[n + k]! * x.variance;
		if (x.kind === 'seam') {
			out.seam += v;
			below += (v * v) / x.df;
		} else out.curve += v;
	});
	out.seamDf = below > 0 ? out.seam ** 2 / below : Number.POSITIVE_INFINITY;
	return out;
}

/** How each equation moves f · beta. */
export function weights(solution: Solution, f: readonly number[]): Float64Array {
	const h = new Float64Array(solution.N);
	f.forEach((v, j) => {
		if (v !== 0) for (let i = 0; i < solution.N; i++) h[i]! += v * solution.H[j * solution.N + i]!;
	});
	return h;
}

/**
 * Slow variance of "found less true" for a combine's whole field: what was weighed carries its slow error into both, and
 * only the share that was not weighed is left.
 */
export function fieldSlow(
	system: System,
	time: Timeline,
	rough: readonly number[],
	scatter: Scatter,
	solution: Solution,
	f: readonly number[],
	combine: number,
	shares: Shares,
): number {
	const whole = time.segments.map((_, s) => s).filter((s) => time.segments[s]!.combine === combine);
	const M = time.account_kg[combine]!;
	if (!(M > 0)) return shares.slow;
	const h = weights(solution, f);
	let cross = 0;
	system.covers.forEach((covers, i) => {
		if (h[i] !== 0) cross += h[i]! * slowCovariance(time.segments, covers, whole, rough);
	});
	const own = slowCovariance(time.segments, whole, whole, rough);
	return Math.max(0, shares.slow + scatter.sigma ** 2 * (own / (M * M) - (2 * cross) / M));
}

/** What is left of a slow error of 1 in the mean of one fill: the average over a combine's fills. */
export function fillShare(segments: readonly Segment[], combine: number): number {
	const own = segments.filter((s) => s.combine === combine && s.account_kg > 0);
	if (own.length === 0) return 1;
	return own.reduce((sum, s) => sum + overlap(s, s, 1500), 0) / own.length;
}

/** The cart scale's relative uncertainty: the estimated part and the rectangular limits. */
export function referenceParts(reference: Reference): { u: number; df: number; half: number } {
	const half = reference.limit_rel;
	const u = Math.sqrt(Math.max(0, reference.u_rel ** 2 - half ** 2 / 3));
	return { u: u > 1e-9 ? u : 0, df: half > 0 ? freedom(reference.df) : referenceFreedom(reference), half };
}

function freedom(df: number): number {
	return df > 0 ? df : Number.POSITIVE_INFINITY;
}

/**
 * Degrees of freedom of the reference's whole uncertainty, its certified part included, which has none to count: read off
 * its own interval, half of which is t(0.975; df) × u.
 */
function referenceFreedom(reference: Reference): number {
	const t = (reference.interval[1] - reference.interval[0]) / (2 * reference.ratio * reference.u_rel);
	if (!(t > 0) || !Number.isFinite(t)) return freedom(reference.df);
	let low = 1;
	let high = 1e6;
	if (t <= tQuantile(0.975, high)) return Number.POSITIVE_INFINITY;
	for (let i = 0; i < 60; i++) {
		const middle = Math.sqrt(low * high);
		if (tQuantile(0.975, middle) > t) low = middle;
		else high = middle;
	}
	return high;
}

/** Readings and rests are judged, not counted: what such a judgement is worth (JCGM 100, G.4.2: good to 16 %). */
const JUDGED_DF = 20;

/** Standard uncertainty and half-width of the 95 % interval of a factor. */
export function spreadOf(
	shares: Shares,
	slow: number,
	scatterDf: number,
	reference: Reference,
	seed: number,
): { u: number; half: number; df: number } {
	const ref = referenceParts(reference);
	const parts = [
		{ u: Math.sqrt(Math.max(0, shares.readings)), df: JUDGED_DF },
		{ u: Math.sqrt(Math.max(0, shares.rests)), df: Math.min(JUDGED_DF, scatterDf) },
		{ u: Math.sqrt(Math.max(0, slow)), df: scatterDf },
		{ u: Math.sqrt(Math.max(0, shares.seam)), df: shares.seamDf },
		{ u: Math.sqrt(Math.max(0, shares.curve)), df: JUDGED_DF },
		{ u: Math.abs(shares.cart) * ref.u, df: ref.df },
	];
	const u = Math.hypot(...parts.map((p) => p.u));
	const df = effectiveFreedom(
		parts.map((p) => p.u),
		parts.map((p) => p.df),
	);
	const rectangle = Math.abs(shares.cart) * ref.half;
	const list: Part[] = [{ kind: 't', u, df: Math.max(1, df) }];
	if (rectangle > 0) list.push({ kind: 'rectangular', half: rectangle });
	return { u: Math.hypot(u, rectangle / Math.sqrt(3)), half: halfWidth(list, 0.95, 20_000, seed), df };
}
