/** What the records of each log show of its columns, log by log. */
import type { Each, Field, Note } from '../../model/index.ts';
import { gapNotes, type LogRecords } from './gaps.ts';
import { type Geometry, geometryOf } from './geometry.ts';
import { stuckNotes } from './stuck.ts';

/** The notes on one log. */
export const notesOfLog = (of: LogRecords): { geometry: Geometry; gaps: Note[] } => ({
	geometry: geometryOf(of),
	gaps: [...gapNotes(of), ...stuckNotes(of)],
});

/** The notes on all logs, and by log how many times too large its header widths are. */
export function logNotes(
	{ records, plan }: Pick<Field, 'records' | 'plan'>,
	each: Each,
): { notes: Note[]; wide: number[] } {
	const found = each(
		notesOfLog,
		plan.logs.map((log, index) => ({ records, log, index })),
	);
	return {
		notes: [...found.flatMap((f) => f.geometry.notes), ...found.flatMap((f) => f.gaps)],
		wide: found.map((f) => f.geometry.wide),
	};
}
