import type { Account, Match, Seam, SeamJump, Track } from '../model/index.ts';
import { basisAt, type Shape, size } from './shape.ts';
import type { Extra } from './solve.ts';
import type { System } from './system.ts';

/**
 * What may differ between two combines' ground beyond what the seams show, relative standard uncertainty: the seams see
 * a part of the field at a part of the time (from memory of like fields, no source).
 */
const U_CARRY = 0.005;

/** Which combines have weights of their own, which are told by something, and how. */
export interface Standing {
	/** Number of weights that cover this combine alone. */
	own: number[];
	/** Number of all weights in which it has a part. */
	any: number[];
	/** Most of its weights are its own: they stand alone. Else the seams help to tell the combines apart. */
	owned: boolean[];
	/** Something speaks of its level. */
	told: boolean[];
}

/** Works out which combine's level is told by weights, and which over seams, through others if need be. */
export function standing(system: System, match: Match, jumps: readonly SeamJump[], combines: number): Standing {
	const own = new Array<number>(combines).fill(0);
	const any = new Array<number>(combines).fill(0);
	const totals = system.weighings.every((w) => w.kind === 'total');
	for (const w of system.weighings) {
		// A total beside other weights says little of any one combine.
		if (w.kind === 'total' && !totals) continue;
		const parts =
			w.kind === 'total' ? own.map((_, c) => c) : [...new Set(w.unloadings.map((u) => match.unloadings[u]!.combine))];
		for (const c of parts) any[c]!++;
		if (parts.length === 1) own[parts[0]!]!++;
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
	return { own, any, owned, told };
}

function usable(j: SeamJump): boolean {
	return j.combineA !== j.combineB && Number.isFinite(j.log_jump) && Number.isFinite(j.u_log) && j.u_log > 0;
}

/**
 * Equations from the seams, only where a combine has no weight of its own: elsewhere the seams stay an independent
 * check of the weights. Along the seams between A and B the corrected yields agree: Σ β_B m_B = e^J Σ β_A m_A, with m
 * the bases averaged over the passes at these seams, so that a drift or a curve is met where the seams lie.
 */
export function seamEquations(
	input: { account: Account; track: Track; seams: readonly Seam[]; jumps: readonly SeamJump[] },
	time_s: Float64Array,
	flow: Float64Array,
	shapes: readonly Shape[],
	system: System,
	state: Standing,
	rough: readonly number[],
): Extra[] {
	const extras: Extra[] = [];
	for (const j of input.jumps) {
		if (!usable(j) || !state.told[j.combineA] || !state.told[j.combineB]) continue;
		if (state.owned[j.combineA] && state.owned[j.combineB]) continue;
		const row = new Array<number>(system.p).fill(0);
		const ratio = Math.exp(j.log_jump);
		const add = (c: number, sign: number) => {
			meanBasis(input, time_s, flow, shapes[c]!, c, j).forEach((m, k) => {
				row[system.first[c]! + k]! += sign * m;
			});
		};
		add(j.combineB, 1);
		add(j.combineA, -ratio);
		const k = Number.isFinite(rough[j.combineA]!) ? rough[j.combineA]! : 1;
		const u = k * ratio * Math.hypot(j.u_log, U_CARRY);
		extras.push({ kind: 'seam', row, y: 0, variance: u * u, df: Math.max(1, j.df) });
	}
	return extras;
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
