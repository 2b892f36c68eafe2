/** The minimum of a curve known at equal steps. */

/** Minimum of a curve, interpolated by a least-squares parabola through five points. */
export function lowest(curve: { lag_s: number; mismatch: number }[]): { lag: number; score: number } | null {
	let k = -1;
	for (let q = 0; q < curve.length; q++) {
		const v = curve[q]!.mismatch;
		if (!Number.isNaN(v) && (k < 0 || v < curve[k]!.mismatch)) k = q;
	}
	if (k < 0) return null;
	const lag = curve[k]!.lag_s;
	const score = curve[k]!.mismatch;
	const at = (q: number) => curve[k + q]?.mismatch ?? Number.NaN;
	const step = curve.length > 1 ? curve[1]!.lag_s - curve[0]!.lag_s : 0;
	// Least squares over −2…2: slope and curvature.
	const slope = (2 * at(2) + at(1) - at(-1) - 2 * at(-2)) / 10;
	const bend = (2 * at(2) - at(1) - 2 * at(0) - at(-1) + 2 * at(-2)) / 7;
	if (bend > 0) return { lag: lag + Math.max(-1, Math.min(1, -slope / bend)) * step, score };
	const three = at(-1) - 2 * at(0) + at(1);
	if (three > 0) return { lag: lag + ((0.5 * (at(-1) - at(1))) / three) * step, score };
	return { lag, score };
}
