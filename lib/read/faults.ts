import { excerpt, type SetAside } from '../model/index.ts';

/** A larger share of invalid rows in a file stops the run. */
const MOST = 1 / 5;
/** Faults listed one by one of a file that stops the run; beyond it only their number is given. */
const LISTED = 10_000;

/** Collects the errors of one table: rows set aside, and errors that stop the run. */
export class FileFaults {
	/** Rows, cells or whole items not used; the run continues. */
	readonly aside: SetAside[] = [];
	/** Errors of the file as a whole. */
	readonly stop: SetAside[] = [];
	private rowsAtFault = 0;
	private lastRow = -1;

	constructor(readonly file: string) {}

	/** A cell that makes its row unusable. Several in one row count as one row. */
	row(row: number, column: string | null, found: string, why: string): void {
		if (row !== this.lastRow) this.rowsAtFault++;
		this.lastRow = row;
		this.aside.push({ file: this.file, row, column, found: excerpt(found), why });
	}

	/** A row that is not used although nothing is wrong with it. */
	unused(row: number, column: string, found: string, why: string): void {
		this.aside.push({ file: this.file, row, column, found: excerpt(found), why });
	}

	/** A cell that is not used although its row is. */
	cell(row: number, column: string, found: string, why: string): void {
		this.aside.push({
			file: this.file,
			row,
			column,
			found: excerpt(found),
			why: `${why}; the rest of the row is used`,
		});
	}

	/** An error that stops the run. */
	whole(row: number | null, column: string | null, found: string, why: string): void {
		this.stop.push({ file: this.file, row, column, found: excerpt(found), why });
	}

	get rows(): number {
		return this.rowsAtFault;
	}

	/** After all rows are read: too many invalid rows, or any with `strict`, stop the run and are all listed. */
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
