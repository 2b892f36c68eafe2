import { emptyRecords, type Records } from '../../model/index.ts';
import { DistinctTexts } from './distinct-texts.ts';

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
	/** 1 for a record whose time was not given. */
	untimed: Uint8Array;
	private room: number;

	constructor(public records: Records = { ...emptyRecords(ROOM), n: 0 }) {
		this.room = records.time_s.length;
		this.untimed = records.untimed ?? new Uint8Array(this.room);
	}

	/**
	 * Makes room for one more record; true if the arrays were replaced by longer ones. `share` of the file has been read,
	 * which predicts how many are to come, since copying takes time.
	 */
	fit(share: number): boolean {
		if (this.records.n < this.room) return false;
		const old = this.records;
		const expected = share > 0 ? (old.n / share) * 1.1 : 0;
		this.room = Math.ceil(Math.min(Math.max(this.room * 2, expected), this.room * 64));
		const wider = emptyRecords(this.room);
		for (const column of COLUMNS) (wider[column] as Float64Array).set(old[column] as Float64Array);
		this.records = { ...old, ...arraysOf(wider) };
		const untimed = new Uint8Array(this.room);
		untimed.set(this.untimed);
		this.untimed = untimed;
		return true;
	}

	/** Removes the records for which `drop` is true; the others keep their order. */
	drop(drop: (i: number) => boolean): void {
		const { records } = this;
		let kept = 0;
		for (let i = 0; i < records.n; i++) {
			if (drop(i)) continue;
			if (kept !== i) {
				for (const column of COLUMNS) records[column][kept] = records[column][i]!;
				this.untimed[kept] = this.untimed[i]!;
			}
			kept++;
		}
		records.n = kept;
	}

	/** The records, still in longer arrays: `joinedRecords` cuts them. */
	done(): Records {
		const { records, untimed } = this;
		return untimed.subarray(0, records.n).includes(1) ? { ...records, untimed } : records;
	}
}

function arraysOf(records: Records): Partial<Records> {
	return Object.fromEntries(COLUMNS.map((column) => [column, records[column]]));
}

/**
 * The records of several logs one after another, in arrays of exactly their length, and their names numbered through. The
 * columns of each are given up, so that there are never two copies of all.
 */
export function joinedRecords(logs: readonly Records[]): Records {
	const n = logs.reduce((sum, log) => sum + log.n, 0);
	const all: Records = { ...emptyRecords(0), n };
	for (const [indices, names] of NAMED) {
		const texts = new DistinctTexts(all[names]);
		for (const log of logs) {
			const index = log[names].map((name) => texts.of(name));
			if (index.every((k, own) => k === own)) continue;
			const column = log[indices];
			for (let i = 0; i < log.n; i++) if (column[i]! >= 0) column[i] = index[column[i]!]!;
		}
	}
	for (const column of COLUMNS) {
		const Kind = all[column].constructor as Float64ArrayConstructor;
		const whole = new Kind(n);
		let at = 0;
		for (const log of logs) {
			whole.set(log[column].subarray(0, log.n), at);
			at += log.n;
			(log as unknown as Record<Column, Float64Array>)[column] = new Kind(0);
		}
		(all as unknown as Record<Column, Float64Array>)[column] = whole;
	}
	if (logs.some((log) => log.untimed)) {
		all.untimed = new Uint8Array(n);
		let at = 0;
		for (const log of logs) {
			if (log.untimed) all.untimed.set(log.untimed.subarray(0, log.n), at);
			at += log.n;
		}
	}
	return all;
}

/** Columns of indices, and the names that they index. */
const NAMED = [
	['combine', 'combines'],
	['variety', 'varieties'],
	['load', 'loads'],
] as const;
