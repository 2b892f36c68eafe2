import { accountMass } from '../account/index.ts';
import { compareCombines } from '../compare/index.ts';
import { afterFactors } from '../factor/index.ts';
import { factorParts, fieldPattern, fieldSurface, layWeights, noWeights, rescale } from '../map/index.ts';
import { matchField } from '../match/index.ts';
import type { Field, FieldPlan, Folder, Pins, Progress, Run, SetAside } from '../model/index.ts';
import { InputFault, Stopped, silent } from '../model/index.ts';
import { readField } from '../read/index.ts';
import { moistureOffsets, scaleReference } from '../reference/index.ts';
import { findSeams, lookAtSeams, seamJumps } from '../seams/index.ts';
import { addTrace } from '../trace/index.ts';
import { flagTrack, layTrack } from '../track/index.ts';
import { factorsOf } from './factors.ts';
import { buildResult } from './result.ts';
import type { Stages } from './stages.ts';

/** Options of a run. */
export interface RunOptions {
	/** True: any faulty row stops the run. */
	strict?: boolean;
	/** The user's decisions on the page; they replace the pins of field.json. */
	pins?: Field['plan']['pins'];
	/** False: no grid is made and the surface stays empty. */
	grid?: boolean;
}

/**
 * Runs the whole pipeline on a field folder. Works the same in Node and in a browser worker.
 *
 * @throws InputFault with every fault found, Stopped when the listener asked to stop.
 */
export async function runField(folder: Folder, options: RunOptions = {}, progress: Progress = silent): Promise<Run> {
	const field = await openField(folder, options, progress);
	return solveField(field, progress, { grid: options.grid ?? true });
}

