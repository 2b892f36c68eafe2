function hashOf(bits: Uint32Array): number {
	let hash = 0;
	for (let k = 0; k < bits.length; k++) hash = Math.imul(hash ^ bits[k]!, 0x9e3779b1) ^ (hash >>> 15);
	return hash ^ (hash >>> 16);
}

/**
 * Rows that may have the same numbers as another one: all that do, and a few by chance. A small table is enough to tell
 * apart nearly all of the others, for which an index would take several times as long.
 *
 * @param wanted - whether a row counts
 * @returns 1 by row
 */
export function alikeByHash(columns: readonly Float64Array[], wanted: (row: number) => boolean): Uint8Array {
	const n = columns[0]!.length;
	const words = new Float64Array(columns.length);
	const bits = new Uint32Array(words.buffer);
	let size = 1;
	while (size < 8 * n) size *= 2;
	const places = new Int32Array(n).fill(-1);
	/** Rows at each place of the table: none, one or more. */
	const rows = new Uint8Array(size);
	for (let row = 0; row < n; row++) {
		if (!wanted(row)) continue;
		for (let k = 0; k < columns.length; k++) words[k] = columns[k]![row]!;
		const place = hashOf(bits) & (size - 1);
		places[row] = place;
		if (rows[place]! < 2) rows[place]!++;
	}
	const alike = new Uint8Array(n);
	for (let row = 0; row < n; row++) if (places[row]! >= 0 && rows[places[row]!] === 2) alike[row] = 1;
	return alike;
}

/** Rows by the numbers in some of their columns: finds the first row that has the same ones. */
export class RowIndex {
	private readonly slots: Int32Array;
	private readonly words: Float64Array;
	private readonly bits: Uint32Array;

	/** @param columns - of one length each; zero has one sign in them, and nothing equals a NaN */
	constructor(private readonly columns: readonly Float64Array[]) {
		let size = 1;
		while (size < 2 * columns[0]!.length) size *= 2;
		this.slots = new Int32Array(size).fill(-1);
		this.words = new Float64Array(columns.length);
		this.bits = new Uint32Array(this.words.buffer);
	}

	/** The first row with the same numbers among those looked up so far, this one included. */
	first(row: number): number {
		for (let k = 0; k < this.columns.length; k++) this.words[k] = this.columns[k]![row]!;
		const at = this.slot();
		if (this.slots[at]! < 0) this.slots[at] = row;
		return this.slots[at]!;
	}

	/** The first row with these numbers, one per column; −1 where there is none. */
	find(...numbers: number[]): number {
		this.words.set(numbers);
		return this.slots[this.slot()]!;
	}

	private slot(): number {
		const { slots, words, bits, columns } = this;
		const mask = slots.length - 1;
		let at = hashOf(bits) & mask;
		for (let row = slots[at]!; row >= 0; at = (at + 1) & mask, row = slots[at]!) {
			let same = true;
			for (let k = 0; k < columns.length && same; k++) same = columns[k]![row] === words[k];
			if (same) break;
		}
		return at;
	}
}
