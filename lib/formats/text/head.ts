import { usualWidth } from './dialect.ts';
import { isMissing, type NumberForm, numberIn } from './number.ts';

/** Where a table begins and the names of its columns. */
export interface TableHead {
	/** Index of the row with the names, −1 if there is none. */
	row: number;
	names: string[];
	/** Units from a separate row, '' if none. */
	units: string[];
	/** Index of the first row of data. */
	first: number;
	width: number;
}

const SAMPLE = 400;
/** What a row of units contains. */
const UNIT =
	/^[([]?(kg|g|t|lbs?|bu|cwt|q|dt|s|sec|secs|seconds?|ms|min|h|hr|m|cm|mm|km|ft|feet|in|inch(es)?|mi|deg|degrees?|°|º|%|pct|percent|ppm|ac|acres?|ha|m2|m²|kn|knots?|mph|kph|kmh|bool|text|utc|local|iso|wgs ?84|mm\/dd\/yyyy|dd\/mm\/yyyy|yyyy-mm-dd|hh:mm(:ss)?|unit|-)[)\]]?$|^[([]?[a-z]{1,4}[ ]?(\/|per|·)[ ]?[a-z]{1,4}[²2]?[)\]]?$/i;

/** Finds the header among the lines before the table. `form` reads numbers. Null if no row has two cells. */
export function findHead(cells: readonly string[][], form: NumberForm): TableHead | null {
	const rows = cells.length > 2 * SAMPLE ? [...cells.slice(0, SAMPLE), ...cells.slice(-SAMPLE)] : cells;
	const width = usualWidth(rows.filter((row) => row.length > 1));
	if (width < 2) return null;
	const like = (cell: string) => valueLike(cell, form);
	const sample = cells.slice(0, SAMPLE).filter((row) => row.length === width);
	const body = sample.slice(sample.length > 8 ? Math.min(sample.length >> 1, 100) : 1);
	// Columns whose cells are values (numbers, times) in most rows of the body.
	const valued = Array.from({ length: width }, (_, c) => {
		const held = body.map((row) => row[c]!).filter((cell) => !isMissing(cell));
		return held.length > 0 && held.filter(like).length >= 0.7 * held.length;
	});
	const asData = (row: readonly string[]) => {
		if (row.length < width / 2 || row.length > width + 1) return false;
		let held = 0;
		let values = 0;
		valued.forEach((is, c) => {
			const cell = row[c] ?? '';
			if (!is || isMissing(cell)) return;
			held++;
			if (like(cell)) values++;
		});
		return held > 0 && values >= 0.6 * held;
	};
	const wide = (row: readonly string[]) => row.length >= width - 1 && row.filter((c) => c !== '').length > width / 3;
	let first = valued.includes(true) ? cells.findIndex((row) => asData(row) && row.length >= width - 1) : -1;
	if (first < 0) {
		const header = cells.findIndex(wide);
		if (header < 0) return null;
		first = header + 1;
	}
	let above = previous(cells, first - 1, wide);
	let units: string[] = [];
	if (above >= 0 && unitRow(cells[above]!)) {
		const names = previous(cells, above - 1, wide);
		if (names >= 0 && !asData(cells[names]!)) {
			units = cells[above]!.map((u) => u.replace(/^[([]|[)\]]$/g, '').trim());
			above = names;
		}
	}
	const header = above < 0 ? [] : cells[above]!;
	return { row: above, names: namesOf(header, width), units, first, width };
}

/** A number, a time, a yes or no: looks like a value, unlike a name. */
function valueLike(cell: string, form: NumberForm): boolean {
	if (cell === '') return false;
	return (
		numberIn(cell, form) !== undefined ||
		/^\d{1,4}[-/.:]\d{1,2}[-/.:]?\d*/.test(cell) ||
		/^\d[\d.,\s]*[a-z%°]/i.test(cell)
	);
}

function unitRow(row: readonly string[]): boolean {
	const held = row.filter((cell) => cell !== '');
	return held.length > 0 && held.filter((cell) => UNIT.test(cell)).length >= 0.5 * held.length;
}

function previous(cells: readonly string[][], from: number, good: (row: string[]) => boolean): number {
	for (let i = from; i >= 0 && i >= from - 3; i--) {
		const row = cells[i]!;
		if (good(row)) return i;
	}
	return -1;
}

/** Names without outer blanks; unnamed and repeated columns are numbered. */
function namesOf(header: readonly string[], width: number): string[] {
	const seen = new Map<string, number>();
	return Array.from({ length: Math.max(width, header.length) }, (_, c) => {
		const name = (header[c] ?? '').replace(/\s+/g, ' ') || `column ${c + 1}`;
		const times = (seen.get(name) ?? 0) + 1;
		seen.set(name, times);
		return times === 1 ? name : `${name} (${times})`;
	});
}
