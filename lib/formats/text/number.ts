/** How numbers are written in a file. */
export interface NumberForm {
	decimal: '.' | ',';
}

/** Cells that mean "no value". */
const MISSING = new Set(['', '-', '--', '---', 'na', 'n/a', '#n/a', 'nan', 'null', 'nil', 'none', '?', '.', '#div/0!']);

export const isMissing = (cell: string): boolean => MISSING.has(cell.toLowerCase());

const PLAIN = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;
/** Digits in groups of three, separated by any blanks, apostrophes, or the sign that is not the decimal one. */
const GROUPED_POINT = /^[+-]?\d{1,3}([\s\u00a0\u2009\u202f'’,]\d{3})+(\.\d*)?$/;
const GROUPED_COMMA = /^[+-]?\d{1,3}([\s\u00a0\u2009\u202f'’.]\d{3})+(,\d*)?$/;
const COMMA = /^[+-]?(\d+,?\d*|,\d+)(e[+-]?\d+)?$/i;

/** The number in a cell; NaN for a missing one, undefined for text. */
export function numberIn(cell: string, { decimal }: NumberForm): number | undefined {
	if (PLAIN.test(cell)) {
		// With a decimal comma, 1.234 is more than a thousand; 1.23 can only be a number with a point.
		if (decimal === ',' && GROUPED_COMMA.test(cell)) return Number(cell.replaceAll('.', ''));
		return Number(cell);
	}
	if (isMissing(cell)) return Number.NaN;
	const text = cell.replace(/^[−–]/, '-');
	if (decimal === '.') {
		if (GROUPED_POINT.test(text)) return Number(text.replace(/[\s\u00a0\u2009\u202f'’,]/g, ''));
	} else {
		if (COMMA.test(text)) return Number(text.replace(',', '.'));
		if (GROUPED_COMMA.test(text)) return Number(text.replace(/[\s\u00a0\u2009\u202f'’.]/g, '').replace(',', '.'));
	}
	return PLAIN.test(text) ? Number(text) : undefined;
}

/**
 * The decimal sign, from numbers that allow only one of the two: a sign followed by other than three digits, or by
 * three after a leading zero or after four or more digits; two different signs in one number. Without such numbers,
 * semicolons between cells point to the comma.
 */
export function numberForm(cells: Iterable<string>, delimiter: string): NumberForm {
	let point = 0;
	let comma = 0;
	let threes = 0;
	for (const cell of cells) {
		const found = /^[+-]?[\d\s\u00a0\u202f'’.,]+$/.test(cell) ? /([.,])(\d+)$/.exec(cell) : null;
		if (found === null) continue;
		const [, sign, decimals] = found as unknown as [string, '.' | ',', string];
		const other = sign === '.' ? ',' : '.';
		const before = cell.slice(0, -decimals.length - 1).replace(/^[+-]/, '');
		if (before.includes(sign)) {
			// The sign occurs twice: it separates groups.
			if (decimals.length === 3) sign === '.' ? comma++ : point++;
			continue;
		}
		const grouped = decimals.length === 3 && /^[1-9]\d{0,2}$/.test(before);
		if (before.includes(other) || !grouped) sign === '.' ? point++ : comma++;
		else if (sign === ',') threes++;
	}
	if (point === 0 && comma === 0) return { decimal: threes > 0 && delimiter === ';' ? ',' : '.' };
	return { decimal: comma > point ? ',' : '.' };
}
