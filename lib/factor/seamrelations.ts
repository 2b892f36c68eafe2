import { type Account, SEAM, type Seam, type SeamJump, type Track } from '../model/index.ts';
import { Belief } from '../tank/index.ts';
import type { Chain } from './chain/chain.ts';
import { type Play, places, type Relation, run } from './chain/play.ts';
import type { Timeline } from './chain/timeline.ts';
import { type Coverage, isUsableJump } from './coverage.ts';
import { basisAt, basisOf, type Shape, size } from './form/shape.ts';

/** The passes and seams of a field, with the account mass of its records. */
interface Seams {
	account: Account;
	track: Track;
	seams: readonly Seam[];
}

/** What the equations from the seams are made of. */
interface SeamInput extends Seams {
	jumps: readonly SeamJump[];
	time: Timeline;
	/** One value per record. */
	time_s: Float64Array;
	flow: Float64Array;
	/** One per combine. */
	shapes: readonly Shape[];
	/** Rough factors, one per combine. */
	rough: readonly number[];
}

/** Seams are used only where they determine a difference of factors so much better than the weights do, as a ratio of standard uncertainties. */
const BETTER = 2;

/**
 * The jumps that determine a difference better than the weights: those of a combine without a weight, with few, or with weights from a scale that
 * nothing checks. Elsewhere the seams stay an independent check of the weights.
 *
 * @param play - settings without relations
 */
export function helpfulJumps(chain: Chain, play: Play, jumps: readonly SeamJump[], coverage: Coverage): SeamJump[] {
	const at = places(chain, play, true);
	const b = new Belief(at.n);
	run(chain, play, at, b);
	const cov = (i: number, j: number) => {
		const [by, from] = [i, j].map((c) => chain.time.account_kg[c]! * chain.rough[c]!) as [number, number];
		if (by > 0 && from > 0) return b.P[at.brought[i]! * b.n + at.brought[j]!]! / (by * from);
		return b.P[at.factor[i]! * b.n + at.factor[j]!]! / (chain.rough[i]! * chain.rough[j]!);
	};
	return jumps.filter((j) => {
		const { combineA: a, combineB: c } = j;
		if (!isUsableJump(j) || !coverage.estimable[a] || !coverage.estimable[c]) return false;
		return cov(a, a) + cov(c, c) - 2 * cov(a, c) > BETTER ** 2 * (j.u_log ** 2 + SEAM.carry ** 2);
	});
}

/**
 * Makes equations from seams.
 *
 * Along the seams between A and B the corrected yields are equal: k_B = e^J k_A, where k is the factor over the passes at these
 * seams. It is the whole field's factor (mass brought in over account mass, which includes the mean of the slow error, as the
 * seams do) plus the difference between the bases there and over the field, so a drift or a curve is evaluated where the
 * seams lie.
 */
export function seamRelations(input: SeamInput): Relation[] {
	const { jumps, time, time_s, flow, shapes, rough } = input;
	const out: Relation[] = [];
	for (const j of jumps) {
		const ratio = Math.exp(j.log_jump);
		const at = [
			{ c: j.combineB, sign: 1 },
			{ c: j.combineA, sign: -ratio },
		].flatMap(({ c, sign }) => {
			const field = meanOf(time, shapes[c]!, c);
			const mass = time.account_kg[c]!;
			const here = meanBasis(input, { time_s, flow, shape: shapes[c]!, combine: c, jump: j }).map((m, coefficient) => ({
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

/** Averages a shape's bases over a combine's passes at the seams of a pair, weighted by seam length. */
export function meanBasis(
	{ account, track, seams }: Seams,
	{
		time_s,
		flow,
		shape,
		combine,
		jump,
	}: { time_s: Float64Array; flow: Float64Array; shape: Shape; combine: number; jump: SeamJump },
): number[] {
	const p = size(shape);
	const sums = new Array<number>(p).fill(0);
	if (p === 1) return [1];
	let total = 0;
	for (const s of seams) {
		const forward = s.combineA === jump.combineA && s.combineB === jump.combineB;
		const backward = s.combineA === jump.combineB && s.combineB === jump.combineA;
		if (s.excluded !== null || !(forward || backward)) continue;
		const pass = track.passes[s.combineA === combine ? s.passA : s.passB]!;
		let mass = 0;
		const own = new Array<number>(p).fill(0);
		for (const i of pass.records) {
			const m = account.account_kg[i]!;
			if (!(m > 0) || track.flag[i] !== 0) continue;
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

/** Averages a shape's bases over a combine's whole field, weighted by account mass. */
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
