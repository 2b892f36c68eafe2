/** Pairs of places side by side on seams of full-width passes, from which the lag is estimated. */
import type { Sides } from '../ground/find-sides.ts';
import type { PassRun, Pieces } from '../path/cut-pieces.ts';
import { placeOn, type TimeGrid } from './time-grid.ts';

/** Places nearer to their pass's ends than this are left out, seconds. */
const END_S = 12;

/** Pairs of places side by side, as columns of length `n`. */
export interface Pairs {
	n: number;
	/** Number of pairs of passes. */
	groups: number;
	/** The combine of either place, and when it was there, in steps of its grid. */
	combineA: Uint8Array;
	combineB: Uint8Array;
	a: Float64Array;
	b: Float64Array;
	/** Pair of passes, numbered in order. */
	group: Int32Array;
	/** 1 where the two went in opposite directions. */
	opposite: Uint8Array;
}

/** Pieces with a neighbor on a seam of full-width passes, each as twice its number, plus the side. */
export function piecesPaired(input: PairInput): Int32Array {
	const { pieces, sides, new_m, grids, runs } = input;
	const { combine, pass, ux, uy } = pieces;
	const inside = (i: number) =>
		pass[i]! >= 0 && grids[combine[i]!] != null && new_m[i]! >= 0.5 * pieces.width_m[i]! && !atEnd(pieces, runs, i);
	const found = new Int32Array(2 * pieces.n);
	let n = 0;
	for (let i = 0; i < pieces.n; i++) {
		if (!inside(i)) continue;
		for (const side of [0, 1] as const) {
			const j = sides.piece[side][i]!;
			if (j < 0 || !inside(j)) continue;
			// In the same direction with the same combine, both shift together and show nothing.
			if (combine[i] === combine[j] && ux[i]! * ux[j]! + uy[i]! * uy[j]! > 0) continue;
			found[n++] = 2 * i + side;
		}
	}
	return found.slice(0, n);
}

interface PairInput {
	pieces: Pieces;
	sides: Sides;
	new_m: Float64Array;
	/** One per combine; null where it has no records. */
	grids: readonly (TimeGrid | null)[];
	runs: PassRun[];
}

/** Places side by side: at most `most` of the pieces paired, evenly spaced. */
export function pairPlaces({ pieces, sides, grids }: PairInput, paired: Int32Array, most: number): Pairs {
	const { combine, pass, from_s, to_s, ux, uy } = pieces;
	const n = paired.length;
	const keep = Math.max(1, Math.ceil(n / most));
	const pairs = noPairs(Math.ceil(n / keep));
	const number = numbering();
	const passes = pass.reduce((m, p) => Math.max(m, p), 0) + 1;
	for (let k = 0; k < pairs.n; k++) {
		const i = paired[keep * k]! >> 1;
		const j = sides.piece[(paired[keep * k]! & 1) as 0 | 1][i]!;
		const along = (pieces.x_m[i]! - pieces.x_m[j]!) * ux[j]! + (pieces.y_m[i]! - pieces.y_m[j]!) * uy[j]!;
		const span = to_s[j]! - from_s[j]!;
		const beside_s = (from_s[j]! + to_s[j]!) / 2 + (along / pieces.length_m[j]!) * span;
		pairs.combineA[k] = combine[i]!;
		pairs.combineB[k] = combine[j]!;
		pairs.a[k] = placeOn(grids[combine[i]!]!, (from_s[i]! + to_s[i]!) / 2);
		pairs.b[k] = placeOn(grids[combine[j]!]!, beside_s);
		pairs.group[k] = number.of(pass[i]! * passes + pass[j]!);
		pairs.opposite[k] = ux[i]! * ux[j]! + uy[i]! * uy[j]! < 0 ? 1 : 0;
	}
	return { ...pairs, groups: number.count() };
}

/**
 * True near the start or end of a pass, where the flow shows when the header moved down or up. An antenna ahead or
 * behind, or a header lowered early, shifts that against the ground.
 */
function atEnd(pieces: Pieces, runs: PassRun[], i: number): boolean {
	const run = runs[pieces.pass[i]!]!;
	return pieces.from_s[i]! - run.start_s < END_S || run.end_s - pieces.to_s[i]! < END_S;
}

const noPairs = (n: number): Pairs => ({
	n,
	groups: 0,
	combineA: new Uint8Array(n),
	combineB: new Uint8Array(n),
	a: new Float64Array(n),
	b: new Float64Array(n),
	group: new Int32Array(n),
	opposite: new Uint8Array(n),
});

/** Numbers keys from 0, in the order in which they come. */
function numbering() {
	const known = new Map<number, number>();
	return {
		of(key: number): number {
			let number = known.get(key);
			if (number === undefined) known.set(key, (number = known.size));
			return number;
		},
		count: () => known.size,
	};
}

/** The pairs for which `wanted` is true. */
export function somePairs(all: Pairs, wanted: (k: number) => boolean): Pairs {
	const { n } = all;
	const some = noPairs(n);
	const number = numbering();
	let m = 0;
	for (let k = 0; k < n; k++) {
		if (!wanted(k)) continue;
		some.combineA[m] = all.combineA[k]!;
		some.combineB[m] = all.combineB[k]!;
		some.a[m] = all.a[k]!;
		some.b[m] = all.b[k]!;
		some.group[m] = number.of(all.group[k]!);
		some.opposite[m] = all.opposite[k]!;
		m++;
	}
	return { ...some, n: m, groups: number.count() };
}
