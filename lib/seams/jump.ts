import type { Seam, SeamJump } from '../model/index.ts';
import { tQuantile } from '../stats/index.ts';
import { bySeam } from './contrast.ts';
import { drying } from './drying.ts';
import type { Halves } from './halves.ts';
import { poolJumps, type SeamValue } from './pool-jumps.ts';
import type { Block } from './profile.ts';
import { type ChosenSeams, jumpRemarks } from './remarks.ts';
import { type SampledSeams, sideOf } from './sample-seams.ts';

/** Relative difference between varieties allowed for where all seams are between varieties. */
const VARIETY_U = 0.05;

/** A correction of the recorded yields. */
export interface Correction {
	/** Natural log of each combine's factor; NaN where it has none. null = as recorded. */
	level_log: ArrayLike<number> | null;
	/** Covariance of the log factors (combines × combines), for the intervals after correction. */
	covariance: ArrayLike<number> | null;
	/** By combine, added to the sensor's moisture, points. */
	moistureOffset_pct: number[];
}

/** Jumps at the seams of every pair of combines that meet, after a correction. */
export function seamJumps(sampled: SampledSeams, correction: Correction): SeamJump[] {
	return sampled.pairs.map((list) => pairJump(sampled, list, correction)).filter((j) => j !== null);
}

function pairJump(sampled: SampledSeams, list: readonly number[], correction: Correction): SeamJump | null {
	const { seams, blocks, value, halves, baseline, axis, width_u_rel } = sampled;
	const { level_log: level, covariance, moistureOffset_pct } = correction;
	const chosen = chooseSeams(sampled, list);
	if (chosen === null) return null;
	const { use, length_m } = chosen;
	const first = seams[use[0]!]!;
	const { combineA: a, combineB: b } = first;
	const own = use.flatMap((i) => blocks[i]!);
	const dry = drying(own, moistureOffset_pct[a] ?? 0, moistureOffset_pct[b] ?? 0);
	// A combine's factor shifts all of its side equally, so it is added to the jump.
	const change = level ? level[a]! - level[b]! : 0;
	const jumpOf = (block: Block) => value(block) + change - (dry.logWater.get(block.seam) ?? 0);
	const sides = new Map(own.map((block) => [block.seam, sideOf(block, axis)]));
	const seamwise = bySeam(own, jumpOf);
	const gaps = bySeam(own, (block) => block.right[0]!.across - block.left[0]!.across);
	const values: SeamValue[] = [...seamwise].map(([seam, v]) => ({
		seam,
		...v,
		apart: Math.max(1, gaps.get(seam)!.jump),
		side: sides.get(seam)!,
	}));
	if (values.length === 0) return unknownJump(first, lengthOf(seams, use), dry.sensed_pct);
	const fit = poolJumps(values, seams, baseline);
	// The pattern's uncertainty is shared by all seams if one combine always cut the same half.
	// Passes determine only the sum of the two headers' widths: what one is set too wide, the other is not.
	const width = width_u_rel[a]! + width_u_rel[b]!;
	const varieties = chosen.betweenVarieties ? VARIETY_U : 0;
	const u = Math.hypot(fit.u, varieties, width, halves ? halves.u_log * sameHalf(own, halves) : 0);
	const uAll = level && covariance ? Math.hypot(u, ratioU(covariance, sampled.records.combines.length, a, b)) : u;
	const t = tQuantile(0.975, fit.df);
	const percent = (v: number) => 100 * Math.expm1(v);
	const interval: [number, number] = [percent(fit.jump - t * uAll), percent(fit.jump + t * uAll)];
	const unknown: [number, number] = [Number.NaN, Number.NaN];
	return {
		combineA: a,
		combineB: b,
		before_pct: level ? Number.NaN : percent(fit.jump),
		before_interval: level ? unknown : interval,
		after_pct: level ? percent(fit.jump) : Number.NaN,
		after_interval: level ? interval : unknown,
		moisture_diff_pct: dry.sensed_pct,
		length_m,
		log_jump: fit.jump,
		u_log: uAll,
		df: fit.df,
		blocks: own
			.map((block) => ({
				x_m: block.x_m,
				y_m: block.y_m,
				log_jump: jumpOf(block),
				u_log: Math.max(0.002, seamwise.get(block.seam)?.spread ?? 0),
				length_m: block.length_m,
				seam: block.seam,
			}))
			.filter((block) => Number.isFinite(block.log_jump)),
		remarks: jumpRemarks(sampled, { list, chosen, values, dried: dry.corrected > 0 }),
	};
}

const lengthOf = (seams: readonly Seam[], which: readonly number[]): number =>
	which.reduce((sum, i) => sum + seams[i]!.length_m, 0);

/** The seams of a pair that are used: those within a variety, or, where there are none, all between varieties. */
function chooseSeams({ seams, blocks }: SampledSeams, list: readonly number[]): ChosenSeams | null {
	const within = list.filter((i) => seams[i]!.excluded === null);
	const clean = within.filter((i) => blocks[i]!.length > 0);
	const betweenVarieties = clean.length === 0;
	const use = betweenVarieties ? list.filter((i) => blocks[i]!.length > 0) : clean;
	if (use.length === 0) return null;
	return { use, betweenVarieties, length_m: lengthOf(seams, betweenVarieties ? list : within) };
}

/** Standard uncertainty of the log ratio of two combines' factors; 0 where it is not known. */
function ratioU(covariance: ArrayLike<number>, combines: number, a: number, b: number): number {
	const at = (i: number, j: number) => covariance[i * combines + j]!;
	const variance = at(a, a) + at(b, b) - 2 * at(a, b);
	return Number.isFinite(variance) ? Math.sqrt(Math.max(0, variance)) : 0;
}

/** Entry for a pair of which one has no factor, so that lists before and after correction correspond. */
function unknownJump(seam: Seam, length_m: number, moisture_diff_pct: number): SeamJump {
	const nan = Number.NaN;
	return {
		combineA: seam.combineA,
		combineB: seam.combineB,
		before_pct: nan,
		before_interval: [nan, nan],
		after_pct: nan,
		after_interval: [nan, nan],
		moisture_diff_pct,
		length_m,
		log_jump: nan,
		u_log: nan,
		df: 0,
		blocks: [],
		remarks: [],
	};
}

/** How consistently one combine cut one half: 1 always the same, 0 both equally. */
function sameHalf(blocks: readonly Block[], halves: Halves): number {
	let sum = 0;
	let w = 0;
	for (const b of blocks) {
		const p = halves.jump(b) / (Math.abs(halves.log_rel) || 1);
		if (!Number.isFinite(p)) continue;
		sum += b.length_m * p;
		w += b.length_m;
	}
	return w > 0 ? Math.abs(sum / w) : 0;
}
