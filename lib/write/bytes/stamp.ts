import type { ByteWriter } from './byte-writer.ts';

const DAY_S = 86_400;

/** Writes UTC seconds as ISO 8601 with Z, with milliseconds if there are any; writes nothing for a missing time. */
export class Stamp {
	private day = Number.NaN;
	private date: Uint8Array = new Uint8Array(0);

	write(writer: ByteWriter, time_s: number): void {
		if (!Number.isFinite(time_s)) return;
		const ms = Math.round(time_s * 1000);
		const day = Math.floor(ms / (DAY_S * 1000));
		if (day !== this.day) {
			this.day = day;
			this.date = new TextEncoder().encode(new Date(day * DAY_S * 1000).toISOString().slice(0, 11));
		}
		writer.raw(this.date);
		const rest = ms - day * DAY_S * 1000;
		const seconds = Math.floor(rest / 1000);
		writer.integer(Math.floor(seconds / 3600), 2);
		writer.code(58);
		writer.integer(Math.floor(seconds / 60) % 60, 2);
		writer.code(58);
		writer.integer(seconds % 60, 2);
		if (rest % 1000 !== 0) {
			writer.code(46);
			writer.integer(rest % 1000, 3);
		}
		writer.code(90);
	}
}
