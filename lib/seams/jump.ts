import type { Account, Records, Seam, SeamJump, Track } from '../model/index.ts';
import { median, tQuantile } from '../stats/index.ts';
import { lengthInBoth } from '../units/index.ts';
import { blockJump, bySeam, quietest } from './contrast.ts';
import { drying } from './drying.ts';
import { findHalves, type Halves } from './halves.ts';
import { groundOf } from './neighbors.ts';
import { type Block, blocksOf, withCombines } from './profile.ts';

/**
 * Difference of two passes' means from the sensors' slow errors alone, when cut at different times, relative: about
 * one percent each, half of it averaged out within a pass (common practice). Same-combine neighbors, cut minutes
 * apart, hardly show it.
 */
const SLOW_U = 0.008;
/** Scatter between neighboring passes assumed where there is no same-combine seam, relative. */
const UNKNOWN_U = 0.015;
/** Degrees of freedom given to the expected between-seam scatter when pooled with the observed one. */
const EXPECTED_DF = 4;
/** Standard deviation of a gradient across a seam, per swath, that no other seam shows: half a percent. */
const GRADIENT_U = 0.003;
/** Relative difference between varieties allowed for where all seams are between varieties. */
const VARIETY_U = 0.05;

/** The blocks of all seams as recorded: the part of the jumps that no factor changes. */
export interface SeamLook {
	records: Records;
	seams: Seam[];
	/** Seams by pair of combines. */
	pairs: number[][];
	/** By seam; empty for a seam that was not sampled. */
	blocks: Block[][];
	/** A block's jump by the field's contrast, alternating strips taken out. */
	value(block: Block): number;
	halves: Halves | null;
	still: Still;
	axis: { x: number; y: number };
}

interface Still {
	u: number;
	gradient: number;
	gradientU: number;
}

/** A correction of the recorded yields. */
export interface Correction {
	/** Natural log of each combine's factor; NaN where it has none. null = as recorded. */
	level_log: ArrayLike<number> | null;
	/** Covariance of the log factors (combines × combines), for the intervals after correction. */
	covariance: ArrayLike<number> | null;
	/** By combine, added to the sensor's moisture, points. */
	moistureOffset_pct: number[];
}

interface SeamValue {
	seam: number;
	jump: number;
	length_m: number;
	blocks: number;
	/** +1 or −1: on which side of the second pass the first lies, along the field's axis. */
	side: number;
}

/**
 * Cuts all seams into blocks and finds the contrast for their jumps; same-combine seams show what zero looks like.
 *
 * @param shape - factor of each record over its combine's mean, one value per record; null = all 1
 */
export function lookAtSeams(input: {
	records: Records;
	account: Account;
	track: Track;
	seams: Seam[];
	shape: Float64Array | null;
}): SeamLook {
	const { records, track, account, seams, shape } = input;
	const ground = groundOf(track);
	const combineOf = (pass: number) => track.passes[pass]!.combine;
	const all = seams.map((_, i) => i);
	const same = thinned(
		all.filter((i) => seams[i]!.combineA === seams[i]!.combineB && !seams[i]!.excluded),
		MOST_SAME,
	);
	const byPair = new Map<string, number[]>();
	for (const i of all) {
		const s = seams[i]!;
		if (s.combineA === s.combineB) continue;
		const key = `${s.combineA} ${s.combineB}`;
		const list = byPair.get(key);
		if (list) list.push(i);
		else byPair.set(key, [i]);
	}
	const pairs = [...byPair.values()].sort((p, q) => {
		const a = seams[p[0]!]!;
		const b = seams[q[0]!]!;
		return a.combineA - b.combineA || a.combineB - b.combineB;
	});
	const looked = new Set([...same, ...pairs.flatMap((list) => thinned(list, MOST_BETWEEN))]);
	const blocks = seams.map((s, i) =>
		looked.has(i) ? withCombines(blocksOf(s, i, track, ground, account, shape), s, combineOf) : [],
	);
	const nullBlocks = same.flatMap((i) => blocks[i]!);
	const pick = quietest(nullBlocks);
	const axis = fieldAxis(blocks);
	const halves = findHalves(nullBlocks, pick.contrast, axis, ground.usual_m.find((w) => w > 0) ?? Number.NaN);
	const value = (b: Block) => blockJump(b, pick.contrast) - (halves ? halves.jump(b) : 0);
	return { records, seams, pairs, blocks, value, halves, still: nullScatter(nullBlocks, value, axis), axis };
}

/** Jumps at the seams of every pair of combines that meet, after a correction. */
export function seamJumps(look: SeamLook, correction: Correction): SeamJump[] {
	return look.pairs.map((list) => pairJump(look, list, correction)).filter((j) => j !== null);
}

/** Most seams used within combines and between two of them: more add time, not information. */
const MOST_SAME = 300;
const MOST_BETWEEN = 600;

/** At most `most` items of a list, evenly spaced. */
function thinned(list: readonly number[], most: number): number[] {
	if (list.length <= most) return [...list];
	return Array.from({ length: most }, (_, k) => list[Math.floor((k * list.length) / most)]!);
}

