import { below, type Element } from '../xml/scan.ts';

/** Number formats of ECMA-376, 18.8.30, that show a day or a time of day. */
const BUILT_IN = new Set([14, 15, 16, 17, 18, 19, 20, 21, 22, 27, 30, 36, 45, 46, 47, 50, 57]);

/** Which cells of a workbook are days and times, and what they say in ISO 8601. */
export class DateForms {
	/** By cell style: is its number a day? */
	private readonly dates: boolean[] = [];

	/** @param styles - the workbook's styles; null where it has none */
	constructor(
		styles: Element | null,
		private readonly from1904: boolean,
	) {
		if (styles === null) return;
		const custom = new Map(
			[...below(styles, 'numFmt')].map((f) => [Number(f.attributes.numFmtId), f.attributes.formatCode ?? '']),
		);
		const [cells] = below(styles, 'cellXfs');
		for (const xf of cells?.children ?? []) {
			const id = Number(xf.attributes.numFmtId ?? 0);
			const code = custom.get(id);
			this.dates.push(code === undefined ? BUILT_IN.has(id) : showsDate(code));
		}
	}

	/** A number as a date, a time or both, local; null where its style shows a plain number. */
	textOf(value: number, style: number): string | null {
		if (!this.dates[style] || !Number.isFinite(value) || value < 0 || value > 2_958_466) return null;
		// Day 60 of the count from 1900 is a 29 February that never was: days before it are one further on.
		const day = this.from1904 ? value + 1462 : value < 60 ? value + 1 : value;
		const seconds = Math.round(day * 86_400 * 1000) / 1000;
		const moment = new Date((seconds - 25_569 * 86_400) * 1000).toISOString().replace(/(\.000)?Z$/, '');
		if (value < 1) return moment.slice(11);
		return moment.endsWith('T00:00:00') ? moment.slice(0, 10) : moment.replace('T', ' ');
	}
}

/** Does a format's code show days, months, years, hours or seconds outside its quoted texts, colors and conditions? */
function showsDate(code: string): boolean {
	const bare = code.replace(/"[^"]*"|\\.|_.|\*./g, '').replace(/\[(?!h+\]|m+\]|s+\])[^\]]*\]/gi, '');
	return /[ymdhs]/i.test(bare) && !/general/i.test(bare);
}
