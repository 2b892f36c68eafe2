import { gls } from '../stats/index.ts';
import { restMatrix, type System } from './system.ts';

/** An equation beside the weighings: what seams, a flow curve or a pin say of the coefficients. */
export interface Extra {
	kind: 'seam' | 'curve' | 'prior';
	row: number[];
	y: number;
	variance: number;
	df: number;
}

/** Sizes of the errors: what is estimated from the scatter of the weights. */
export interface Scatter {
	/** The sensor's slow error, relative standard deviation. */
	sigma: number;
	/** Factor on the variance of rests and timing. */
	rests: number;
}

/** The coefficients and how each equation moves them. */
export interface Solution {
	beta: Float64Array;
	/** beta = H · (y, extras); row-major p × N. */
	H: Float64Array;
	N: number;
	/** Residuals of the weighings, kg. */
	residuals: Float64Array;
}

/** The whole covariance of a system's errors. */
export function errorCovariance(
	system: System,
	slow: Float64Array,
	scatter: Scatter,
	extras: readonly Extra[],
	uRatio: number,
): Float64Array {
	const n = system.weighings.length;
	const N = n + extras.length;
	const V = new Float64Array(N * N);
	for (let i = 0; i < n; i++) {
		for (let j = 0; j < n; j++) {
			V[i * N + j] =
				system.reading[i * n + j]! +
				scatter.rests * system.rest[i * n + j]! +
				scatter.sigma ** 2 * slow[i * n + j]! +
				uRatio ** 2 * system.cart[i]! * system.cart[j]! +
				(i === j ? system.own[i]! : 0);
		}
	}
	extras.forEach((e, k) => {
		V[(n + k) * N + n + k] = e.variance;
	});
	return V;
}

/**
 * Solves all weighings and extras together (generalised least squares), then moves the coefficients the least way, in
 * the metric of their covariance, so that corrected mass equals reference mass over the used fills: of each combine
 * where its weights are its own, of all that share weights together.
 */
export function solve(
	system: System,
	slow: Float64Array,
	scatter: Scatter,
	extras: readonly Extra[],
	/** Relative uncertainty of the cart's ratio; 0 where every weight hangs on it and it cancels in the shares. */
	uRatio: number,
	/** Groups of weighings whose sums must close. */
	groups: readonly (readonly number[])[],
): Solution {
	const n = system.weighings.length;
	const N = n + extras.length;
	const p = system.p;
	const rows = [...system.A, ...extras.map((e) => e.row)];
	const y = Float64Array.from([...system.y, ...extras.map((e) => e.y)]);
	const V = errorCovariance(system, slow, scatter, extras, uRatio);
	const fit = gls(rows, y, V);
	let H = fit.map;
	if (groups.length > 0) H = closing(system, scatter, uRatio, groups, rows, V, fit.map, fit.covariance, N);
	const beta = new Float64Array(p);
	for (let j = 0; j < p; j++) for (let i = 0; i < N; i++) beta[j]! += H[j * N + i]! * y[i]!;
	const residuals = Float64Array.from(
		system.A,
		(row, i) => system.y[i]! - row.reduce((s, v, j) => s + v * beta[j]!, 0),
	);
	return { beta, H, N, residuals };
}

/** A rest known no better than this may have stayed behind, kg. */
const STAYED_KG = 150;

/**
 * H after the closing. What the weights themselves tell of the rests and of the cart's ratio is taken out of the sums
 * first: h = C (I − U V⁻¹ (I − A H0)) y, U the covariance of rests and ratio; then β = H0 y + W Gᵀ (G W Gᵀ)⁻¹ (h − G H0 y)
 * with G = C A.
 */
function closing(
	system: System,
	scatter: Scatter,
	uRatio: number,
	groups: readonly (readonly number[])[],
	rows: readonly (readonly number[])[],
	V: Float64Array,
	H0: Float64Array,
	W: Float64Array,
	N: number,
): Float64Array {
	const n = system.weighings.length;
	const p = system.p;
	const m = groups.length;
	const G = groups.map((g) => {
		const row = new Array<number>(p).fill(0);
		for (const i of g) for (let j = 0; j < p; j++) row[j]! += system.A[i]![j]!;
		return row;
	});
	// Tanks that were emptied are taken at their word: only grain that plainly stayed behind is kept out of the sums.
	const stayed = restMatrix(
		system.signs,
		system.stateVariance.map((v) => (v > STAYED_KG ** 2 ? scatter.rests * v : 0)),
	);
	// q = V⁻¹ U Cᵀ, column by column, then the row C − qᵀ (I − A H0) acts on y.
	const target = groups.map((g) => {
		const u = new Float64Array(N);
		for (const i of g) {
			for (let j = 0; j < n; j++) {
				u[j]! += stayed[i * n + j]! + uRatio ** 2 * system.cart[i]! * system.cart[j]!;
			}
		}
		const q = solveSymmetric(V, N, u);
		const qa = new Array<number>(p).fill(0);
		for (let i = 0; i < N; i++) for (let j = 0; j < p; j++) qa[j]! += q[i]! * rows[i]![j]!;
		const out = new Float64Array(N);
		for (let i = 0; i < N; i++) {
			let sum = -q[i]!;
			for (let j = 0; j < p; j++) sum += qa[j]! * H0[j * N + i]!;
			out[i] = sum;
		}
		for (const i of g) out[i]! += 1;
		return out;
	});
	const WG = G.map((g) => Float64Array.from({ length: p }, (_, i) => g.reduce((s, v, j) => s + W[i * p + j]! * v, 0)));
	const M = new Float64Array(m * m);
	for (let a = 0; a < m; a++)
		for (let b = 0; b < m; b++) M[a * m + b] = G[a]!.reduce((s, v, j) => s + v * WG[b]![j]!, 0);
	const H = H0.slice();
	for (let i = 0; i < N; i++) {
		const gap = Float64Array.from({ length: m }, (_, a) => {
			let sum = target[a]![i]!;
			for (let j = 0; j < p; j++) sum -= G[a]![j]! * H0[j * N + i]!;
			return sum;
		});
		const lambda = solveSymmetric(M, m, gap);
		for (let j = 0; j < p; j++) for (let a = 0; a < m; a++) H[j * N + i]! += WG[a]![j]! * lambda[a]!;
	}
	return H;
}

/** M x = b for a symmetric positive definite M, by Gauss elimination with pivots (M is small). */
function solveSymmetric(M: Float64Array, n: number, b: Float64Array): Float64Array {
	const a = M.slice();
	const x = b.slice();
	for (let c = 0; c < n; c++) {
		let pivot = c;
		for (let r = c + 1; r < n; r++) if (Math.abs(a[r * n + c]!) > Math.abs(a[pivot * n + c]!)) pivot = r;
		if (pivot !== c) {
			for (let k = 0; k < n; k++) [a[c * n + k], a[pivot * n + k]] = [a[pivot * n + k]!, a[c * n + k]!];
			[x[c], x[pivot]] = [x[pivot]!, x[c]!];
		}
		const d = a[c * n + c]!;
		if (d === 0) continue;
		for (let r = c + 1; r < n; r++) {
			const f = a[r * n + c]! / d;
			if (f === 0) continue;
			for (let k = c; k < n; k++) a[r * n + k]! -= f * a[c * n + k]!;
			x[r]! -= f * x[c]!;
		}
	}
	for (let r = n - 1; r >= 0; r--) {
		for (let k = r + 1; k < n; k++) x[r]! -= a[r * n + k]! * x[k]!;
		x[r] = a[r * n + r] === 0 ? 0 : x[r]! / a[r * n + r]!;
	}
	return x;
}
