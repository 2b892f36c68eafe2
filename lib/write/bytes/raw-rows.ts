import { joined } from '../../formats/bytes.ts';

const LF = 10;
const CR = 13;
const QUOTE = 34;

/** Receives one row as it is in the file, without its line end. */
export type RawSink = (bytes: Uint8Array, start: number, end: number, line: number) => void;

/** Splits a CSV file into its unchanged rows; a line end inside quotes does not end a row. */
export class RawRows {
	private pending: Uint8Array = new Uint8Array(0);
	/** The file's line on which the next row starts. */
	private line = 1;
	private first = true;

	constructor(private readonly sink: RawSink) {}

	push(chunk: Uint8Array): void {
		let all = this.pending.length > 0 ? joined([this.pending, chunk]) : chunk;
		if (this.first && all.length >= 3) {
			this.first = false;
			if (all[0] === 0xef && all[1] === 0xbb && all[2] === 0xbf) all = all.subarray(3);
		}
		this.pending = all.slice(this.rows(all));
	}

	end(): void {
		if (this.pending.length > 0) this.row(this.pending, 0, this.pending.length);
		this.pending = new Uint8Array(0);
	}

	/** Passes on every complete row and returns where the first incomplete one starts. */
	private rows(all: Uint8Array): number {
		let start = 0;
		let quote = all.indexOf(QUOTE);
		for (;;) {
			let end = all.indexOf(LF, start);
			if (end < 0) return start;
			let breaks = 1;
			if (quote >= 0 && quote < end) {
				let open = false;
				let p = start;
				for (; p < all.length; p++) {
					if (all[p] === QUOTE) open = !open;
					else if (all[p] === LF) {
						if (!open) break;
						breaks++;
					}
				}
				if (p === all.length) return start;
				end = p;
				quote = all.indexOf(QUOTE, end);
			}
			this.row(all, start, end);
			this.line += breaks;
			start = end + 1;
		}
	}

	private row(bytes: Uint8Array, start: number, end: number): void {
		const last = end > start && bytes[end - 1] === CR ? end - 1 : end;
		this.sink(bytes, start, last, this.line);
	}
}

/** Where each cell of a row ends; the row's text stays as it is. */
export function cellEnds(bytes: Uint8Array, start: number, end: number, delimiter: number, ends: number[]): void {
	ends.length = 0;
	let open = false;
	for (let p = start; p < end; p++) {
		if (bytes[p] === QUOTE) open = !open;
		else if (bytes[p] === delimiter && !open) ends.push(p);
	}
	ends.push(end);
}
