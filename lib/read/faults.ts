import type { SetAside } from '../model/index.ts';

/** More than this share of a file's rows at fault stops the run. */
const MOST = 1 / 5;
/** Faults told of one file that stops the run; beyond it their number says enough. */
const LISTED = 10_000;

/** Collects what is wrong with one table: rows set aside, and what stops the run. */
export class FileFaults {
	/** Rows, cells or whole things not used; the run goes on. */
	readonly aside: SetAside[] = [];
	/** The file is at fault. */
	readonly stop: SetAside[] = [];
	private rowsAtFault = 0;
	private lastRow = -1;

	constructor(readonly file: string) {}

	/** A cell that makes its row unusable. Several of one row count as one row. */
	row(row: number, column: string | null, found: string, why: string): void {
		if (row !== this.lastRow) this.rowsAtFault++;
		this.lastRow = row;
		this.aside.push({ file: this.file, row, column, found: shorten(found), why });
	}

	/** A cell that is not used while its row is. */
	cell(row: number, column: string, found: string, why: string): void {
		this.aside.push({
			file: this.file,
			row,
			column,
			found: shorten(found),
			why: `${why}; the rest of the row is used`,
		});
	}

	/** The file stops the run. */
	whole(row: number | null, column: string | null, found: string, why: string): void {
		this.stop.push({ file: this.file, row, column, found: shorten(found), why });
	}

	get rows(): number {
		return this.rowsAtFault;
	}

	/** When all rows are read: too many at fault, or any with `strict`, stop the run, every one of them told. */
	close(rows: number, strict: boolean): void {
		const tooMany = this.rowsAtFault > rows * MOST;
		if (!(tooMany || (strict && this.aside.length > 0))) return;
		if (tooMany) {
			this.whole(
				null,
				null,
				`${this.rowsAtFault} of ${rows} rows have errors`,
				'more than a fifth of the rows have errors',
			);
		}
		for (const fault of this.aside.slice(0, LISTED)) this.stop.push(fault);
		if (this.aside.length > LISTED) {
			this.whole(null, null, `${this.aside.length - LISTED} more`, 'further rows with the same errors');
		}
		this.aside.length = 0;
	}
}

function shorten(text: string): string {
	return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
