/** Parses numbers from ASCII bytes without making strings. */

const POWERS = Float64Array.from({ length: 23 }, (_, i) => 10 ** i);

/**
 * The decimal number in bytes `from` to `to`, with blanks around it allowed, equal to the result of `Number` for the
 * same text; NaN if blank or not a number.
 */
export function decimalOf(bytes: Uint8Array, from: number, to: number): number {
	let start = from;
	let end = to;
	while (start < end && bytes[start]! <= 32) start++;
	while (end > start && bytes[end - 1]! <= 32) end--;
	if (start === end) return Number.NaN;
	let at = start;
	const negative = bytes[at] === 45;
	if (negative || bytes[at] === 43) at++;
	let digits = 0;
	let seen = 0;
	let significant = 0;
	let decimals = -1;
	for (; at < end; at++) {
		const b = bytes[at]!;
		if (b >= 48 && b <= 57) {
			digits = digits * 10 + (b - 48);
			seen++;
			if (digits > 0) significant++;
			if (decimals >= 0) decimals++;
		} else if (b === 46 && decimals < 0) decimals = 0;
		else break;
	}
	// Both whole numbers are exact in a double, so one division rounds correctly (Clinger 1990).
	if (at === end && seen > 0 && significant <= 15 && decimals <= 22) {
		const value = decimals > 0 ? digits / POWERS[decimals]! : digits;
		return negative ? -value : value;
	}
	let text = '';
	for (let i = start; i < end; i++) text += String.fromCharCode(bytes[i]!);
	return /^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$/.test(text) ? Number(text) : Number.NaN;
}
