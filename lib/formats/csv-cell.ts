/** A plain number: read as a number, and safe in a spreadsheet. */
const NUMBER = /^\s*[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?\s*$/i;
/** Text that a spreadsheet takes for a formula or runs, after any blanks and invisible characters. */
const RUNS = /^[\s\p{Cf}]*[=+\-@\t\r＝＋－＠]/u;

/** Puts an apostrophe before text that a spreadsheet would run; numbers stay numbers. */
export function disarmed(text: string): string {
	return RUNS.test(text) && !NUMBER.test(text) ? `'${text}` : text;
}

/** A text as a CSV cell: safe in a spreadsheet, quoted if necessary (RFC 4180). */
export function csvCell(text: string, delimiter = ','): string {
	const safe = disarmed(text);
	return /["\r\n]/.test(safe) || safe.includes(delimiter) || safe !== safe.trim()
		? `"${safe.replaceAll('"', '""')}"`
		: safe;
}

/** Values as a row of CSV: numbers as they are, missing values blank. */
export function csvRow(values: readonly (string | number | null | undefined)[]): string {
	return values
		.map((v) => (typeof v === 'number' ? (Number.isFinite(v) ? String(v) : '') : csvCell(v ?? '')))
		.join(',');
}

/** Undoes `disarmed`: the apostrophe is not part of the text. */
export function rearmed(text: string): string {
	return text.startsWith("'") && disarmed(text.slice(1)) === text ? text.slice(1) : text;
}

/** Text of a cell in a file, quoted or not. */
export function unquoted(raw: string): string {
	const text = raw.trim();
	return text.startsWith('"')
		? text.slice(1, text.endsWith('"') && text.length > 1 ? -1 : undefined).replaceAll('""', '"')
		: raw;
}

const ZERO = 48;
const NINE = 57;
const AT = 64;
const QUOTE = 34;

/**
 * False if a spreadsheet may run a cell of a row's bytes. Checks only first bytes, which is enough for nearly all
 * cells. `ends` are the ends of the cells.
 */
export function harmless(bytes: Uint8Array, start: number, ends: readonly number[]): boolean {
	let s = start;
	for (let k = 0; k < ends.length; k++) {
		const e = ends[k]!;
		const first = bytes[s]!;
		const plain = s === e || (first >= ZERO && first <= NINE) || (first > AT && first < 128);
		if (!plain && (first > AT || first <= QUOTE || first === 61 || first === AT || !isNumber(bytes, s, e)))
			return false;
		s = e + 1;
	}
	return true;
}

/** A sign, digits and a point or comma: half the world has a negative longitude in every row. */
function isNumber(bytes: Uint8Array, start: number, end: number): boolean {
	const first = bytes[start]!;
	if (first !== 45 && first !== 43) return true;
	if (end === start + 1) return false;
	for (let p = start + 1; p < end; p++) {
		const c = bytes[p]!;
		if ((c < ZERO || c > NINE) && c !== 46) return false;
	}
	return true;
}

/** Comma, semicolon or tab, by its code: the one most frequent in a header outside quotes. */
export function separatorOf(line: Uint8Array): number {
	const counts = new Map([44, 59, 9].map((separator) => [separator, 0]));
	let inQuotes = false;
	for (const c of line) {
		if (c === 34) inQuotes = !inQuotes;
		else if (!inQuotes && counts.has(c)) counts.set(c, counts.get(c)! + 1);
	}
	return [...counts].reduce((a, b) => (b[1] > a[1] ? b : a))[0]!;
}
