import { type Account, type Match, MONITOR, SEAM, type Seam, type SeamJump, type Track } from '../model/index.ts';
import { type Scales, unchecked } from './chain/cart.ts';
import type { Relation } from './chain/play.ts';
import type { Timeline } from './chain/timeline.ts';
import { basisAt, basisOf, type Shape, size } from './form/shape.ts';

/** Which combines have weights of their own, which are told by something, and how. */
export interface Standing {
	/** Number of weights that cover this combine alone. */
	own: number[];
	/** Number of all weights in which it has a part. */
	any: number[];
	/** Most of its weights are its own: they stand alone. Else the seams help to tell the combines apart. */
	owned: boolean[];
	/** All its own weights are of a scale that no truck load checks, beside one that some do: the seams help as well. */
	loose: boolean[];
	/** Something speaks of its level. */
	told: boolean[];
}

/** Works out which combine's level is told by weights, and which over seams, through others if need be. */
export function standing(
	match: Match,
	use: readonly number[],
	jumps: readonly SeamJump[],
	combines: number,
	scales: Scales,
): Standing {
	const own = new Array<number>(combines).fill(0);
	const checked = new Array<number>(combines).fill(0);
	const any = new Array<number>(combines).fill(0);
	const totals = use.every((w) => match.weighings[w]!.kind === 'total');
	for (const i of use) {
		const w = match.weighings[i]!;
		// A total beside other weights says little of any one combine.
		if (w.kind === 'total' && !totals) continue;
		const parts =
			w.kind === 'total' ? own.map((_, c) => c) : [...new Set(w.unloadings.map((u) => match.unloadings[u]!.combine))];
		for (const c of parts) any[c]!++;
		if (parts.length !== 1) continue;
		own[parts[0]!]!++;
		if (!unchecked(scales, i)) checked[parts[0]!]!++;
	}
	const told = any.map((n) => n > 0);
	for (let turn = 0; turn < combines; turn++) {
		for (const j of jumps) {
			if (!usable(j)) continue;
			if (told[j.combineA] || told[j.combineB]) {
				told[j.combineA] = true;
				told[j.combineB] = true;
			}
		}
	}
	const owned = own.map((n, c) => n > 0 && 2 * n >= any[c]!);
	const loose = owned.map((is, c) => is && checked[c] === 0);
	return { own, any, owned, loose, told };
}

/**
 * What is known of a factor's level before its weights, standard deviation about the rough one: with weights of its own next
 * to nothing; weighed only with others, what a poor calibration does; by seams alone, less; nothing, nothing.
 */
export function levelPrior(state: Standing, combine: number): number {
	if (state.owned[combine]) return 1;
	return state.any[combine]! > 0 ? MONITOR.factor : 1;
}

function usable(j: SeamJump): boolean {
	return j.combineA !== j.combineB && Number.isFinite(j.log_jump) && Number.isFinite(j.u_log) && j.u_log > 0;
}

/**
 * Equations from the seams, only where a combine has no weight of its own, or none of a scale that was checked: elsewhere the seams stay an independent
 * check of the weights. Along the seams between A and B the corrected yields agree: k_B = e^J k_A, k being the factor over the
 * passes at these seams. That is the whole field's (mass brought in over account mass, the slow error's mean with it, which
 * the seams saw as well), and the bases' difference there from the field's, so that a drift or a curve is met where the seams lie.
 */
export function seamRelations(
	input: { account: Account; track: Track; seams: readonly Seam[]; jumps: readonly SeamJump[] },
	time: Timeline,
	time_s: Float64Array,
	flow: Float64Array,
	shapes: readonly Shape[],
	state: Standing,
	rough: readonly number[],
): Relation[] {
	const out: Relation[] = [];
	for (const j of input.jumps) {
		if (!usable(j) || !state.told[j.combineA] || !state.told[j.combineB]) continue;
		const alone = (c: number) => state.owned[c] && !state.loose[c];
		if (alone(j.combineA) && alone(j.combineB)) continue;
		const ratio = Math.exp(j.log_jump);
		const at = [
			{ c: j.combineB, sign: 1 },
			{ c: j.combineA, sign: -ratio },
		].flatMap(({ c, sign }) => {
			const field = meanOf(time, shapes[c]!, c);
			const mass = time.account_kg[c]!;
			const here = meanBasis(input, time_s, flow, shapes[c]!, c, j).map((m, coefficient) => ({
				combine: c,
				coefficient,
				by: sign * (mass > 0 ? m - field[coefficient]! : m),
			}));
			return mass > 0 ? [...here, { combine: c, coefficient: -1, by: sign / mass }] : here;
		});
		const k = Number.isFinite(rough[j.combineA]!) ? rough[j.combineA]! : 1;
		const u = k * ratio * Math.hypot(j.u_log, SEAM.carry);
		out.push({ at, value: 0, variance: u * u, cause: 'seam', df: Math.max(1, j.df) });
	}
	return out;
}

/** A shape's bases averaged over a combine's passes at the seams of a pair, weighted by seam length. */
export function meanBasis(
	input: { account: Account; track: Track; seams: readonly Seam[] },
	time_s: Float64Array,
	flow: Float64Array,
	shape: Shape,
	combine: number,
	jump: SeamJump,
): number[] {
	const p = size(shape);
	const sums = new Array<number>(p).fill(0);
	if (p === 1) return [1];
	let total = 0;
	for (const s of input.seams) {
		const forward = s.combineA === jump.combineA && s.combineB === jump.combineB;
		const backward = s.combineA === jump.combineB && s.combineB === jump.combineA;
		if (s.excluded !== null || !(forward || backward)) continue;
		const pass = input.track.passes[s.combineA === combine ? s.passA : s.passB]!;
		let mass = 0;
		const own = new Array<number>(p).fill(0);
		for (const i of pass.records) {
			const m = input.account.account_kg[i]!;
			if (!(m > 0) || input.track.flag[i] !== 0) continue;
			mass += m;
			basisAt(shape, time_s[i]!, flow[i]!).forEach((b, k) => {
				own[k]! += m * b;
			});
		}
		if (!(mass > 0)) continue;
		total += s.length_m;
		own.forEach((v, k) => {
			sums[k]! += (s.length_m * v) / mass;
		});
	}
	return total > 0 ? sums.map((v) => v / total) : [1, ...new Array<number>(p - 1).fill(0)];
}

/** A shape's bases averaged over a combine's whole field by account mass. */
export function meanOf(time: Timeline, shape: Shape, combine: number): number[] {
	const sums = new Array<number>(size(shape)).fill(0);
	for (const s of time.segments) {
		if (s.combine !== combine) continue;
		for (const p of s.pieces)
			basisOf(shape, p).forEach((v, j) => {
				sums[j]! += v;
			});
	}
	return sums.map((v) => v / (time.account_kg[combine]! || 1));
}
