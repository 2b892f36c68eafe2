/** Pairs of places side by side on seams of full-width passes, from which the lag is estimated. */
import type { Sides } from '../ground/sides.ts';
import type { PassRun, Pieces } from '../path/pieces.ts';
import { placeOn, type TimeGrid } from './time-grid.ts';

/** Places nearer to their pass's ends than this are left out, seconds. */
const END_S = 12;

/** Two places side by side: which combine, when (in steps of its grid), in which pair of passes. */
export interface Pair {
	combineA: number;
	a: number;
	combineB: number;
	b: number;
	group: number;
	opposite: boolean;
}

/** Places side by side on seams of full-width passes; at most `most` of them, evenly spaced. */
export function pairPlaces(input: {
	pieces: Pieces;
	sides: Sides;
	new_m: Float64Array;
	grids: (TimeGrid | null)[];
	runs: PassRun[];
	most: number;
}): Pair[] {
	const { pieces, sides, new_m, grids, runs, most } = input;
	const pairs: Pair[] = [];
	const groups = new Map<number, number>();
	const passes = pieces.pass.reduce((m, p) => Math.max(m, p), 0) + 1;
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.pass[i]! < 0 || new_m[i]! < 0.5 * pieces.width_m[i]! || atEnd(pieces, runs, i)) continue;
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			if (j < 0 || pieces.pass[j]! < 0 || new_m[j]! < 0.5 * pieces.width_m[j]!) continue;
			if (atEnd(pieces, runs, j)) continue;
			const ea = grids[pieces.combine[i]!];
			const eb = grids[pieces.combine[j]!];
			if (ea == null || eb == null) continue;
			const cos = pieces.ux[i]! * pieces.ux[j]! + pieces.uy[i]! * pieces.uy[j]!;
			// In the same direction with the same combine, both shift together and show nothing.
			if (cos > 0 && pieces.combine[i] === pieces.combine[j]) continue;
			const ti = (pieces.from_s[i]! + pieces.to_s[i]!) / 2;
			const along =
				(pieces.x_m[i]! - pieces.x_m[j]!) * pieces.ux[j]! + (pieces.y_m[i]! - pieces.y_m[j]!) * pieces.uy[j]!;
			const span = pieces.to_s[j]! - pieces.from_s[j]!;
			const tj = (pieces.from_s[j]! + pieces.to_s[j]!) / 2 + (along / pieces.length_m[j]!) * span;
			const key = pieces.pass[i]! * passes + pieces.pass[j]!;
			let group = groups.get(key);
			if (group === undefined) groups.set(key, (group = groups.size));
			pairs.push({
				combineA: pieces.combine[i]!,
				a: placeOn(ea, ti),
				combineB: pieces.combine[j]!,
				b: placeOn(eb, tj),
				group,
				opposite: cos < 0,
			});
		}
	}
	const keep = Math.ceil(pairs.length / most);
	return keep <= 1 ? pairs : pairs.filter((_, k) => k % keep === 0);
}

/**
 * True near the start or end of a pass, where the flow shows when the header moved down or up. An antenna ahead or
 * behind, or a header lowered early, shifts that against the ground.
 */
function atEnd(pieces: Pieces, runs: PassRun[], i: number): boolean {
	const run = runs[pieces.pass[i]!]!;
	return pieces.from_s[i]! - run.start_s < END_S || run.end_s - pieces.to_s[i]! < END_S;
}

/** Pairs as columns, with groups renumbered from 0. */
export interface Pairs {
	n: number;
	groups: number;
	combineA: Uint8Array;
	combineB: Uint8Array;
	a: Float64Array;
	b: Float64Array;
	group: Int32Array;
}

export function numbered(pairs: Pair[]): Pairs {
	const names = new Map<number, number>();
	const group = Int32Array.from(pairs, (p) => {
		let number = names.get(p.group);
		if (number === undefined) names.set(p.group, (number = names.size));
		return number;
	});
	return {
		n: pairs.length,
		groups: names.size,
		combineA: Uint8Array.from(pairs, (p) => p.combineA),
		combineB: Uint8Array.from(pairs, (p) => p.combineB),
		a: Float64Array.from(pairs, (p) => p.a),
		b: Float64Array.from(pairs, (p) => p.b),
		group,
	};
}
