import type { Seam, SeamJump } from '../model/index.ts';
import { tQuantile } from '../stats/index.ts';
import { lengthInBoth } from '../units/index.ts';
import { combine, type SeamValue } from './combine.ts';
import { bySeam } from './contrast.ts';
import { drying } from './drying.ts';
import type { Halves } from './halves.ts';
import type { Block } from './profile.ts';
import { MOST_BETWEEN, type SampledSeams, sideOf } from './sample.ts';

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
	const { seams, records, blocks, value, halves, baseline, axis } = sampled;
	const { level_log: level, covariance, moistureOffset_pct } = correction;
	const remarks: string[] = [];
	const clean = list.filter((i) => seams[i]!.excluded === null && blocks[i]!.length > 0);
	const left = list.filter(
		(i) => seams[i]!.excluded !== null || (blocks[i]!.length === 0 && list.length <= MOST_BETWEEN),
	).length;
	let extra = 0;
	let use = clean;
	if (clean.length === 0) {
		use = list.filter((i) => blocks[i]!.length > 0);
		extra = VARIETY_U;
	}
	if (use.length === 0) return null;
	const first = seams[use[0]!]!;
	const nameA = records.combines[first.combineA]!;
	const nameB = records.combines[first.combineB]!;
	const own = use.flatMap((i) => blocks[i]!);
	const dry = drying(own, moistureOffset_pct[first.combineA] ?? 0, moistureOffset_pct[first.combineB] ?? 0);
	// A combine's factor shifts all of its side equally, so it is added to the jump.
	const change = level ? level[first.combineA]! - level[first.combineB]! : 0;
	const jumpOf = (b: Block) => value(b) + change - (dry.logWater.get(b.seam) ?? 0);
	const sides = new Map(own.map((b) => [b.seam, sideOf(b, axis)]));
	const seamwise = bySeam(own, jumpOf);
	const gaps = bySeam(own, (b) => b.right[0]!.across - b.left[0]!.across);
	const values: SeamValue[] = [...seamwise].map(([seam, v]) => ({
		seam,
		...v,
		apart: Math.max(1, gaps.get(seam)!.jump),
		side: sides.get(seam)!,
	}));
	if (values.length === 0)
		return unknownJump(
			first,
			use.reduce((sum, i) => sum + seams[i]!.length_m, 0),
			dry.sensed_pct,
		);
	const fit = combine(values, seams, baseline);
	// The pattern's uncertainty is shared by all seams if one combine always cut the same half.
	// Passes determine only the sum of the two headers' widths: what one is set too wide, the other is not.
	const width = sampled.width_u_rel[first.combineA]! + sampled.width_u_rel[first.combineB]!;
	const u = Math.hypot(fit.u, extra, width, halves ? halves.u_log * sameHalf(own, halves) : 0);
	const length_m = (clean.length > 0 ? list.filter((i) => seams[i]!.excluded === null) : list).reduce(
		(sum, i) => sum + seams[i]!.length_m,
		0,
	);

	if (extra > 0) {
		remarks.push(
			`Combines ${nameA} and ${nameB} only meet where the variety changes; the difference there is unreliable.`,
		);
	} else if (left > 0) {
		remarks.push(
			`${left} of ${list.length} seams between ${nameA} and ${nameB} are not used: ${
				list.some((i) => seams[i]!.excluded !== null)
					? 'the variety changes there'
					: 'too little of them was cut with a full header'
			}.`,
		);
	}
	if (values.every((v) => v.side === values[0]!.side) && values.length > 1) {
		remarks.push(
			`Combine ${nameA} always cut on the same side of ${nameB}. A change across the field would look the same; swap sides ` +
				'in a few rounds.',
		);
	}
	if (values.length < 3) {
		remarks.push(
			`Combines ${nameA} and ${nameB} meet along ${values.length === 1 ? '1 seam' : '2 seams'} only, so the difference is less certain.`,
		);
	}
	if (dry.corrected > 0) {
		remarks.push('Where passes were cut at different times their grain was brought to the same moisture.');
	}

	if (halves) {
		const size = (100 * Math.abs(halves.log_rel)).toFixed(1);
		remarks.push(
			`Yields alternate by ${size}% in strips of ${lengthInBoth(halves.strip_m)}, a pattern like that of two planter halves. ` +
				'It is taken out of the difference.',
		);
	}

	let uAll = u;
	const cov = covariance;
	const C = records.combines.length;
	if (level && cov) {
		const { combineA: a, combineB: b } = first;
		const v = cov[a * C + a]! + cov[b * C + b]! - 2 * cov[a * C + b]!;
		if (Number.isFinite(v)) uAll = Math.hypot(u, Math.sqrt(Math.max(0, v)));
	}
	const t = tQuantile(0.975, fit.df);
	const percent = (v: number) => 100 * Math.expm1(v);
	const interval: [number, number] = [percent(fit.jump - t * uAll), percent(fit.jump + t * uAll)];
	const unknown: [number, number] = [Number.NaN, Number.NaN];
	return {
		combineA: first.combineA,
		combineB: first.combineB,
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
			.map((b) => ({
				x_m: b.x_m,
				y_m: b.y_m,
				log_jump: jumpOf(b),
				u_log: Math.max(0.002, seamwise.get(b.seam)?.spread ?? 0),
				length_m: b.length_m,
				seam: b.seam,
			}))
			.filter((b) => Number.isFinite(b.log_jump)),
		remarks,
	};
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
