import { caution, type Note } from '../../model/index.ts';
import type { TableContext } from '../csv/read-table.ts';

/** A clock this far from the logs is not slow or fast: the year is wrong. */
const YEAR_S = 370 * 86_400;

interface Timed {
	time_s: number;
	origin: { row: number | null };
}

/**
 * Removes rows whose year is not that of the logs and sets them aside; `middle_s` is the logs' median time. If this is
 * more than a fifth of the rows, the clock is wrong and not the rows: all are kept, with a note.
 */
export function setYearsAside<T extends Timed>(rows: T[], middle_s: number, context: TableContext, notes: Note[]): T[] {
	const far = rows.filter((row) => Math.abs(row.time_s - middle_s) > YEAR_S);
	if (far.length === 0) return rows;
	const { faults } = context;
	if (far.length * 5 > rows.length) {
		notes.push(caution(`${faults.file}: its clock is more than a year off the logs’.`));
		return rows;
	}
	for (const { time_s, origin } of far) {
		const year = new Date(middle_s * 1000).getUTCFullYear();
		faults.row(
			origin.row ?? 0,
			'time',
			new Date(time_s * 1000).toISOString(),
			`impossible year: the logs are of ${year}`,
		);
	}
	return rows.filter((row) => !far.includes(row));
}
