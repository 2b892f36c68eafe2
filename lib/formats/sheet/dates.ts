import { below, type Element } from '../xml/scan-xml.ts';

/** Number formats of ECMA-376, 18.8.30, that show a day or a time of day. */
const BUILT_IN = new Set([14, 15, 16, 17, 18, 19, 20, 21, 22, 27, 30, 36, 45, 46, 47, 50, 57]);

/** Recognizes the cells of a workbook that are days and times, and gives them in ISO 8601. */
export class DateForms {
	/** Whether a cell style's number is a day, by style. */
	private readonly dates: boolean[] = [];

	/** @param styles - the workbook's styles; null if it has none */
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

	/** A number as a date, a time or both, local; null if its style shows a plain number. */
	textOf(value: number, style: number): string | null {
		if (!this.dates[style] || !Number.isFinite(value) || value < 0 || value > 2_958_466) return null;
		// Day 60 of the count from 1900 is February 29, 1900, which did not exist: days before it are off by one.
		const day = this.from1904 ? value + 1462 : value < 60 ? value + 1 : value;
		const seconds = Math.round(day * 86_400 * 1000) / 1000;
		const moment = new Date((seconds - 25_569 * 86_400) * 1000).toISOString().replace(/(\.000)?Z$/, '');
		if (value < 1) return moment.slice(11);
		return moment.endsWith('T00:00:00') ? moment.slice(0, 10) : moment.replace('T', ' ');
	}
}

/** Whether a format code shows days, months, years, hours or seconds outside its quoted texts, colors and conditions. */
function showsDate(code: string): boolean {
	const bare = code.replace(/"[^"]*"|\\.|_.|\*./g, '').replace(/\[(?!h+\]|m+\]|s+\])[^\]]*\]/gi, '');
	return /[ymdhs]/i.test(bare) && !/general/i.test(bare);
}
