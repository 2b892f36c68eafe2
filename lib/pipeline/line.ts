/** The main line: the one place where stages meet, in four parts. */
import { accountMass, withUnrecorded } from '../account/index.ts';
import { compareCombines } from '../compare/index.ts';
import { afterFactors, flowsOf } from '../factor/index.ts';
import {
	factorParts,
	fieldPattern,
	fieldSurface,
	krigingWeights,
	noWeights,
	type Pattern,
	type PatternInput,
	rescale,
	type Weights,
} from '../map/index.ts';
import { matchField } from '../match/index.ts';
import type { Each, Field, FieldPlan, Keep, Pins, Progress, Run } from '../model/index.ts';
import { moistureOffsets, scaleReference } from '../reference/index.ts';
import { findSeams, groundOf, sampleSeams, seamJumps, withShape } from '../seams/index.ts';
import { flagTrack, unflaggedTrack } from '../track/index.ts';
import { evidenceOf, factorsOf } from './factors.ts';
import { buildResult } from './result/result.ts';
import { formsStated, possible } from './stated.ts';

/** A run on its way. */
export interface Line {
	field: Field;
	progress: Progress;
	grid: boolean;
	/** Does parts of a stage, on several threads where there are some. */
	each: Each;
	/** Makes a stage, or takes what it made before from the same inputs. */
	make: Keep;
}

/** The plan with the pins and thresholds that a stage uses. */
const planWith = (plan: FieldPlan, pins: Pins, flags: FieldPlan['flags'] = {}): FieldPlan => ({ ...plan, pins, flags });

/** Differences at the seams of yields as recorded. */
const asRecorded = (sampled: ReturnType<typeof sampleSeams>, moistureOffset_pct: number[]) =>
	seamJumps(sampled, { level_log: null, covariance: null, moistureOffset_pct });

/** The first part: what follows from the records without a weight. */
export function seen({ field, progress, make, each }: Line) {
	const { records, book, boundary, varieties, plan } = field;
	const { lone, ...mechanical } = plan.flags;
	const bare = planWith(plan, {});

	const recorded = make('account', [records], () => accountMass(records));
	const lagPlan = planWith(plan, { lags: plan.pins.lags });
	const unflagged = make('ground', [records, recorded, lagPlan, boundary, varieties], () =>
		unflaggedTrack({ records, plan: lagPlan, boundary, varieties, account: recorded }, progress, each),
	);
	const account = make('whole account', [records, recorded, unflagged], () =>
		withUnrecorded(records, recorded, unflagged.track, unflagged.combines),
	);
	const flagPlan = planWith(plan, {}, mechanical);
	const track = make('track', [records, account, unflagged, flagPlan], () =>
		flagTrack(unflagged, { records, plan: flagPlan, account }),
	);
	const reference = make('reference', [book, bare], () => scaleReference({ book, plan: bare }));

	progress.step('seams', 0);
	let found: ReturnType<typeof groundOf> | undefined;
	const seams = make('seams', [records, bare, track, varieties], () => {
		found = groundOf(track);
		return findSeams({ records, track, plan: bare, varieties, ground: found }, each);
	});
	const sampled = make('seam blocks', [records, account, track, seams], () =>
		sampleSeams({ records, account, track, seams, ...(found && { ground: found }) }),
	);
	const rough = make('seam jumps', [sampled], () =>
		asRecorded(
			sampled,
			records.combines.map(() => 0),
		),
	);
	const flows = make('flows', [records, account, track, seams], () => flowsOf({ records, account, track, seams }));
	// Nothing that is returned may refer to the unflagged track: it is as large as all records.
	return { account, track, reference, seams, sampled, rough, flows };
}

export type Seen = ReturnType<typeof seen>;

/** What the map's pattern is made from. Levels scale the whole map; only factors that vary within a combine have a shape. */
export function patternInput(
	{ field }: Line,
	{ account, track, rough }: Seen,
	shape: PatternInput['shape'],
): PatternInput {
	const { lone } = field.plan.flags;
	const plan = planWith(field.plan, {}, lone === undefined ? {} : { lone });
	return { records: field.records, account, track, jumps: rough, shape, plan };
}

