import type { RawColumn } from '../../formats/index.ts';

const YES = /^(1|yes|y|true|on|down|in|engaged|working|work|recording|active|lowered|ab|unten|ein|ja|enabled|si|oui)$/i;
const NO =
	/^(0|no|n|false|off|up|out|disengaged|not working|idle|inactive|raised|lifted|hoch|oben|aus|nein|disabled|non)$/i;

/** Yes and no of a column as 1, 0 and −1 (blank); null if it has other values. */
export function statesOf(column: RawColumn): Int8Array | null {
	if (column.numbers) {
		const v = column.numbers;
		if (!v.every((x) => Number.isNaN(x) || x === 0 || x === 1)) return null;
		return Int8Array.from(v, (x) => (Number.isNaN(x) ? -1 : x));
	}
	const text = column.text as string[];
	const known = new Map<string, number>();
	const out = new Int8Array(text.length);
	for (let i = 0; i < text.length; i++) {
		const cell = text[i] as string;
		let value = known.get(cell);
		if (value === undefined) {
			value = cell === '' ? -1 : YES.test(cell) ? 1 : NO.test(cell) ? 0 : 2;
			known.set(cell, value);
		}
		if (value === 2) return null;
		out[i] = value;
	}
	return out;
}

/**
 * Correlation of neighboring steps of a series: negative with a sensor's own noise, clearly positive for a moving mean
 * of several records.
 */
export function stepCorrelation(v: Float64Array): number {
	let xy = 0;
	let xx = 0;
	for (let i = 2; i < v.length; i++) {
		const a = v[i - 1]! - v[i - 2]!;
		const b = v[i]! - v[i - 1]!;
		if (!Number.isFinite(a + b) || !(v[i]! > 0 && v[i - 1]! > 0 && v[i - 2]! > 0)) continue;
		xy += a * b;
		xx += a * a;
	}
	return xx > 0 ? xy / xx : 0;
}
