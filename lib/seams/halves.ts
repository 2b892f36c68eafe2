import { groupBy } from '../stats/index.ts';
import { blockJump, bySeam, type Contrast, jumpShares } from './contrast.ts';
import type { Block } from './profile.ts';

/** Strips of two kinds that alternate across the field, such as those of two planter halves. */
export interface Halves {
	/** Width of one strip, meters. */
	strip_m: number;
	/** log(yield on one kind / yield on the other). */
	log_rel: number;
	u_log: number;
	/** The part of a block's jump that comes from the pattern. */
	jump(block: Block): number;
}

/** Least amplitude in standard errors; with some thousand widths and phases tried, chance reaches it in about 1 of 1,000 fields. */
const CLEAR = 6;
/** Patterns smaller than this are ignored. */
const LEAST = 0.008;
const FEWEST = 12;
const MOST = 300;

/**
 * Looks in same-combine seams for strips that alternate across the field, one to three swaths wide. If found, their
 * effect on the seams between combines is taken out.
 */
export function findHalves(
	nullBlocks: readonly Block[],
	contrast: Contrast,
	axis: { x: number; y: number },
	width_m: number,
): Halves | null {
	const values = bySeam(nullBlocks, (b) => blockJump(b, contrast));
	const middle = new Map<number, Block>();
	for (const [seam, list] of groupBy(nullBlocks, (b) => b.seam)) middle.set(seam, list[list.length >> 1]!);
	// A few hundred seams show a pattern as well as ten thousand.
	const each = Math.max(1, Math.ceil(values.size / MOST));
	const seams = [...values]
		.filter((_, i) => i % each === 0)
		.map(([seam, v]) => ({ v: v.jump, block: middle.get(seam)! }));
	if (seams.length < FEWEST || !(width_m > 0)) return null;
	const origin = seams[0]!.block.x_m * axis.x + seams[0]!.block.y_m * axis.y;
	const strands = seams.map((s) => ({ v: s.v, ...strandsOf(s.block, contrast, axis, origin) }));
	let best: { t: number; strip: number; phase: number; a: number; u: number } | null = null;
	for (const times of [1, 2, 3]) {
		for (let k = -24; k <= 24; k++) {
			const strip = times * width_m * (1 + 0.0025 * k);
			for (let p = 0; p < 8; p++) {
				const phase = (p / 8) * 2 * strip;
				const found = amplitude(strands, width_m, strip, phase);
				if (found && (!best || found.t > best.t)) best = { ...found, strip, phase };
			}
		}
	}
	if (!best || best.t < CLEAR || Math.abs(best.a) < LEAST) return null;
	const { strip, phase, a, u } = best;
	return {
		strip_m: strip,
		log_rel: 2 * a,
		u_log: 2 * u,
		jump: (b) => a * patternJump(strandsOf(b, contrast, axis, origin), width_m, strip, phase),
	};
}

/** Positions of a block's passes along the axis, and the weight of each in its jump. */
interface Strands {
	u_m: number[];
	share: number[];
}

/** Amplitude of the pattern over seams, its standard error and their ratio. */
function amplitude(seams: readonly (Strands & { v: number })[], width_m: number, strip: number, phase: number) {
	let xx = 0;
	let xy = 0;
	let vv = 0;
	let n = 0;
	let telling = 0;
	for (const s of seams) {
		const x = patternJump(s, width_m, strip, phase);
		if (!Number.isFinite(x)) continue;
		n++;
		xx += x * x;
		xy += x * s.v;
		vv += s.v * s.v;
		if (Math.abs(x) > 0.3) telling++;
	}
	if (telling < FEWEST / 2 || !(xx > 0)) return null;
	const a = xy / xx;
	const left = Math.max(0, vv - a * xy);
	const u = Math.sqrt(left / Math.max(1, n - 3) / xx);
	return { a, u, t: Math.abs(a) / u };
}

function strandsOf(block: Block, contrast: Contrast, axis: { x: number; y: number }, origin: number): Strands {
	const shares = jumpShares(block, contrast) ?? { left: [Number.NaN], right: [] };
	const at = (across_m: number) =>
		(block.x_m + block.toX * across_m) * axis.x + (block.y_m + block.toY * across_m) * axis.y - origin;
	return {
		u_m: [
			...shares.left.map((_, k) => at(block.left[k]!.across_m)),
			...shares.right.map((_, k) => at(block.right[k]!.across_m)),
		],
		share: [...shares.left, ...shares.right],
	};
}

/** The jump of a block on which yields are +1 on one kind of strip and −1 on the other. */
function patternJump(strands: Strands, width_m: number, strip: number, phase: number): number {
	let sum = 0;
	for (let k = 0; k < strands.u_m.length; k++) sum += strands.share[k]! * wave(strands.u_m[k]! - phase, width_m, strip);
	return sum;
}

/** Mean of a square wave of the given strip width over a swath about u. */
function wave(u: number, width_m: number, strip: number): number {
	return (integral(u + width_m / 2, strip) - integral(u - width_m / 2, strip)) / width_m;
}

/** Integral of the square wave from 0: a triangle. */
function integral(u: number, strip: number): number {
	const period = 2 * strip;
	const r = u - period * Math.floor(u / period);
	return r < strip ? r : period - r;
}
