import { remembered } from '../model/index.ts';

const QUARTER_S = 900;

/** Local time of one IANA time zone, by the rules that Intl.DateTimeFormat carries. */
export class Zone {
	private readonly format: Intl.DateTimeFormat;
	private readonly offsets = new Map<number, number>();
	/** Cache of the last quarter hour of local time whose offset is unambiguous: most rows fall into it. */
	private plainQuarter = Number.NaN;
	private plainOffset_s = 0;
	/** Count of local times so far that occur twice, and the first of them as if it were UTC. */
	shownTwice = 0;
	firstShownTwice_s = Number.NaN;

	/** @throws RangeError for a name that is no IANA time zone. */
	constructor(readonly name: string) {
		this.format = new Intl.DateTimeFormat('en-US', {
			timeZone: name,
			hourCycle: 'h23',
			year: 'numeric',
			month: 'numeric',
			day: 'numeric',
			hour: 'numeric',
			minute: 'numeric',
			second: 'numeric',
		});
	}

	/** Adds times that were counted elsewhere. */
	count({ shownTwice, firstShownTwice_s }: Pick<Zone, 'shownTwice' | 'firstShownTwice_s'>): void {
		if (this.shownTwice === 0) this.firstShownTwice_s = firstShownTwice_s;
		this.shownTwice += shownTwice;
	}

	/** Seconds that the zone's clock is ahead of UTC at a moment. Rules change on quarter hours of UTC only. */
	offset_s(utc_s: number): number {
		const quarter = Math.floor(utc_s / QUARTER_S);
		return remembered(this.offsets, quarter, () => this.ask(quarter * QUARTER_S));
	}

	private ask(utc_s: number): number {
		const part: Record<string, number> = {};
		for (const { type, value } of this.format.formatToParts(utc_s * 1000)) part[type] = Number(value);
		const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = part;
		return Date.UTC(year, month - 1, day, hour, minute, second) / 1000 - utc_s;
	}

	/**
	 * UTC seconds of a local time. Times in the hour skipped in spring use the offset before the change. Of an hour that
	 * occurs twice in fall the first is taken, unless it would be well before `after_s` (the previous row); then the second.
	 */
	utc_s(reading_s: number, after_s = Number.NaN): number {
		const quarter = Math.floor(reading_s / QUARTER_S);
		if (quarter === this.plainQuarter) return reading_s - this.plainOffset_s;
		const before = this.offset_s(reading_s - 86_400);
		const after = this.offset_s(reading_s + 86_400);
		if (before === after) {
			this.plainQuarter = quarter;
			this.plainOffset_s = before;
			return reading_s - before;
		}
		const first = reading_s - Math.max(before, after);
		const second = reading_s - Math.min(before, after);
		const firstShown = this.offset_s(first) === Math.max(before, after);
		const secondShown = this.offset_s(second) === Math.min(before, after);
		if (firstShown && secondShown) {
			if (this.shownTwice++ === 0) this.firstShownTwice_s = reading_s;
			return first < after_s - 1800 ? second : first;
		}
		if (firstShown) return first;
		if (secondShown) return second;
		return reading_s - before;
	}
}