/** A unit vector across most passes, so that "the same side" means the same all over the field. */
function fieldAxis(blocks: readonly Block[][]): { x: number; y: number } {
	// Directions without sign are averaged by doubling the angles.
	let c = 0;
	let s = 0;
	for (const list of blocks) {
		for (const b of list) {
			const angle = 2 * Math.atan2(b.toY, b.toX);
			c += b.length_m * Math.cos(angle);
			s += b.length_m * Math.sin(angle);
		}
	}
	const angle = Math.atan2(s, c) / 2;
	return { x: Math.cos(angle), y: Math.sin(angle) };
}

function sideOf(b: Block, axis: { x: number; y: number }): number {
	return b.toX * axis.x + b.toY * axis.y >= 0 ? 1 : -1;
}

/** Scatter between same-combine seams and the gradient along the field's axis. */
function nullScatter(nullBlocks: readonly Block[], value: (b: Block) => number, axis: { x: number; y: number }): Still {
	const byNull = bySeam(nullBlocks, value);
	const sides = new Map(nullBlocks.map((b) => [b.seam, sideOf(b, axis)]));
	const oriented = [...byNull].map(([seam, v]) => v.jump * sides.get(seam)!);
	if (oriented.length < 5) return { u: UNKNOWN_U, gradient: 0, gradientU: 2 * GRADIENT_U };
	const gradient = median(oriented);
	const u = 1.4826 * median(oriented.map((v) => Math.abs(v - gradient)));
	const gradientU = Math.hypot((1.25 * u) / Math.sqrt(oriented.length), GRADIENT_U);
	return { u: Math.hypot(Math.max(u, 0.003), SLOW_U), gradient, gradientU };
}

function pairJump(look: SeamLook, list: readonly number[], correction: Correction): SeamJump | null {
	const { seams, records, blocks, value, halves, still, axis } = look;
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
	const values: SeamValue[] = [...seamwise].map(([seam, v]) => ({ seam, ...v, side: sides.get(seam)! }));
	if (values.length === 0)
		return unknownJump(
			first,
			use.reduce((sum, i) => sum + seams[i]!.length_m, 0),
			dry.sensed_pct,
		);
	const fit = combine(values, seams, still);
	// The pattern's uncertainty is shared by all seams if one combine always cut the same half.
	const u = Math.hypot(fit.u, extra, halves ? halves.u_log * sameHalf(own, halves) : 0);
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

/** A longer seam gets no more weight than one of this length, since its error is common along it, meters. */
const COHERENT_M = 150;

/**
 * Mean jump over seams, J_s = J + g × side + error, with the gradient g's prior from same-combine seams. The
 * uncertainty is the scatter between seams (those that share a pass are correlated) pooled with the expected scatter.
 */
function combine(
	values: readonly SeamValue[],
	seams: readonly Seam[],
	still: Still,
): { jump: number; u: number; df: number } {
	const n = values.length;
	const w = values.map((v) => v.length_m / (v.length_m + COHERENT_M));
	// Outlying seams are limited: a track or a ditch may run along one.
	const center = median(values.map((v) => v.jump - still.gradient * v.side));
	const scale = 1.4826 * median(values.map((v) => Math.abs(v.jump - still.gradient * v.side - center)));
	const reach = Math.max(3 * scale, 2.5 * still.u);
	const y = values.map((v) => {
		const off = v.jump - still.gradient * v.side - center;
		return center + Math.max(-reach, Math.min(reach, off));
	});
	// Normal equations of (J, g − gradient), the second with its prior.
	let a = 0;
	let b = 0;
	let c = 1 / still.gradientU ** 2;
	for (let i = 0; i < n; i++) {
		const q = w[i]! / still.u ** 2;
		a += q;
		b += q * values[i]!.side;
		c += q;
	}
	const det = a * c - b * b;
	const map = values.map((v, i) => ((w[i]! / still.u ** 2) * (c - b * v.side)) / det);
	const mapG = values.map((v, i) => ((w[i]! / still.u ** 2) * (a * v.side - b)) / det);
	const jump = map.reduce((sum, m, i) => sum + m * y[i]!, 0);
	const g = mapG.reduce((sum, m, i) => sum + m * y[i]!, 0);
	const e = y.map((v, i) => v - jump - g * values[i]!.side);
	let plain = 0;
	let shared = 0;
	let expected = 0;
	for (let i = 0; i < n; i++) {
		const s = seams[values[i]!.seam]!;
		for (let j = 0; j < n; j++) {
			const t = seams[values[j]!.seam]!;
			const both = map[i]! * map[j]! * e[i]! * e[j]!;
			// Seams on either side of one pass share its error by half.
			const share = i === j ? 1 : s.passA === t.passA || s.passB === t.passB ? 0.5 : 0;
			if (share > 0) expected += share * map[i]! * map[j]! * still.u ** 2;
			if (i === j) plain += both;
			if (share > 0) shared += both;
		}
	}
	const passes = Math.min(
		n,
		new Set(values.map((v) => seams[v.seam]!.passA)).size,
		new Set(values.map((v) => seams[v.seam]!.passB)).size,
	);
	const ownDf = Math.max(0, passes - 1);
	const found = n > 1 ? (Math.max(plain, shared) * n) / (n - 1) : 0;
	// Add the part of the gradient that the seams do not determine.
	const prior = (b / det / still.gradientU ** 2) ** 2 * still.gradientU ** 2;
	const variance = (found * ownDf + expected * EXPECTED_DF) / (ownDf + EXPECTED_DF) + prior;
	return { jump, u: Math.sqrt(variance), df: ownDf + EXPECTED_DF };
}
