import { firstFrom } from '../../stats/index.ts';
/** A few numbers kept in order; NaN is ignored. */
export class SortedWindow {
	readonly #values: Float64Array;
	length = 0;

	constructor(most: number) {
		this.#values = new Float64Array(most);
	}

	add(v: number): void {
		if (Number.isNaN(v)) return;
		const at = this.#place(v);
		this.#values.copyWithin(at + 1, at, this.length);
		this.#values[at] = v;
		this.length++;
	}

	remove(v: number): void {
		if (Number.isNaN(v)) return;
		const at = this.#place(v);
		this.#values.copyWithin(at, at + 1, this.length);
		this.length--;
	}

	median(): number {
		const half = this.length >> 1;
		const upper = this.#values[half]!;
		return this.length % 2 === 1 ? upper : (this.#values[half - 1]! + upper) / 2;
	}

	/** Value at share q (0…1) of the order; NaN when empty. */
	quantile(q: number): number {
		return this.length === 0 ? Number.NaN : this.#values[Math.round(q * (this.length - 1))]!;
	}

	/** First index whose value is not below v. */
	#place(v: number): number {
		return firstFrom(this.#values, v, 0, this.length);
	}
}
