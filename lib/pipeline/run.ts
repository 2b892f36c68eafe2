import { showsCurve } from '../factor/index.ts';
import type { Pattern, PatternInput } from '../map/index.ts';
import {
	type Each,
	type Field,
	type Folder,
	inTurn,
	type Progress,
	type Run,
	type RunOfRecords,
	silent,
} from '../model/index.ts';
import { readField } from '../read/index.ts';
import { addTrace } from '../trace/index.ts';
import type { Beside } from './beside.ts';
import { corrected, type Line, mapped, patternInput, seen, weighed } from './line.ts';
import type { Stages } from './stages.ts';

/** Options of a run. */
export interface RunOptions {
	/** True: any faulty row stops the run. */
	strict?: boolean;
	/** The user's decisions on the page; they replace the pins of field.json. */
	pins?: Field['plan']['pins'];
	/** False: no grid is made and the surface stays empty. */
	grid?: boolean;
	/** Told what the files of records are made from, while the grid is still to be made. */
	known?: (run: RunOfRecords) => void;
}

/**
 * Runs the whole pipeline on a field folder. Works the same in Node and in a browser worker.
 *
 * @param beside - other threads for work that needs not wait; the result has the same bytes with them as without
 * @throws InputFault with every fault found, Stopped when the listener asked to stop.
 */
export async function runField(
	folder: Folder,
	options: RunOptions = {},
	progress: Progress = silent,
	beside: Beside | null = null,
): Promise<Run> {
	const each: Each = (work, inputs, report) => beside?.each(work, inputs, report) ?? inTurn(work, inputs, report);
	const field = await openField(folder, options, progress, { each, beside });
	const line = lineOf(field, progress, { grid: options.grid ?? true, each });
	const ground = seen(line);
	// Of no use where a factor turns out to have a shape.
	const shaped = ground.flows.slopes.some(showsCurve);
	const ahead = beside && line.grid && !shaped ? mapAhead(beside, patternInput(line, ground, null)) : null;
	const scales = weighed(line, ground);
	const pattern = await ahead?.pattern;
	const done = corrected(line, ground, scales, pattern);
	options.known?.({ field, track: ground.track, yields: done.yields, match: scales.match });
	return mapped(line, ground, scales, done, done.pattern === pattern ? await ahead?.weights : undefined);
}

/** The map while the weights are matched: its pattern, and then its grid's weights. */
function mapAhead(beside: Beside, input: PatternInput) {
	let tell!: (pattern?: Pattern) => void;
	const pattern = new Promise<Pattern | undefined>((told) => {
		tell = told;
	});
	const weights = beside.run('map', input, tell);
	// Where there is no thread for it, or it fails there.
	weights.then(() => tell());
	return { pattern, weights };
}

/** Reads a field folder and adds the events of a cart's weight trace to its load book: the input of `solveField`. */
export async function openField(
	folder: Folder,
	options: RunOptions = {},
	progress: Progress = silent,
	{ each = inTurn, beside = null }: { each?: Each; beside?: Beside | null } = {},
): Promise<Field> {
	const field = await readField(folder, {
		strict: options.strict ?? false,
		progress,
		each,
		elsewhere: beside && ((log) => beside.run('logInMemory', log)),
	});
	if (field.trace) {
		const added = addTrace(field.book, field.trace);
		field.book = added.book;
		field.notes.push(...added.notes);
	}
	if (options.pins) field.plan.pins = { ...field.plan.pins, ...options.pins };
	return field;
}

/**
 * Runs the pipeline on a field already read. With `stages` of an earlier run of the same records, only stages whose input
 * has changed run again; the result has the same bytes as that of a fresh run.
 */
export function solveField(
	field: Field,
	progress: Progress = silent,
	options: { stages?: Stages; grid?: boolean } = {},
): Run {
	const line = lineOf(field, progress, options);
	const ground = seen(line);
	const scales = weighed(line, ground);
	return mapped(line, ground, scales, corrected(line, ground, scales));
}

function lineOf(
	field: Field,
	progress: Progress,
	{ stages, grid = true, each = inTurn }: { stages?: Stages; grid?: boolean; each?: Each },
): Line {
	return {
		field,
		progress,
		grid,
		each,
		make: (name, read, how) => (stages ? stages.stage(name, read, how) : how()),
	};
}