/** Reads a field folder and adds the events of a cart's weight trace to its load book: the input of `solveField`. */
export async function openField(folder: Folder, options: RunOptions = {}, progress: Progress = silent): Promise<Field> {
	const field = await readField(folder, { strict: options.strict ?? false, progress });
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
	{ stages, grid = true }: { stages?: Stages; grid?: boolean } = {},
): Run {
	const { records, book, boundary, varieties, plan } = field;
	const make = <T>(name: string, read: readonly unknown[], how: () => T): T =>
		stages ? stages.stage(name, read, how) : how();
	const { lone, ...mechanical } = plan.flags;
	// Each stage gets only the pins and thresholds that it uses.
	const withPins = (pins: Pins, flags: FieldPlan['flags'] = {}): FieldPlan => ({ ...plan, pins, flags });
	const { lags, factors: factorPins, level, ...matchPins } = plan.pins;
	const bare = withPins({});
	const read = [records, bare] as const;

	const account = make('account', [records], () => accountMass(records));
	const layPlan = withPins({ lags });
	const laid = make('ground', [records, account, layPlan, boundary, varieties], () =>
		layTrack({ records, plan: layPlan, boundary, varieties, account }, progress),
	);
	const flagPlan = withPins({}, mechanical);
	const track = make('track', [records, account, laid, flagPlan], () =>
		flagTrack(laid, { records, plan: flagPlan, account }),
	);
	const reference = make('reference', [book, bare], () => scaleReference({ book, plan: bare }));

	progress.step('seams', 0);
	const seams = make('seams', [...read, track, varieties], () => findSeams({ records, track, plan: bare, varieties }));
	const look = make('seam blocks', [records, account, track, seams], () =>
		lookAtSeams({ records, account, track, seams, shape: null }),
	);
	const asRecorded = (moistureOffset_pct: number[]) =>
		seamJumps(look, { level_log: null, covariance: null, moistureOffset_pct });
	const rough = make('seam jumps', [look], () => asRecorded(records.combines.map(() => 0)));

	const matchPlan = withPins(matchPins);
	const aligned = make('match', [records, account, track, book, matchPlan, reference, rough], () =>
		matchField({ records, account, track, book, plan: matchPlan, reference, seams: rough }, progress),
	);
	const moisture = make('moisture', [...read, account, track, book, aligned, rough], () =>
		moistureOffsets({ book, plan: bare, records, account, track, match: aligned, seams: rough }),
	);
	const moistureOffset_pct = moisture.map((m) => m.offset_pct);
	const before = make('seam jumps, offsets in', [look, moistureOffset_pct], () => asRecorded(moistureOffset_pct));

	const factorPlan = withPins({ factors: factorPins, level });
	const solved = make(
		'factors',
		[records, account, track, aligned, reference, seams, before, moisture, book, factorPlan],
		() =>
			stated(plan, records, () =>
				factorsOf(
					{
						records,
						account,
						track,
						match: aligned,
						reference,
						seams,
						jumps: before,
						moisture,
						book,
						plan: factorPlan,
					},
					progress,
				),
			),
	);
	const { factors } = solved;
	const match = make('match, factors in', [solved], () => afterFactors(solved.match, factors));

	// Levels scale the whole map; only a factor that varies within a combine changes its pattern.
	const parts = make('factor parts', [records, account, factors], () => factorParts(records, account, factors));
	const mapPlan = withPins({}, lone === undefined ? {} : { lone });
	const pattern = make('pattern', [records, account, track, rough, parts.shape, mapPlan], () =>
		fieldPattern({ records, account, track, jumps: rough, shape: parts.shape, plan: mapPlan }),
	);
	const weights = make('weights', [records, track, pattern, grid], () =>
		grid ? layWeights({ records, track, pattern }, progress) : noWeights(),
	);
	const yields = make('yields', [...read, account, track, factors, moisture, pattern], () =>
		rescale({ records, account, track, factors, moisture, plan: bare, pattern }),
	);
	const surface = make('surface', [records, track, yields, weights], () =>
		fieldSurface({ records, track, yields, weights }, progress),
	);

	progress.step('seams', 0.5);
	const shaped = make('seam blocks, factors in', [look, account, track, parts.shape], () =>
		parts.shape === null ? look : lookAtSeams({ records, account, track, seams, shape: parts.shape }),
	);
	const jumps = make(
		'seam jumps, factors in',
		[before, shaped, parts.level_log, factors.covariance, moistureOffset_pct],
		() => {
			const { covariance } = factors;
			const after = seamJumps(shaped, { level_log: parts.level_log, covariance, moistureOffset_pct });
			return before.map((jump, i) => ({
				...jump,
				after_pct: after[i]?.after_pct ?? jump.after_pct,
				after_interval: after[i]?.after_interval ?? jump.after_interval,
				remarks: [...new Set([...jump.remarks, ...(after[i]?.remarks ?? [])])],
			}));
		},
	);
	const comparison = make('comparison', [...read, account, track, match, factors, moisture, seams, jumps], () =>
		compareCombines({ records, account, track, match, factors, moisture, seams, jumps, plan: bare }),
	);

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

type Solved = ReturnType<typeof factorsOf>;

/**
 * Solves the factors and reports impossible statements of the user as faults: a pinned form that the records cannot
 * determine, or a total or factor that leaves another combine a negative mass.
 */
function stated(plan: FieldPlan, records: Field['records'], solve: () => Solved): Solved {
	const pins = Object.entries(plan.pins.factors ?? {});
	const fault = (file: string, column: string | null, found: unknown, why: string): SetAside => ({
		file,
		row: null,
		column,
		found: String(found ?? ''),
		why,
	});
	let solved: Solved;
	try {
		solved = solve();
	} catch (thrown) {
		const forms = pins.filter(([, pin]) => pin.form && pin.form !== 'constant');
		if (forms.length === 0 || thrown instanceof Stopped || thrown instanceof InputFault) throw thrown;
		const why =
			'weights and records do not tell such a form apart here; pin "constant", or leave the form to be estimated';
		throw new InputFault(forms.map(([name, { form }]) => fault('field.json', `pins.factors.${name}.form`, form, why)));
	}
	const below = solved.factors.factor.findIndex((value) => value <= 0);
	if (below < 0) return solved;
	const name = records.combines[records.combine[below] as number];
	const why = `with this, combine ${name} would have brought in less than nothing: what is stated and what was weighed contradict each other`;
	const faults = pins
		.filter(([, pin]) => pin.value !== undefined)
		.map(([pinned, { value }]) => fault('field.json', `pins.factors.${pinned}.value`, value, why));
	if (plan.total) faults.push(fault('field.json', 'total.wet_kg', plan.total.wet_kg, why));
	if (faults.length === 0) faults.push(fault(plan.cartLog?.file ?? plan.tickets?.file ?? 'field.json', null, '', why));
	throw new InputFault(faults);
}
