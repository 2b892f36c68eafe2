import type { Question } from '../model.ts';
import { rolesByName } from '../names/roles-by-name.ts';
import { LOG_WORDS } from '../names/words.ts';
import type { Places } from '../place/find-places.ts';
import type { Instants } from '../time/time-context.ts';
import type { Columns } from './column-roles.ts';
import { followRows, type Motion } from './follow-rows.ts';
import { separateMachines } from './machines.ts';
import { findNames } from './named.ts';
import { centers, findSections, type Sections } from './sections.ts';

/** The way of each machine through the rows of a log. */
export interface Way {
	/** Sections of one header, where rows are such. */
	sections: Sections | null;
	/** Index of each row's machine, −1 for none. */
	machine: Int32Array;
	/** Each row's machine by name; null if there is one without a name. */
	combine: string[] | null;
	/** Rows in their machine's order; null: the file's. */
	order: Int32Array | null;
	/** Center of each record's positions, in one plane. */
	x_m: Float64Array;
	y_m: Float64Array;
	motion: Motion;
	notes: string[];
	questions: Question[];
}

/** Separates the machines of a log, joins the sections of a header, and follows each machine from row to row. */
export function findWay(columns: Columns, places: Places, instants: Instants): Way {
	const { table } = columns;
	const { time_s } = instants;
	const group = findNames(columns) ?? instants.run;
	const numbered = table.columns.some((c) => rolesByName(c.name, LOG_WORDS).has('section'));
	const sections = instants.timeless ? null : findSections(time_s, places.x_m, places.y_m, group, numbered);
	const first = sections?.first ?? null;
	const leads = (i: number) => first === null || first[i] === i;
	const { x_m, y_m } = places;
	const machines = separateMachines({ table, group, time_s, x_m, y_m, leads, order: instants.order });
	if (sections)
		machines.notes.push(
			`${sections.count} rows share each time stamp: they are sections of one header, read as one record with their total width and mass`,
		);
	const middle = { x_m: centers(x_m, first), y_m: centers(y_m, first) };
	const motion = followRows(machines.machine, middle.x_m, middle.y_m, time_s, machines.order);
	return { sections, ...machines, ...middle, motion };
}
