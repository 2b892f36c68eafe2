import { csvCell } from '../../formats/csv-cell.ts';
import { utcText } from '../../units/index.ts';

/** A column of a CSV to be written: its name and the text of each row. */
export interface CsvColumn {
	name: string;
	cell: (row: number) => string;
}

/** A number with no more digits than it needs; blank if missing. */
export function numberCell(value: number, digits: number): string {
	return Number.isFinite(value) ? String(Number(value.toPrecision(digits))) : '';
}

export function degreesCell(value: number): string {
	return Number.isFinite(value) ? String(Number(value.toFixed(9))) : '';
}

/** ISO 8601 in UTC, to the millisecond if there is a fraction. */
export function timeCellOf(time_s: number): string {
	return Number.isFinite(time_s) ? utcText(time_s) : '';
}

/** CSV in chunks of UTF-8. */
export function* csvChunks(columns: readonly CsvColumn[], rows: Iterable<number>): Iterable<Uint8Array> {
	const encoder = new TextEncoder();
	let lines = [columns.map((c) => csvCell(c.name)).join(',')];
	for (const row of rows) {
		lines.push(columns.map((c) => c.cell(row)).join(','));
		if (lines.length === 2000) {
			yield encoder.encode(`${lines.join('\n')}\n`);
			lines = [];
		}
	}
	yield encoder.encode(lines.length > 0 ? `${lines.join('\n')}\n` : '');
}

/** A name for a file or folder: letters and digits of any language, joined by dashes; never one that systems reserve. */
export function slug(name: string, spare: string): string {
	const plain = name
		.normalize('NFKC')
		.toLowerCase()
		.replace(/[^\p{L}\p{N}]+/gu, '-')
		.replace(/^-+|-+$/g, '')
		.slice(0, 60);
	return plain === '' || /^(con|prn|aux|nul|com\d|lpt\d)$/.test(plain)
		? `${spare}${plain === '' ? '' : `-${plain}`}`
		: plain;
}

/** A name that is not taken yet: with a number appended if necessary. */
export function free(name: string, taken: Set<string>): string {
	let out = name;
	for (let k = 2; taken.has(out); k++) out = `${name}-${k}`;
	taken.add(out);
	return out;
}