/** The second part: what follows from the weights. */
export function weighed({ field, progress, make }: Line, ground: Seen) {
	const { records, book, plan } = field;
	const { account, track, reference, seams, sampled, rough, flows } = ground;
	const { lags: _, factors: factorPins, level, ...matchPins } = plan.pins;
	const bare = planWith(plan, {});
	const matchPlan = planWith(plan, matchPins);
	const aligned = make('match', [records, account, track, book, matchPlan, reference, rough], () =>
		matchField({ records, account, track, book, plan: matchPlan, reference, seams: rough }, progress, make),
	);
	const moisture = make('moisture', [records, bare, account, track, book, aligned, rough], () =>
		moistureOffsets({ book, plan: bare, records, account, track, match: aligned, seams: rough }),
	);
	const moistureOffset_pct = moisture.map((m) => m.offset_pct);
	const before = make('seam jumps, offsets in', [sampled, moistureOffset_pct], () =>
		asRecorded(sampled, moistureOffset_pct),
	);

	const weights = { records, account, track, match: aligned, reference, seams, jumps: before, moisture, book, flows };
	const read = [records, account, track, aligned, reference, seams, before, moisture, book, flows];
	const forms = planWith(plan, { factors: formsOf(factorPins), dumps: matchPins.dumps });
	// Wrapped in a function, which is like no other: to compare two of these would take as long as to make one.
	const evidence = make('evidence', [...read, forms], () =>
		formsStated(plan, () => {
			const found = evidenceOf({ ...weights, plan: forms }, progress);
			return () => found;
		}),
	);
	const factorPlan = planWith(plan, { factors: factorPins, level });
	const solved = make('factors', [...read, evidence, factorPlan], () =>
		possible(
			plan,
			records,
			formsStated(plan, () => factorsOf({ ...weights, plan: factorPlan }, progress, evidence())),
		),
	);
	const { factors, reference: byUsed } = solved;
	const match = make('match, factors in', [solved], () => afterFactors(solved.match, factors));
	return { match, reference: byUsed, moisture, moistureOffset_pct, before, factors };
}

type Weighed = ReturnType<typeof weighed>;

/** The forms set by hand, without values. */
function formsOf(pins: Pins['factors'] = {}): NonNullable<Pins['factors']> {
	const forms = Object.entries(pins).flatMap(([name, { form }]) => (form === undefined ? [] : [[name, { form }]]));
	return Object.fromEntries(forms);
}

/**
 * Shapes with a smaller spread leave the pattern as it is, natural log. By simulation: with spreads of 0.02 the grid is as
 * near to the truth without the shape as with it (1.05 and 1.06 % rms over 4 fields), with 0.05 up to half as far again (1.5 and 1.0 %).
 */
const SHAPED_LOG = 0.02;

/**
 * The third part: the yields of all records.
 *
 * @param ahead - the map's pattern, if it was made before it was known whether the factors have a shape
 */
export function corrected(line: Line, ground: Seen, scales: Weighed, ahead?: Pattern) {
	const { field, make } = line;
	const { records, plan } = field;
	const { account, track } = ground;
	const { moisture, factors } = scales;
	const bare = planWith(plan, {});
	const parts = make('factor parts', [records, account, factors], () => factorParts(records, account, factors));
	const shape = parts.spread_log > SHAPED_LOG ? parts.shape : null;
	const input = patternInput(line, ground, shape);
	const pattern =
		(shape === null ? ahead : undefined) ??
		make('pattern', [records, account, track, input.jumps, input.shape, input.plan], () =>
			fieldPattern(input, line.each),
		);
	const yields = make('yields', [records, bare, account, track, factors, moisture, pattern], () =>
		rescale({ records, account, track, factors, moisture, plan: bare, pattern }),
	);
	return { pattern, parts, yields };
}

type Corrected = ReturnType<typeof corrected>;

/** The combines side by side: what is left at the seams, and how they differ. */
function compared({ field, progress, make }: Line, ground: Seen, scales: Weighed, { parts }: Corrected) {
	const { records, plan } = field;
	const { account, track, seams, sampled } = ground;
	const { match, moisture, moistureOffset_pct, before, factors } = scales;
	const bare = planWith(plan, {});
	progress.step('seams', 0.5);
	const shaped = make('seam blocks, factors in', [sampled, account, parts.shape], () =>
		parts.shape === null ? sampled : withShape(sampled, account, parts.shape),
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
	const comparison = make('comparison', [records, bare, account, track, match, factors, moisture, seams, jumps], () =>
		compareCombines({ records, account, track, match, factors, moisture, seams, jumps, plan: bare }),
	);
	return { jumps, comparison };
}

/**
 * The fourth part: the combines side by side, the map, and the run as a whole.
 *
 * @param ahead - the weights of its grid, if they were made from the same pattern before
 */
export function mapped(line: Line, ground: Seen, scales: Weighed, done: Corrected, ahead?: Weights): Run {
	const { pattern, yields } = done;
	const { jumps, comparison } = compared(line, ground, scales, done);
	const { field, progress, make } = line;
	const { records } = field;
	const { account, track, seams } = ground;
	const { match, reference, moisture, factors } = scales;
	const weights =
		ahead ??
		make('weights', [records, track, pattern, line.grid], () =>
			line.grid ? krigingWeights({ records, track, pattern }, progress, line.each) : noWeights(),
		);
	const surface = make('surface', [records, track, yields, weights], () =>
		fieldSurface({ records, track, yields, weights }, progress),
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
