/** A table as CSV. Cells are plain words and numbers here: none needs quotes. */
export function table(head: string[], rows: (string | number)[][]): string {
	return `${[head, ...rows].map((row) => row.join(',')).join('\n')}\n`;
}

/** UTC seconds as ISO 8601 with Z. */
export function utc(t_s: number, _zone: string, milliseconds: boolean): string {
	const text = new Date(Math.round(t_s * 1000)).toISOString();
	return milliseconds ? text : text.replace(/\.\d+Z$/, 'Z');
}

const formats = new Map<string, Intl.DateTimeFormat>();
const shifts = new Map<string, number>();

/** UTC seconds as the clock on the wall shows them in a time zone, without an offset. */
export function local(t_s: number, zone: string, milliseconds: boolean): string {
	// The zone's shift is looked up once an hour of the clock: the format is slow.
	const key = `${zone}/${Math.floor(t_s / 3600)}`;
	let shift = shifts.get(key);
	if (shift === undefined) {
		let format = formats.get(zone);
		if (!format) {
			format = new Intl.DateTimeFormat('en-GB', {
				timeZone: zone,
				year: 'numeric',
				month: '2-digit',
				day: '2-digit',
				hour: '2-digit',
				minute: '2-digit',
				second: '2-digit',
				hourCycle: 'h23',
			});
			formats.set(zone, format);
		}
		const hour = Math.floor(t_s / 3600) * 3600;
		const part = Object.fromEntries(format.formatToParts(hour * 1000).map((p) => [p.type, p.value]));
		const shown = Date.UTC(+part.year!, +part.month! - 1, +part.day!, +part.hour!, +part.minute!, +part.second!);
		shift = shown / 1000 - hour;
		shifts.set(key, shift);
	}
	return utc(t_s + shift, zone, milliseconds).replace('Z', '');
}
