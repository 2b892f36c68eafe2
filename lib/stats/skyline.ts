/**
 * A symmetric positive definite matrix of which each row is stored from its first entry on: bands, chains and an arrow
 * of full rows at the end cost what they hold, not n³.
 *
 * Source: A. Jennings, The Computer Journal 9:281, 1966 (a variable-band form of the Cholesky decomposition).
 */
export class Skyline {
	readonly n: number;
	/** First column of each row, and the row's entries from there to the diagonal. */
	readonly #first: Int32Array;
	readonly #rows: Float64Array[];

	constructor(n: number) {
		this.n = n;
		this.#first = Int32Array.from({ length: n }, (_, i) => i);
		this.#rows = Array.from({ length: n }, () => new Float64Array(1));
	}

	/** Adds to the entry in row i and column j ≤ i. */
	add(i: number, j: number, value: number): void {
		const first = this.#first[i]!;
		if (j < first) {
			const wider = new Float64Array(i - j + 1);
			wider.set(this.#rows[i]!, first - j);
			this.#rows[i] = wider;
			this.#first[i] = j;
		}
		this.#rows[i]![j - this.#first[i]!]! += value;
	}

	/** Puts the lower factor L of L·Lᵀ in the matrix's place. @throws RangeError where it is not positive definite */
	decompose(): void {
		for (let i = 0; i < this.n; i++) {
			const row = this.#rows[i]!;
			const from = this.#first[i]!;
			for (let j = from; j <= i; j++) {
				const other = this.#rows[j]!;
				const start = Math.max(from, this.#first[j]!);
				let sum = row[j - from]!;
				for (let k = start; k < j; k++) sum -= row[k - from]! * other[k - this.#first[j]!]!;
				if (j < i) row[j - from] = sum / other[j - this.#first[j]!]!;
				else if (sum > 0) row[j - from] = Math.sqrt(sum);
				else throw new RangeError(`row ${i} leaves nothing to take the root of`);
			}
		}
	}

	/** Solution of A x = b, after `decompose`. */
	solve(b: Float64Array): Float64Array {
		const x = this.#forward(b, 0);
		for (let i = this.n - 1; i >= 0; i--) {
			const row = this.#rows[i]!;
			const from = this.#first[i]!;
			x[i]! /= row[i - from]!;
			for (let k = from; k < i; k++) x[k]! -= row[k - from]! * x[i]!;
		}
		return x;
	}

	/** Square roots of the diagonal of the inverse, after `decompose`. */
	deviations(): Float64Array {
		const out = new Float64Array(this.n);
		const unit = new Float64Array(this.n);
		for (let j = 0; j < this.n; j++) {
			unit[j] = 1;
			const z = this.#forward(unit, j);
			unit[j] = 0;
			let sum = 0;
			for (let i = j; i < this.n; i++) sum += z[i]! * z[i]!;
			out[j] = Math.sqrt(sum);
		}
		return out;
	}

	/** L z = b, b being nothing before `start`. */
	#forward(b: Float64Array, start: number): Float64Array {
		const z = b.slice();
		for (let i = start; i < this.n; i++) {
			const row = this.#rows[i]!;
			const from = this.#first[i]!;
			let sum = z[i]!;
			for (let k = Math.max(from, start); k < i; k++) sum -= row[k - from]! * z[k]!;
			z[i] = sum / row[i - from]!;
		}
		return z;
	}
}
