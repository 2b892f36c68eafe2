/** Numbers as people type them: with their locale's separators, or the other one's if only one meaning is possible. */

/** Group and decimal separators of a locale. */
export interface Marks {
	decimal: '.' | ',';
	group: string;
}

export function marksOf(locale: string): Marks {
	const parts = new Intl.NumberFormat(locale, { useGrouping: true }).formatToParts(12_345_678.9);
	const part = (type: string) => parts.find((p) => p.type === type)?.value ?? '';
	return { decimal: part('decimal') === ',' ? ',' : '.', group: part('group') || ',' };
}

const groupedBy = (mark: string) => new RegExp(`^\\d{1,3}(\\${mark}\\d{3})+$`);

/**
 * A typed number; null if it is not one. "38,800" is 38800 in English and 38.8 in German; "38,8" is 38.8 in both,
 * since no group has one digit. Blanks and apostrophes between digits always separate groups.
 *
 * @example typed('38,800', marksOf('en-US')) // 38800
 */
export function typed(text: string, marks: Marks): number | null {
	const bare = text.trim().replace(/(?<=\d)[\s\u00a0\u202f'’](?=\d{3}(?!\d))/g, '');
	const sign = /^[-−]/.test(bare) ? -1 : 1;
	const plain = bare.replace(/^[-−+]/, '');
	if (!/^[\d.,]*\d[\d.,]*$/.test(plain)) return null;
	const other = marks.decimal === '.' ? ',' : '.';
	const count = (mark: string) => plain.split(mark).length - 1;
	const number = (decimal: string | null, group: string | null): number | null => {
		const [whole = '', rest, ...more] = decimal === null ? [plain] : plain.split(decimal);
		if (more.length > 0 || (rest !== undefined && !/^\d*$/.test(rest))) return null;
		if (group !== null && whole.includes(group) && !groupedBy(group).test(whole)) return null;
		const digits = group === null ? whole : whole.replaceAll(group, '');
		if (!/^\d*$/.test(digits)) return null;
		return sign * Number(`${digits || '0'}.${rest || '0'}`);
	};
	const [ours, theirs] = [count(marks.decimal), count(other)];
	if (ours > 0 && theirs > 0)
		return plain.lastIndexOf(marks.decimal) > plain.lastIndexOf(other)
			? number(marks.decimal, other)
			: number(other, marks.decimal);
	if (theirs > 0) return groupedBy(other).test(plain) ? number(null, other) : number(other, null);
	return ours > 1 ? number(null, marks.decimal) : number(marks.decimal, null);
}

/** A number as text for an input: the locale's decimal separator, no groups, so that it can be read back unchanged. */
export function written(value: number, digits: number, marks: Marks): string {
	return String(Math.round(value * 10 ** digits) / 10 ** digits).replace('.', marks.decimal);
}

/** Numbers of an English text that have groups or decimals; names with digits in them are left alone. */
const NUMBERS = /(?<![\w.,:/-])(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.\d+)(?![\w]|[.,:]\w)/g;

/** An English text with its numbers written by these marks. */
export function inMarks(text: string, { decimal, group }: Marks): string {
	if (decimal === '.' && group === ',') return text;
	return text.replace(NUMBERS, (number) => number.replace(/[.,]/g, (mark) => (mark === '.' ? decimal : group)));
}
