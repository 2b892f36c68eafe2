/**
 * Narrow overlaps that the grain refutes. A receiver that wanders by half a row takes a row from the ground that the
 * header cut all the same: the stretch then shows as a dark bar. Along one pair of passes the flow of the later pass,
 * over the flow of the earlier one beside it, drops where width is really lost, by as much as the width does; where it
 * does not, nothing was lost. Only the pair is compared with itself, so that neither factors nor crop matter.
 */
import { median } from '../../stats/median.ts';
import type { TimeGrid } from '../lag/time-grid.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Sides } from './find-sides.ts';
import type { Ground } from './new-ground.ts';
import { perMeter } from './overlap.ts';

/** Width taken from less than this share of the header is left as it is. */
const LEAST_SHARE = 0.03;
/** Overlaps wider than this share are no receiver's wander. */
const WIDEST_SHARE = 0.3;
/** Pieces on each side of the comparison. */
const LEAST_PIECES = 12;
/** Pieces of one stretch lie at most this far apart along the pass, meters. */
const APART_M = 12;

/**
 * @param input - `ground`: as the order of time has it; `flows`: flow on a regular time grid, by combine; `lag_s`: by combine
 * @returns by side of travel, 1 where a piece keeps its full width on that side; null where nothing is refuted
 */
export function refutedOverlaps(input: {
	pieces: Pieces;
	sides: Sides;
	ground: Ground;
	flows: (TimeGrid | null)[];
	lag_s: number[];
}): [Uint8Array, Uint8Array] | null {
	const { pieces, sides, ground, flows, lag_s } = input;
	const { n, width_m, pass, way_m } = pieces;
	const passes = pass.reduce((most, p) => Math.max(most, p), 0) + 1;
	const groups = new Map<number, { side: 0 | 1; full: number[]; cut: number[] }>();
	const ratio = [new Float64Array(n), new Float64Array(n)] as const;
	const lost_m = (i: number, side: 0 | 1) =>
		side === 0 ? ground.left_m[i]! + width_m[i]! / 2 : width_m[i]! / 2 - ground.right_m[i]!;
	for (let i = 0; i < n; i++) {
		if (pass[i]! < 0 || sides.crossed.has(i)) continue;
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			if (j < 0 || pass[j]! < 0 || lost_m(i, side === 0 ? 1 : 0) > LEAST_SHARE * width_m[i]!) continue;
			const lost = lost_m(i, side);
			if (lost > WIDEST_SHARE * width_m[i]!) continue;
			const value = Math.log(perMeter(pieces, i, flows, lag_s) / perMeter(pieces, j, flows, lag_s));
			if (!Number.isFinite(value)) continue;
			ratio[side][i] = value;
			const key = 2 * (pass[i]! * passes + pass[j]!) + side;
			let g = groups.get(key);
			if (g === undefined) groups.set(key, (g = { side, full: [], cut: [] }));
			(lost > LEAST_SHARE * width_m[i]! ? g.cut : g.full).push(i);
		}
	}
	const kept: [Uint8Array, Uint8Array] = [new Uint8Array(n), new Uint8Array(n)];
	let any = false;
	for (const { side, full, cut } of groups.values()) {
		if (full.length < LEAST_PIECES) continue;
		const usual = median(full.map((i) => ratio[side][i]!));
		for (const stretch of stretches(cut, way_m)) {
			if (stretch.length < LEAST_PIECES) continue;
			const drop = median(stretch.map((i) => ratio[side][i]!)) - usual;
			const expected = median(stretch.map((i) => Math.log(1 - lost_m(i, side) / width_m[i]!)));
			if (drop < expected / 2) continue;
			any = true;
			for (const i of stretch) kept[side][i] = 1;
		}
	}
	return any ? kept : null;
}

/** Runs of pieces that follow each other along a pass. */
function stretches(list: number[], way_m: Float64Array): number[][] {
	const out: number[][] = [];
	for (const i of list) {
		const last = out.at(-1)?.at(-1);
		if (last !== undefined && Math.abs(way_m[i]! - way_m[last]!) < APART_M) out.at(-1)!.push(i);
		else out.push([i]);
	}
	return out;
}
