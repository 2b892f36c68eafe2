import { accountMass } from '../account/index.ts';
import { compareCombines } from '../compare/index.ts';
import { afterFactors, solveFactors } from '../factor/index.ts';
import { fieldSurface, rescale } from '../map/index.ts';
import { matchField } from '../match/index.ts';
import type { Field, Folder, Progress, Run } from '../model/index.ts';
import { silent } from '../model/index.ts';
import { readField } from '../read/index.ts';
import { moistureOffsets, scaleReference } from '../reference/index.ts';
import { findSeams, seamJumps } from '../seams/index.ts';
import { addTrace } from '../trace/index.ts';
import { trackField } from '../track/index.ts';
import { buildResult } from './result.ts';

export interface RunOptions {
	/** Any faulty row stops the run. */
	strict?: boolean;
	/** What the user has decided in the page; stands over the pins of field.json. */
	pins?: Field['plan']['pins'];
}

/**
 * The whole job: a field folder's bytes in, everything known about the field out. Runs the same in Node and in
 * a browser worker.
 *
 * @throws InputFault with every fault found, Stopped when the listener asked to stop.
 */
export async function runField(folder: Folder, options: RunOptions = {}, progress: Progress = silent): Promise<Run> {
	const field = await readField(folder, { strict: options.strict ?? false, progress });
	if (field.trace) {
		const added = addTrace(field.book, field.trace);
		field.book = added.book;
		field.notes.push(...added.notes);
	}
	if (options.pins) field.plan.pins = { ...field.plan.pins, ...options.pins };
	return solveField(field, progress);
}

/** The same from a field already read: what the page calls again after each pin. */
export function solveField(field: Field, progress: Progress = silent): Run {
	const { plan, records, book, boundary, varieties } = field;
	const account = accountMass(records);
	const track = trackField({ records, plan, boundary, varieties, account }, progress);
	const reference = scaleReference({ book, plan });

	progress.step('seams', 0);
	const seams = findSeams({ records, track, plan, varieties });
	const unknownMoisture = records.combines.map(() => 0);
	const rough = seamJumps({ records, account, track, seams, factor: null, moistureOffset_pct: unknownMoisture });

	const aligned = matchField({ records, account, track, book, plan, reference, seams: rough }, progress);
	const moisture = moistureOffsets({ book, plan, records, account, track, match: aligned, seams: rough });
	const moistureOffset_pct = moisture.map((m) => m.offset_pct);
	// Without offsets nothing of the seams has changed.
	const before = moistureOffset_pct.every((offset) => offset === 0)
		? rough
		: seamJumps({ records, account, track, seams, factor: null, moistureOffset_pct });

	const factors = solveFactors(
		{ records, account, track, match: aligned, reference, seams, jumps: before, moisture, book, plan },
		progress,
	);
	const match = afterFactors(aligned, factors);
	const yields = rescale({ records, account, track, factors, moisture, plan });
	const surface = fieldSurface({ records, account, track, yields, plan }, progress);

	progress.step('seams', 0.5);
	const after = seamJumps({
		records,
		account,
		track,
		seams,
		factor: factors.factor,
		factorU: factors,
		moistureOffset_pct,
	});
	const jumps = before.map((jump, i) => ({
		...jump,
		after_pct: after[i]?.after_pct ?? jump.after_pct,
		after_interval: after[i]?.after_interval ?? jump.after_interval,
		remarks: [...new Set([...jump.remarks, ...(after[i]?.remarks ?? [])])],
	}));

	const comparison = compareCombines({ records, account, track, match, factors, moisture, seams, jumps, plan });

	const known = {
		field,
		account,
		track,
		reference,
		match,
		moisture,
		factors,
		seams: { seams, jumps },
		yields,
		surface,
		comparison,
	};
	return { ...known, result: buildResult(known) };
}
