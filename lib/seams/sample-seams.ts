/** The blocks of all seams, and what same-combine seams show of the scatter between neighboring passes. */
import { openTree } from '../geo/near.ts';
import type { Account, Records, Seam, Track } from '../model/index.ts';
import { groupBy, median } from '../stats/index.ts';
import { type Ground, groundOf } from './contacts.ts';
import { blockJump, bySeam, quietest } from './contrast.ts';
import { findHalves, type Halves } from './halves.ts';
import { type Block, blocksOf, type Strand, withCombines } from './profile.ts';

/**
 * Difference of two passes' means from the sensors' slow errors alone, when cut at different times, relative: about
 * one percent each, half of it averaged out within a pass (common practice). Same-combine neighbors, cut minutes
 * apart, hardly show it.
 */
const SLOW_U = 0.008;

/** Scatter between neighboring passes assumed where there is no same-combine seam, relative. */
const UNKNOWN_U = 0.015;
/** … and its degrees of freedom: within a factor of about two. */
const UNKNOWN_DF = 4;
/** Efficiency of a median deviation as an estimate of normal scatter, against the root mean square (Huber 1981). */
const MAD_EFFICIENCY = 0.37;
/** Seams between combines need not scatter quite as those within one. */
const MOST_DF = 8;

/** Standard deviation of a gradient across a seam, per swath, that no other seam shows: half a percent. */
const GRADIENT_U = 0.003;

/** The blocks of all seams, and where they were cut: the part of the jumps that no factor's level changes. */
export interface SampledSeams extends Cut {
	records: Records;
	/** A block's jump by the field's contrast, alternating strips taken out. */
	value(block: Block): number;
	halves: Halves | null;
	baseline: Baseline;
	axis: { x: number; y: number };
	/** Relative uncertainty of each combine's header width. */
	width_u_rel: readonly number[];
}

/** The blocks of all seams. */
interface Cut {
	seams: Seam[];
	/** Seams by pair of combines. */
	pairs: number[][];
	/** Seams within combines that are sampled. */
	same: number[];
	/** By seam; empty for a seam that was not sampled. */
	blocks: Block[][];
	/** Records of the blocks' strands. */
	members: Int32Array;
	/** Usual width of a swath, NaN if there is none. */
	swath_m: number;
}

/** What seams within combines show: log scatter between seams, and a gradient along the axis with its uncertainty. */
export interface Baseline {
	u: number;
	/** Degrees of freedom of that scatter. */
	df: number;
	gradient: number;
	gradientU: number;
}

/** Cuts all seams into blocks and finds the contrast for their jumps; same-combine seams show what zero looks like. */
export function sampleSeams(input: {
	records: Records;
	account: Account;
	track: Track;
	seams: Seam[];
	ground?: Ground;
}): SampledSeams {
	const { records, track, account, seams, ground = groundOf(track) } = input;
	const combineOf = (pass: number) => track.passes[pass]!.combine;
	const all = seams.map((_, i) => i);
	const same = thinned(
		all.filter((i) => seams[i]!.combineA === seams[i]!.combineB && !seams[i]!.excluded),
		MOST_SAME,
	);
	const between = all.filter((i) => seams[i]!.combineA !== seams[i]!.combineB);
	const byPair = groupBy(between, (i) => `${seams[i]!.combineA} ${seams[i]!.combineB}`);
	const pairs = [...byPair.values()].sort((p, q) => {
		const a = seams[p[0]!]!;
		const b = seams[q[0]!]!;
		return a.combineA - b.combineA || a.combineB - b.combineB;
	});
	const sampled = new Set([...same, ...pairs.flatMap((list) => thinned(list, MOST_BETWEEN))]);
	const members: number[] = [];
	const index = openTree(ground.tree);
	const blocks = seams.map((s, i) =>
		sampled.has(i) ? withCombines(blocksOf(s, i, { track, ground, index, account, members }), s, combineOf) : [],
	);
	const swath_m = ground.usual_m.find((w) => w > 0) ?? Number.NaN;
	const width_u_rel = track.width_u_rel ?? records.combines.map(() => 0);
	return {
		records,
		width_u_rel,
		...contrasted({ seams, pairs, same, blocks, members: Int32Array.from(members), swath_m }),
	};
}

/**
 * The same blocks with the factors' shape in.
 *
 * @param shape - factor of each record over its combine's mean, one value per record
 */
export function withShape(sampled: SampledSeams, account: Account, shape: Float64Array): SampledSeams {
	const { members } = sampled;
	const shaped = (strand: Strand): Strand => {
		let mass_kg = 0;
		for (let k = strand.first; k < strand.end; k++) {
			const i = members[k]!;
			mass_kg += account.account_kg[i]! * shape[i]!;
		}
		return { ...strand, logYield: Math.log(mass_kg / strand.area_m2) };
	};
	const blocks = sampled.blocks.map((list) =>
		list.map((b) => ({ ...b, left: b.left.map(shaped), right: b.right.map(shaped) })),
	);
	return { ...sampled, ...contrasted({ ...sampled, blocks }) };
}

/** What the blocks show together. */
function contrasted(cut: Cut): Cut & Pick<SampledSeams, 'value' | 'halves' | 'baseline' | 'axis'> {
	const { blocks, same, swath_m } = cut;
	const nullBlocks = same.flatMap((i) => blocks[i]!);
	const pick = quietest(nullBlocks);
	const axis = fieldAxis(blocks);
	const halves = findHalves(nullBlocks, pick.contrast, axis, swath_m);
	const value = (b: Block) => blockJump(b, pick.contrast) - (halves ? halves.jump(b) : 0);
	return { ...cut, value, halves, baseline: baselineOf(nullBlocks, value, axis), axis };
}

/** Most seams used within combines and between two of them: more add time, not information. */
const MOST_SAME = 300;

export const MOST_BETWEEN = 600;

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

export function sideOf(b: Block, axis: { x: number; y: number }): number {
	return b.toX * axis.x + b.toY * axis.y >= 0 ? 1 : -1;
}

/** Scatter between same-combine seams and the gradient along the field's axis. */
function baselineOf(
	nullBlocks: readonly Block[],
	value: (b: Block) => number,
	axis: { x: number; y: number },
): Baseline {
	const byNull = bySeam(nullBlocks, value);
	const sides = new Map(nullBlocks.map((b) => [b.seam, sideOf(b, axis)]));
	const oriented = [...byNull].map(([seam, v]) => v.jump * sides.get(seam)!);
	if (oriented.length < 5) return { u: UNKNOWN_U, df: UNKNOWN_DF, gradient: 0, gradientU: 2 * GRADIENT_U };
	const gradient = median(oriented);
	const u = 1.4826 * median(oriented.map((v) => Math.abs(v - gradient)));
	const gradientU = Math.hypot((1.25 * u) / Math.sqrt(oriented.length), GRADIENT_U);
	const df = Math.min(MOST_DF, Math.max(UNKNOWN_DF, MAD_EFFICIENCY * oriented.length));
	return { u: Math.hypot(Math.max(u, 0.003), SLOW_U), df, gradient, gradientU };
}
