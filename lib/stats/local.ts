/**
 * Local regression: at each asked-for place a line is fitted to the observations near it, weights falling with
 * distance (tricube).
 *
 * Source: W. S. Cleveland, JASA 74:829, 1979.
 *
 * @param at places where the curve is wanted
 * @param reach distance at which the weight reaches zero
 * @returns values at `at`; NaN where fewer than two observations lie within reach
 * @example localLine([0, 1, 2, 3], [1, 3, 5, 7], [1.5], 3) // [4]: a line is reproduced exactly
 */
export function localLine(
	x: ArrayLike<number>,
	y: ArrayLike<number>,
	at: ArrayLike<number>,
	reach: number,
	weight?: ArrayLike<number>,
): Float64Array {
	return Float64Array.from(at, (place) => {
		let sw = 0;
		let sx = 0;
		let sy = 0;
		let sxx = 0;
		let sxy = 0;
		let count = 0;
		for (let i = 0; i < x.length; i++) {
			const d = x[i]! - place;
			const far = Math.abs(d) / reach;
			if (!(far < 1) || !Number.isFinite(y[i]!)) continue;
			const w = (weight ? weight[i]! : 1) * (1 - far ** 3) ** 3;
			count++;
			sw += w;
			sx += w * d;
			sy += w * y[i]!;
			sxx += w * d * d;
			sxy += w * d * y[i]!;
		}
		if (count < 2 || !(sw > 0)) return Number.NaN;
		const det = sw * sxx - sx * sx;
		// All observations at one place: no slope can be had, and the mean stands.
		if (det <= 1e-12 * sw * sxx) return sy / sw;
		return (sxx * sy - sx * sxy) / det;
	});
}
