/**
 * Effective degrees of freedom of a sum of independent parts: ν = u⁴ / Σ (u_i⁴ / ν_i).
 *
 * Source: JCGM 100:2008 (GUM), G.4.1, equation G.2b (Welch–Satterthwaite).
 *
 * @param u - standard uncertainties of the parts
 * @param df - their degrees of freedom; Infinity for parts known exactly
 * The example of G.4.1:
 *
 * @example
 * ```js
 * effectiveFreedom([0.25, 0.57, 0.82], [9, 4, 14]).toFixed(0); // → '19'
 * ```
 */
export function effectiveFreedom(u: ArrayLike<number>, df: ArrayLike<number>): number {
	let variance = 0;
	let below = 0;
	for (let i = 0; i < u.length; i++) {
		variance += u[i]! ** 2;
		if (u[i]! > 0 && Number.isFinite(df[i]!)) below += u[i]! ** 4 / df[i]!;
	}
	return below > 0 ? variance ** 2 / below : Infinity;
}
