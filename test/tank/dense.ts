import { Matrix, pseudoInverse } from 'ml-matrix';

/**
 * The same joint normal in the plain way: every quantity as a row over independent standard noises, conditioned on all
 * observations at once by dense algebra. For tests of the filter, which does it one after another.
 */
export class Dense {
	readonly rows: Map<string, { mean: number; of: Map<number, number> }> = new Map();
	readonly seen: { of: Map<number, number>; mean: number; value: number }[] = [];
	#noises = 0;

	noise(variance: number): Map<number, number> {
		return new Map([[this.#noises++, Math.sqrt(variance)]]);
	}

	put(name: string, mean: number, parts: readonly [Map<number, number>, number][]): void {
		const of = new Map<number, number>();
		for (const [p, a] of parts) for (const [i, v] of p) of.set(i, (of.get(i) ?? 0) + a * v);
		this.rows.set(name, { mean, of });
	}

	observe(parts: readonly [string, number][], value: number, variance: number): void {
		const of = this.noise(variance);
		let mean = 0;
		for (const [name, a] of parts) {
			const row = this.rows.get(name)!;
			mean += a * row.mean;
			for (const [i, v] of row.of) of.set(i, (of.get(i) ?? 0) + a * v);
		}
		this.seen.push({ of, mean, value });
	}

	#cov(a: Map<number, number>, b: Map<number, number>): number {
		let sum = 0;
		for (const [i, v] of a) sum += v * (b.get(i) ?? 0);
		return sum;
	}

	/** Mean and variance of a row given all observations but those named, and −log density of all. */
	given(row: { mean: number; of: Map<number, number> }, without: readonly number[] = []) {
		const seen = this.seen.filter((_, i) => !without.includes(i));
		const V = new Matrix(seen.map((a) => seen.map((b) => this.#cov(a.of, b.of))));
		const W = pseudoInverse(V);
		const c = seen.map((s) => this.#cov(s.of, row.of));
		const e = seen.map((s) => s.value - s.mean);
		let mean = row.mean;
		let variance = this.#cov(row.of, row.of);
		for (let i = 0; i < seen.length; i++) {
			for (let j = 0; j < seen.length; j++) {
				mean += c[i]! * W.get(i, j) * e[j]!;
				variance -= c[i]! * W.get(i, j) * c[j]!;
			}
		}
		return { mean, variance };
	}

	logLikelihood(): number {
		// One after another, each given those before it.
		let sum = 0;
		this.seen.forEach((s, i) => {
			const later = this.seen.map((_, k) => k).filter((k) => k >= i);
			const { mean, variance } = i === 0 ? { mean: s.mean, variance: this.#cov(s.of, s.of) } : this.given(s, later);
			sum -= 0.5 * (Math.log(2 * Math.PI * variance) + (s.value - mean) ** 2 / variance);
		});
		return sum;
	}
}
