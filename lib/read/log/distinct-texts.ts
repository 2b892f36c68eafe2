import type { Cells } from '../csv/cells.ts';

const decoder = new TextDecoder();

/** Numbers the different texts of a column, in the order of first appearance. Blank cells are −1. */
export class DistinctTexts {
	private last: Uint8Array = new Uint8Array(0);
	private lastIndex = -1;
	private readonly index = new Map<string, number>();

	/** `list` holds the texts by number; several files may share it. */
	constructor(readonly list: string[]) {
		for (const [i, word] of list.entries()) this.index.set(word, i);
	}

	/** Number of the text in a cell. Runs of the same text, the usual case, are recognized by their bytes. */
	read(cells: Cells, column: number): number {
		const s = cells.starts[column]!;
		const e = cells.ends[column]!;
		if (s === e) return -1;
		const { last } = this;
		if (last.length === e - s) {
			let p = 0;
			while (p < last.length && last[p] === cells.bytes[s + p]) p++;
			if (p === last.length) return this.lastIndex;
		}
		this.last = cells.bytes.slice(s, e);
		this.lastIndex = this.of(decoder.decode(this.last));
		return this.lastIndex;
	}

	/** Number of a text. */
	of(text: string): number {
		const word = text.trim();
		if (word === '') return -1;
		let index = this.index.get(word);
		if (index === undefined) {
			index = this.list.length;
			this.list.push(word);
			this.index.set(word, index);
		}
		return index;
	}
}
