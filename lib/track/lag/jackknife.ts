/**
 * Uncertainty of parameters estimated together by minimizing a mismatch. Two combines that meet only each other
 * determine the sum of their lags better than either lag, so the minimum along each parameter alone would understate
 * its uncertainty.
 *
 * The mismatch is a mean over folds. With the Hessian H at the minimum and the gradient gₖ without fold k, leaving that
 * fold out moves the parameters by −H⁻¹ gₖ (one Newton step). Jackknife over folds: Efron and Stein 1981.
 */
import { CholeskyDecomposition, EigenvalueDecomposition, Matrix } from 'ml-matrix';

export interface Folds {
	/** Mismatch summed, and how many, by fold. */
	sum: Float64Array;
	count: Float64Array;
}

/** Largest ratio of curvatures (100 = ten times as wide) for a minimum to be determined. */
const FLAT = 0.01;

/**
 * @param foldsAt - mismatches at given parameters
 * @param at - estimates; unchanged on return
 * @param step - by parameter, step for numerical derivatives
 * @param coupled - true where two parameters affect a common pair
 * @returns standard uncertainties; null where the minimum is not determined
 */
export function jointUncertainty(
	foldsAt: (at: number[]) => Folds,
	at: number[],
	step: number[],
	coupled: (i: number, j: number) => boolean,
): number[] | null {
	const n = at.length;
	const { sum: here } = foldsAt(at);
	const folds = here.length;
	// Passes that all read alike do not determine a lag, nor does an odd one among them.
	if (here.filter((v) => v > 0).length < folds / 2) return null;
	/** Mean mismatch without each fold in turn, and over all folds (last). */
	const means = (moved: number[]): number[] => {
		const { sum, count } = foldsAt(moved);
		const all = sum.reduce((s, v) => s + v, 0);
		const number = count.reduce((s, v) => s + v, 0);
		return [...Array.from(sum, (s, k) => (all - s) / (number - count[k]!)), all / number];
	};
	const moved = (...by: [number, number][]) => {
		const out = at.slice();
		for (const [i, sign] of by) out[i]! += sign * step[i]!;
		return out;
	};
	const middle = means(at)[folds]!;
	const H = Matrix.zeros(n, n);
	const gradient = Matrix.zeros(n, folds);
	const up: number[] = [];
	const down: number[] = [];
	for (let i = 0; i < n; i++) {
		const above = means(moved([i, 1]));
		const below = means(moved([i, -1]));
		up.push(above[folds]!);
		down.push(below[folds]!);
		H.set(i, i, (above[folds]! - 2 * middle + below[folds]!) / step[i]! ** 2);
		for (let k = 0; k < folds; k++) gradient.set(i, k, (above[k]! - below[k]!) / (2 * step[i]!));
		for (let j = 0; j < i; j++) {
			if (!coupled(i, j)) continue;
			const both = means(moved([i, 1], [j, 1]))[folds]! + means(moved([i, -1], [j, -1]))[folds]!;
			const h = (both + 2 * middle - up[i]! - down[i]! - up[j]! - down[j]!) / (2 * step[i]! * step[j]!);
			H.set(i, j, h);
			H.set(j, i, h);
		}
	}
	// With too few pairs to leave a fold out there is no mean mismatch, and no uncertainty.
	if (![...H.to1DArray(), ...gradient.to1DArray()].every(Number.isFinite)) return null;
	const bends = new EigenvalueDecomposition(H, { assumeSymmetric: true }).realEigenvalues;
	if (!(Math.min(...bends) > FLAT * Math.max(...bends))) return null;
	const moves = new CholeskyDecomposition(H).solve(gradient);
	return at.map((_, i) => {
		const row = moves.getRow(i);
		const mean = row.reduce((s, v) => s + v, 0) / folds;
		return Math.sqrt((row.reduce((s, v) => s + (v - mean) ** 2, 0) * (folds - 1)) / folds);
	});
}
