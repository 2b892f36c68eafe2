/** What the records of each log show of its columns, log by log. */
import type { Each, Field, Note } from '../../model/index.ts';
import { gapNotes, type LogRecords } from './gaps.ts';
import { geometryNotes } from './geometry.ts';

/** The notes on one log. */
export const notesOfLog = (of: LogRecords): { geometry: Note[]; gaps: Note[] } => ({
	geometry: geometryNotes(of),
	gaps: gapNotes(of),
});

/** The notes on all logs. */
export function logNotes({ records, plan }: Pick<Field, 'records' | 'plan'>, each: Each): Note[] {
	const notes = each(
		notesOfLog,
		plan.logs.map((log, index) => ({ records, log, index })),
	);
	return [...notes.flatMap((n) => n.geometry), ...notes.flatMap((n) => n.gaps)];
}
