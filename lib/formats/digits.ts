/** Numbers in the bytes of text, without making strings. */

/** Result of `parseNumber` for a cell that is not blank and not a finite number. */
export const NOT_A_NUMBER = Infinity;

/** Blanks and control characters. */
export const SPACE = 32;
const PLUS = 43;
const COMMA = 44;
const MINUS = 45;
const POINT = 46;
const ZERO = 48;
const NINE = 57;

const POWERS = Array.from({ length: 23 }, (_, i) => 10 ** i);

/**
 * A cell's number: NaN for a blank cell, `NOT_A_NUMBER` for anything but a plain finite decimal number. Up to 15
 * digits are exact in a double and so is the power of ten, hence the one division is rounded correctly (Clinger 1990);
 * longer numbers and exponents go through `Number`.
 */
export function parseNumber(bytes: Uint8Array, start: number, end: number, decimalComma: boolean): number {
	let s = start;
	let e = end;
	while (s < e && bytes[s]! <= SPACE) s++;
	while (e > s && bytes[e - 1]! <= SPACE) e--;
	if (s === e) return Number.NaN;
	let p = s;
	let negative = false;
	const first = bytes[p]!;
	if (first === MINUS || first === PLUS) {
		negative = first === MINUS;
		p++;
	}
	let mantissa = 0;
	let digits = 0;
	let decimals = -1;
	for (; p < e; p++) {
		const c = bytes[p]!;
		if (c >= ZERO && c <= NINE) {
			mantissa = mantissa * 10 + (c - ZERO);
			if (mantissa !== 0) digits++;
			if (decimals >= 0) decimals++;
		} else if (decimals < 0 && (c === POINT || (decimalComma && c === COMMA))) decimals = 0;
		else break;
	}
	if (p < e || digits > 15 || decimals > 22 || (digits === 0 && !hasDigit(bytes, s, e))) {
		return slowNumber(bytes, s, e, decimalComma);
	}
	const value = decimals > 0 ? mantissa / POWERS[decimals]! : mantissa;
	return negative ? -value : value;
}

function hasDigit(bytes: Uint8Array, s: number, e: number): boolean {
	for (let p = s; p < e; p++) if (bytes[p]! >= ZERO && bytes[p]! <= NINE) return true;
	return false;
}

const PLAIN = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

function slowNumber(bytes: Uint8Array, s: number, e: number, decimalComma: boolean): number {
	if (e - s > 400) return NOT_A_NUMBER;
	let text = '';
	for (let p = s; p < e; p++) text += String.fromCharCode(bytes[p]!);
	if (decimalComma) text = text.replace(',', '.');
	const value = PLAIN.test(text) ? Number(text) : NOT_A_NUMBER;
	return Number.isFinite(value) ? value : NOT_A_NUMBER;
}
