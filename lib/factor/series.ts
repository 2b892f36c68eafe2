import { cholesky } from '../stats/index.ts';

/** The weights of one combine alone, in order of time, with the covariance of their errors. */
export interface Series {
	n: number;
	/** Index of each in the system's weighings. */
	row: number[];
	/** Reference mass less the rests expected, kg. */
	y: Float64Array;
	account_kg: Float64Array;
	/** Account mass × (flow less its mean), summed over each: what a flow curve's slope acts on. */
	flow_kg: Float64Array;
	/** Mass-weighted mean time of each. */
	time_s: Float64Array;
	/** Moments at which a step may fall, and the account mass of each weight that came after: one row a moment. */
	moments_s: Float64Array;
	after_kg: Float64Array[];
	/** Fill in which each moment lies. */
	fill: Int32Array;
}

/**
 * Fills left out together: slow errors make neighbours alike, and one alone would be predicted by its neighbour. Of fewer
 * than eight, two would too often be all there is on one side of a step.
 */
export function blockSize(n: number): number {
	return n < 8 ? 1 : n < 12 ? 2 : 3;
}

/**
 * How well a linear model predicts left-out blocks of consecutive weights, all errors' covariance V minded: with
 * Q = V⁻¹ − V⁻¹X (XᵀV⁻¹X)⁻¹ XᵀV⁻¹ the error of predicting block B from all others is Q_BB⁻¹ (Q y)_B, and its covariance
 * Q_BB⁻¹. Rests in the tank and shared readings, which make one weight high and the next low, are so no scatter.
 */
export class Predictor {
	readonly #n: number;
	readonly #Q: Float64Array;
	readonly #blocks: { from: number; to: number; inverse: Float64Array }[];

	/** @param W inverse of V; @param columns of X */
	constructor(W: Float64Array, n: number, columns: readonly Float64Array[]) {
		this.#n = n;
		this.#Q = annihilator(W, n, columns);
		this.#blocks = [];
		const size = blockSize(n);
		// Two sets of blocks, shifted by half a block.
		for (const shift of [0, Math.floor(size / 2)]) {
			for (let from = shift; from + Math.min(2, size) <= n; from += size) {
				const to = Math.min(n, from + size);
				const inverse = invert(this.#Q, n, from, to);
				if (inverse) this.#blocks.push({ from, to, inverse });
			}
		}
	}

	/** Mean squared standardised error of the left-out blocks. */
	score(y: Float64Array): number {
		const n = this.#n;
		const q = new Float64Array(n);
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) q[i]! += this.#Q[i * n + j]! * y[j]!;
		let sum = 0;
		let count = 0;
		for (const { from, to, inverse } of this.#blocks) {
			const b = to - from;
			for (let i = 0; i < b; i++) for (let j = 0; j < b; j++) sum += q[from + i]! * inverse[i * b + j]! * q[from + j]!;
			count += b;
		}
		return sum / Math.max(1, count);
	}

	/** Q x / √(xᵀQ x): its product with y, squared, is what one more column x would take off `left`. Zero where nothing. */
	direction(x: Float64Array): Float64Array {
		const n = this.#n;
		const u = new Float64Array(n);
		let d = 0;
		let size = 0;
		for (let i = 0; i < n; i++) {
			for (let j = 0; j < n; j++) u[i]! += this.#Q[i * n + j]! * x[j]!;
			d += u[i]! * x[i]!;
			size += Math.abs(this.#Q[i * n + i]!) * x[i]! ** 2;
		}
		if (!(d > 1e-9 * size)) return new Float64Array(n);
		return u.map((v) => v / Math.sqrt(d));
	}

	/**
	 * Root mean square over left-out blocks of the error in the block's mass, relative to `mass`. A block whose mass is known
	 * no better (a rest that nobody reckoned) weighs the less, by its variance under V.
	 */
	relative(y: Float64Array, mass: Float64Array, V: Float64Array): number {
		const n = this.#n;
		const q = new Float64Array(n);
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) q[i]! += this.#Q[i * n + j]! * y[j]!;
		let squares = 0;
		let weights = 0;
		for (const { from, to, inverse } of this.#blocks) {
			const b = to - from;
			let error = 0;
			let of = 0;
			let variance = 0;
			for (let i = 0; i < b; i++) {
				of += mass[from + i]!;
				for (let j = 0; j < b; j++) error += inverse[i * b + j]! * q[from + j]!;
				for (let j = 0; j < b; j++) variance += V[(from + i) * n + from + j]!;
			}
			// Weight (mass² / variance) × squared relative error.
			squares += error ** 2 / variance;
			weights += of ** 2 / variance;
		}
		return Math.sqrt(squares / (weights || 1));
	}

	/** What each weight left out would take off `left`. */
	singles(y: Float64Array): Float64Array {
		const n = this.#n;
		return Float64Array.from({ length: n }, (_, i) => {
			let q = 0;
			for (let j = 0; j < n; j++) q += this.#Q[i * n + j]! * y[j]!;
			const own = this.#Q[i * n + i]!;
			return own > 0 ? (q * q) / own : 0;
		});
	}

	/** yᵀ Q y: what the model leaves unexplained of all weights. */
	left(y: Float64Array): number {
		const n = this.#n;
		let sum = 0;
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) sum += y[i]! * this.#Q[i * n + j]! * y[j]!;
		return sum;
	}
}

function annihilator(W: Float64Array, n: number, columns: readonly Float64Array[]): Float64Array {
	// One column after another: Q ← Q − (Q x)(Q x)ᵀ / xᵀQ x.
	const Q = W.slice();
	for (const x of columns) {
		const u = new Float64Array(n);
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) u[i]! += Q[i * n + j]! * x[j]!;
		let d = 0;
		let size = 0;
		for (let i = 0; i < n; i++) {
			d += u[i]! * x[i]!;
			size += x[i]! * x[i]! * W[i * n + i]!;
		}
		// A column that the others already make up takes nothing more away.
		if (!(d > 1e-9 * size)) continue;
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) Q[i * n + j]! -= (u[i]! * u[j]!) / d;
	}
	return Q;
}

/** Inverse of the block Q[from..to), or null where the others do not tell it. */
function invert(Q: Float64Array, n: number, from: number, to: number): Float64Array | null {
	const b = to - from;
	const block = new Float64Array(b * b);
	for (let i = 0; i < b; i++) for (let j = 0; j < b; j++) block[i * b + j] = Q[(from + i) * n + from + j]!;
	// Near-singular: without the block the coefficients cannot be had (a step's whole side left out).
	for (let i = 0; i < b; i++) if (!(block[i * b + i]! > 0)) return null;
	try {
		return inverse(block, b);
	} catch {
		return null;
	}
}

/** Inverse of a symmetric positive definite matrix. */
export function inverse(V: Float64Array, n: number): Float64Array {
	const L = cholesky(V, n);
	const out = new Float64Array(n * n);
	for (let c = 0; c < n; c++) {
		const x = new Float64Array(n);
		for (let i = c; i < n; i++) {
			let sum = i === c ? 1 : 0;
			for (let k = c; k < i; k++) sum -= L[i * n + k]! * x[k]!;
			x[i] = sum / L[i * n + i]!;
		}
		for (let i = n - 1; i >= 0; i--) {
			let sum = x[i]!;
			for (let k = i + 1; k < n; k++) sum -= L[k * n + i]! * out[k * n + c]!;
			out[i * n + c] = sum / L[i * n + i]!;
		}
	}
	return out;
}
