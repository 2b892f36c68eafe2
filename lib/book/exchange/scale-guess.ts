/** What the columns of a scale's list may be, from their names and values. */
import { numberForm, numberIn } from '../../formats/text/number.ts';
import { timeCell } from '../../formats/text/time-cell.ts';
import { bare, headerRow, type Mapped, type ScaleMapping, type ScaleTable } from './scale-file.ts';

const WORDS: Record<Mapped, RegExp> = {
	date: /date|datum|fecha|day|time ?stamp|^time$/i,
	clock: /time|clock|uhrzeit|hora|heure/i,
	weight: /net|weight|wt\b|gewicht|peso|poids|mass|amount|lbs?\b|kg\b/i,
	combine: /combine|harvester|source|from|machine/i,
	truck: /truck|destination|\bto\b|vehicle|trailer/i,
	field: /field|location|parcel|paddock/i,
	number: /load|\bno\b|number|\bid\b|record|ticket|#/i,
	event: /event|type|action|direction|in.?out|operation|mode/i,
	moisture: /moist|h2o|humid/i,
	note: /note|comment|remark|memo/i,
};

/** First guess of the columns, from their names and values. */
export function guessMapping(table: ScaleTable): ScaleMapping {
	const head = headerRow(table.rows);
	const names = head === null ? [] : table.rows[head]!;
	const skip = head === null ? 0 : head + 1;
	const body = table.rows.slice(skip, skip + 50);
	const width = Math.max(...table.rows.map((r) => r.length));
	const cells = (c: number) => body.map((r) => r[c] ?? '').filter((x) => x !== '');
	/** Whether most of a column's cells are so. */
	const most = (is: (cell: string) => boolean) => (c: number) => {
		const all = cells(c);
		return all.length > 0 && all.filter(is).length >= 0.6 * all.length;
	};
	const isDate = most((x) => (timeCell(x)?.year ?? 0) > 0);
	const isClock = most((x) => Number.isNaN(timeCell(x)?.year ?? 0));
	const isNumber = most((x) => (['.', ','] as const).some((decimal) => numberIn(bare(x), { decimal }) !== undefined));
	const taken = new Set<number>();
	const first = (fits: (c: number) => boolean): number | null => {
		const found = [...Array(width).keys()].find((c) => !taken.has(c) && fits(c)) ?? null;
		if (found !== null) taken.add(found);
		return found;
	};
	const named = (what: Mapped, fits: (c: number) => boolean = () => true) =>
		first((c) => WORDS[what].test(names[c] ?? '') && fits(c));
	const date = named('date', isDate) ?? first(isDate);
	const clock = named('clock', isClock) ?? first(isClock);
	const number = named('number');
	const moisture = named('moisture', isNumber);
	const weight = named('weight', isNumber) ?? heaviest(width, taken, isNumber, cells);
	if (weight !== null) taken.add(weight);
	const weights = weight === null ? [] : cells(weight);
	const plain = weights.map(bare);
	// In a list with semicolons, a point before three digits parts thousands.
	const thousands = table.delimiter === ';' && plain.some((x) => /^\d{1,3}\.\d{3}$/.test(x));
	const unitText = `${names[weight ?? -1] ?? ''} ${weights[0] ?? ''}`;
	return {
		date,
		clock,
		weight,
		number,
		moisture,
		event: named('event'),
		combine: named('combine'),
		truck: named('truck'),
		field: named('field'),
		note: named('note'),
		order: date === null ? 'mdy' : likelyOrder(cells(date)),
		unit: /kg/i.test(unitText) ? 'kg' : /\bt\b|tonne/i.test(unitText) ? 't' : 'lb',
		decimal: thousands ? ',' : numberForm(plain, table.delimiter).decimal,
		skip,
		outWords: ['offload', 'unload', 'out', 'truck', 'off'],
		signed: weights.some((x) => x.startsWith('-')),
	};
}

function heaviest(width: number, taken: Set<number>, isNumber: (c: number) => boolean, cells: (c: number) => string[]) {
	let best: number | null = null;
	let most = 500;
	for (let c = 0; c < width; c++) {
		if (taken.has(c) || !isNumber(c)) continue;
		const values = cells(c).map((x) => Math.abs(Number.parseFloat(x.replace(/[,\s]/g, ''))));
		const mean = values.reduce((s, x) => s + x, 0) / Math.max(1, values.length);
		if (mean > most && mean < 1e6) {
			most = mean;
			best = c;
		}
	}
	return best;
}

/** Day first or month first, by any number above 12; month first where no number is. */
function likelyOrder(dates: readonly string[]): ScaleMapping['order'] {
	let dayFirst = false;
	for (const d of dates) {
		const m = /^(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})/.exec(d);
		if (!m) continue;
		if (m[1]!.length === 4) return 'ymd';
		if (Number(m[1]) > 12 || d.includes('.')) dayFirst = true;
		if (Number(m[2]) > 12) return 'mdy';
	}
	return dayFirst ? 'dmy' : 'mdy';
}
