import { parseNumber } from '../../formats/digits.ts';
import type { Zone } from '../../units/zone.ts';
import type { Cells } from '../csv/cells.ts';
import type { FileFaults } from '../faults.ts';
import type { Place } from '../plan/mapping.ts';
import { moment } from '../plan/plan.ts';
import { EARLIEST_S, LATEST_S, parseTime, type ReadTime } from './parse-time.ts';

/** Reads the times of one file: ISO 8601, or a number of units since a moment given in the mapping. */
export class Clock {
	readonly time: ReadTime = { reading_s: 0, offset_s: 0, grain: 'none' };
	private readonly factor_s: number;
	private readonly since_s: number;
	private readonly counts: boolean;
	private zoneMissed = false;
	private after_s = Number.NaN;

	constructor(
		private readonly place: Place,
		private readonly zone: Zone | null,
		private readonly decimalComma: boolean,
		private readonly faults: FileFaults,
	) {
		const { plan } = place;
		this.counts = plan?.since !== undefined || plan?.unit !== undefined;
		this.factor_s = place.factor;
		this.since_s = Number.NaN;
		if (!this.counts) return;
		if (plan?.since === undefined) {
			faults.whole(
				null,
				place.name,
				plan?.unit ?? '',
				'a time counted in a unit needs "since" in its mapping: the moment it counts from',
			);
			return;
		}
		this.since_s = moment(plan.since, zone, place.name, (column, found, why) =>
			faults.whole(null, column, String(found), `"since" in the mapping of time: ${why}`),
		);
	}

	/**
	 * The time in a cell as UTC seconds: NaN where the cell is blank. A cell without a valid time, or with an
	 * impossible year, makes its row invalid; then null. `time.grain` is its precision.
	 */
	read(cells: Cells, row: number, text: () => string): number | null {
		const s = cells.starts[this.place.index]!;
		const e = cells.ends[this.place.index]!;
		if (this.counts) return this.count(parseNumber(cells.bytes, s, e, this.decimalComma), row, text);
		const { time } = this;
		if (!parseTime(cells.bytes, s, e, time)) {
			if (text() === '') {
				time.grain = 'none';
				return Number.NaN;
			}
			this.faults.row(row, this.place.name, text(), 'not a time; expected one such as 2026-10-03T14:05:00Z');
			return null;
		}
		if (!this.possible(time.reading_s, row, text)) return null;
		if (!Number.isNaN(time.offset_s)) return time.reading_s - time.offset_s;
		if (this.zone === null) {
			if (!this.zoneMissed) {
				this.faults.whole(
					row,
					this.place.name,
					text(),
					'times here have no offset from UTC, and field.json has no "timeZone" (an IANA name such as "America/Chicago")',
				);
			}
			this.zoneMissed = true;
			return time.reading_s;
		}
		const utc_s = this.zone.utc_s(time.reading_s, this.after_s);
		this.after_s = utc_s;
		return utc_s;
	}

	private count(value: number, row: number, text: () => string): number | null {
		this.time.grain = 'second';
		if (Number.isNaN(value)) {
			this.time.grain = 'none';
			return value;
		}
		if (value === Infinity) {
			this.faults.row(row, this.place.name, text(), 'expected a number');
			return null;
		}
		const utc_s = this.since_s + value * this.factor_s;
		return Number.isNaN(utc_s) || this.possible(utc_s, row, text) ? utc_s : null;
	}

	private possible(utc_s: number, row: number, text: () => string): boolean {
		if (utc_s >= EARLIEST_S && utc_s < LATEST_S) return true;
		this.faults.row(row, this.place.name, text(), 'impossible year; expected 1990 to 2099');
		return false;
	}
}
