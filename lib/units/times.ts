/** Times for people: in the field's time zone, in American form. Files use UTC. */
export class FieldClock {
	/** IANA name of the zone, shown once beside any table of times. */
	readonly zone: string;
	private readonly formats: Record<'day' | 'minute' | 'second', Intl.DateTimeFormat>;

	constructor(timeZone: string | null) {
		this.zone = timeZone ?? 'UTC';
		const common = { timeZone: this.zone } as const;
		const clock = { ...common, hour: 'numeric', minute: '2-digit', hour12: true } as const;
		this.formats = {
			day: new Intl.DateTimeFormat('en-US', { ...common, month: 'short', day: 'numeric' }),
			minute: new Intl.DateTimeFormat('en-US', clock),
			second: new Intl.DateTimeFormat('en-US', { ...clock, second: '2-digit' }),
		};
	}

	/** "Oct 14"; "–" for no time. */
	day(time_s: number): string {
		return this.of('day', time_s);
	}

	/** "10:30 AM". */
	minute(time_s: number): string {
		return this.of('minute', time_s);
	}

	/** "10:30:05 AM". */
	second(time_s: number): string {
		return this.of('second', time_s);
	}

	/** "Oct 14, 10:30 AM". */
	dayAndMinute(time_s: number): string {
		return Number.isFinite(time_s) ? `${this.day(time_s)}, ${this.minute(time_s)}` : '–';
	}

	/** "Oct 14" for times on one day, "Oct 14 to Oct 16" for several; '' for no time at all. */
	days(times_s: readonly number[]): string {
		const known = times_s.filter(Number.isFinite);
		if (known.length === 0) return '';
		const [first, last] = [this.day(Math.min(...known)), this.day(Math.max(...known))];
		return first === last ? first : `${first} to ${last}`;
	}

	private of(format: 'day' | 'minute' | 'second', time_s: number): string {
		// Some versions of the locale data put a narrow no-break space before AM and PM; output must not depend on that.
		return Number.isFinite(time_s) ? this.formats[format].format(time_s * 1000).replace(/\s/g, ' ') : '–';
	}
}

/** Seconds since 1970 of an ISO 8601 text; NaN for null. */
export const secondsOf = (iso: string | null): number => (iso === null ? Number.NaN : Date.parse(iso) / 1000);

/** Seconds since 1970 as ISO 8601 in UTC, with milliseconds only where there are any. */
export const utcText = (time_s: number): string =>
	new Date(Math.round(time_s * 1000)).toISOString().replace('.000Z', 'Z');
