import { quantile } from './median.ts';
import { seeded } from './random.ts';
import { tQuantile } from './student.ts';

/** A component of an uncertainty. */
export type Part =
	/** Estimated from data: a scaled t with `df` degrees of freedom (Infinity: normal). */
	| { kind: 't'; u: number; df: number }
	/** A rectangular distribution within ± `half`. */
	| { kind: 'rectangular'; half: number };

/**
 * Half-width of the symmetric interval that holds the sum of independent parts, each about zero.
 *
 * A single part is solved exactly. Several are simulated (JCGM 101:2008, 7.2 to 7.7, with a fixed seed), since k = 2
 * overstates a rectangle and understates a t with few degrees of freedom. Every part is symmetric, so the half-width
 * is a quantile of the absolute value.
 *
 * Source: JCGM 101:2008 (GUM Supplement 1); a t part as in its 6.4.9.
 *
 * k = 2 would give 1.155 here:
 *
 * @example
 * ```js
 * halfWidth([{ kind: 'rectangular', half: 1 }], 0.95); // → 0.95
 * ```
 */
export function halfWidth(parts: readonly Part[], level = 0.95, draws = 20_000, seed = 1): number {
	const live = parts.filter((p) => (p.kind === 't' ? p.u > 0 : p.half > 0));
	if (live.length === 0) return 0;
	const only = live.length === 1 ? live[0]! : null;
	if (only?.kind === 'rectangular') return level * only.half;
	if (only?.kind === 't') return tQuantile((1 + level) / 2, only.df) * only.u;
	const key = JSON.stringify([live, level, draws, seed]);
	let half = drawn.get(key);
	if (half === undefined) {
		half = drawHalf(live, level, draws, seed);
		if (drawn.size >= REMEMBERED) drawn.clear();
		drawn.set(key, half);
	}
	return half;
}

/** Results by arguments: the same parts give the same draws, and the tablet repeats the call after every dump. */
const drawn = new Map<string, number>();
const REMEMBERED = 2000;

function drawHalf(live: readonly Part[], level: number, draws: number, seed: number): number {
	const random = seeded(seed);
	const sums = new Float64Array(draws);
	for (const part of live) {
		for (let i = 0; i < draws; i++) {
			sums[i]! += part.kind === 't' ? part.u * random.t(part.df) : part.half * (2 * random.uniform() - 1);
		}
	}
	for (let i = 0; i < draws; i++) sums[i] = Math.abs(sums[i]!);
	return quantile(sums.sort(), level);
}
