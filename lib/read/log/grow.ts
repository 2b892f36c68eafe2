import { emptyRecords, type Records } from '../../model/index.ts';

type Column = {
	[K in keyof Records]-?: Records[K] extends ArrayLike<number> & ArrayBufferView ? K : never;
}[keyof Records];

/** Columns of Records with one value per record. */
const COLUMNS = Object.entries(emptyRecords(0)).flatMap(([name, of]) =>
	ArrayBuffer.isView(of) ? [name as Column] : [],
);

/** Room at the start, records. */
const ROOM = 1 << 14;

/** Records that grow: arrays longer than `records.n`, doubled when full. */
export class Growing {
	records: Records = { ...emptyRecords(ROOM), n: 0 };
	/** 1 for a record whose time was not given. */
	untimed = new Uint8Array(ROOM);
	private room = ROOM;

	/**
	 * Makes room for one more record; true if the arrays were replaced by longer ones. `share` of the file whose
	 * records start at `from` has been read, which predicts how many are to come, since copying takes time.
	 */
	fit(from: number, share: number): boolean {
		if (this.records.n < this.room) return false;
		const old = this.records;
		const expected = share > 0 ? from + ((old.n - from) / share) * 1.1 : 0;
		this.room = Math.ceil(Math.min(Math.max(this.room * 2, expected), this.room * 64));
		const wider = emptyRecords(this.room);
		for (const column of COLUMNS) (wider[column] as Float64Array).set(old[column] as Float64Array);
		this.records = { ...old, ...arraysOf(wider) };
		const untimed = new Uint8Array(this.room);
		untimed.set(this.untimed);
		this.untimed = untimed;
		return true;
	}

	/** Removes the records for which `drop` is true, from `from` on; the others keep their order. */
	drop(from: number, drop: (i: number) => boolean): void {
		const { records } = this;
		let kept = from;
		for (let i = from; i < records.n; i++) {
			if (drop(i)) continue;
			if (kept !== i) {
				for (const column of COLUMNS) records[column][kept] = records[column][i]!;
				this.untimed[kept] = this.untimed[i]!;
			}
			kept++;
		}
		records.n = kept;
	}

	/** The records in arrays of exactly their length. One after another, so that there are never two copies of all. */
	done(): Records {
		const { records } = this;
		const columns = records as unknown as Record<Column, Float64Array>;
		for (const column of COLUMNS) columns[column] = columns[column].slice(0, records.n);
		const untimed = this.untimed.slice(0, records.n);
		return untimed.includes(1) ? { ...records, untimed } : records;
	}
}

function arraysOf(records: Records): Partial<Records> {
	return Object.fromEntries(COLUMNS.map((column) => [column, records[column]]));
}
