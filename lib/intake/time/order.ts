import { dayOf, type TimeCell } from '../../formats/text/time-cell.ts';

export type DateOrder = 'month first' | 'day first';

const MONTH_FIRST = 'a second number above 12 is a day';
const DAY_FIRST = 'a first number above 12 is a day';

/** The order that values of a file decide, from the reasons of its columns; null if none does. */
export function orderShown(columns: readonly { because: readonly string[] }[]): DateOrder | null {
	if (columns.some((c) => c.because.includes(MONTH_FIRST))) return 'month first';
	return columns.some((c) => c.because.includes(DAY_FIRST)) ? 'day first' : null;
}

export interface OrderGuess {
	order: DateOrder;
	/** 1 if the column shows it. */
	sure: number;
	because: string;
}

/** Which of a date's first two numbers is the month, from the values in a column of dates; null if there are no dates. */
export function dateOrder(cells: Iterable<TimeCell | null>): OrderGuess | null {
	const open = new Map<string, TimeCell>();
	let any: TimeCell | null = null;
	let month = 0;
	let day = 0;
	let ampm = false;
	let dotted = false;
	let fixed = true;
	for (const cell of cells) {
		if (cell === null || Number.isNaN(cell.year)) continue;
		any ??= cell;
		fixed &&= cell.fixed;
		if (cell.fixed) continue;
		if (cell.order === 'month first') month++;
		else if (cell.order === 'day first') day++;
		open.set(`${cell.year}/${cell.a}/${cell.b}`, cell);
		ampm ||= cell.ampm;
		dotted ||= cell.sign === '.';
	}
	if (any === null) return null;
	if (fixed) return { order: any.order ?? 'month first', sure: 1, because: 'its dates can be read one way only' };
	if (month > day) return { order: 'month first', sure: 1, because: MONTH_FIRST };
	if (day > 0) return { order: 'day first', sure: 1, because: DAY_FIRST };
	if ([...open.values()].every((c) => c.a === c.b)) {
		return { order: 'month first', sure: 1, because: 'day and month are the same number' };
	}
	// Harvest days follow each other: read in the wrong order, they lie months apart.
	const span = (order: DateOrder) => {
		const days = [...open.values()].map((c) => dayOf(c, order)).filter((d) => !Number.isNaN(d));
		return (Math.max(...days) - Math.min(...days)) / 86_400;
	};
	if (open.size > 1) {
		const asMonth = span('month first');
		const asDay = span('day first');
		if (asDay <= 14 && asMonth > 25) {
			return { order: 'day first', sure: 0.98, because: `days ${asDay} apart at most, not ${Math.round(asMonth)}` };
		}
		if (asMonth <= 14 && asDay > 25) {
			return { order: 'month first', sure: 0.98, because: `days ${asMonth} apart at most, not ${Math.round(asDay)}` };
		}
	}
	if (dotted) return { order: 'day first', sure: 0.97, because: 'periods between the numbers of a date' };
	return ampm
		? { order: 'month first', sure: 0.85, because: 'AM and PM are used where the month usually comes first' }
		: { order: 'month first', sure: 0.6, because: 'nothing in the file distinguishes day from month' };
}
