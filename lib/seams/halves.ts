import { blockJump, bySeam, type Contrast } from './contrast.ts';
import type { Block, Strand } from './profile.ts';

/** Strips of two kinds by turns across the field: the halves of a planter, say. */
export interface Halves {
	/** Width of one strip, metres. */
	strip_m: number;
	/** log(yield on one kind / yield on the other). */
	log_rel: number;
	u_log: number;
	/** What the pattern alone makes of a block's jump. */
	jump(block: Block): number;
}

/** The search tries some thousand widths and phases: chance finds this many standard errors about once in 1,000 fields. */
const CLEAR = 6;
/** Smaller patterns than this change no jump. */
const LEAST = 0.008;
const FEWEST = 12;
const MOST = 300;

/**
 * Looks in same-combine seams for strips that come by turns across the field, one to three swaths wide. Where they are
 * found, what they make of a seam between two combines is known, and taken out of it.
 */
export function findHalves(
	nullBlocks: readonly Block[],
	contrast: Contrast,
	axis: { x: number; y: number },
	width_m: number,
): Halves | null {
	const values = bySeam(nullBlocks, (b) => blockJump(b, contrast));
	const middle = new Map<number, Block>();
	const lists = new Map<number, Block[]>();
	for (const b of nullBlocks) lists.set(b.seam, [...(lists.get(b.seam) ?? []), b]);
	for (const [seam, list] of lists) middle.set(seam, list[list.length >> 1]!);
	// Some hundred seams tell a pattern as well as ten thousand.
	const each = Math.max(1, Math.ceil(values.size / MOST));
	const seams = [...values]
		.filter((_, i) => i % each === 0)
		.map(([seam, v]) => ({ v: v.jump, block: middle.get(seam)! }));
	if (seams.length < FEWEST || !(width_m > 0)) return null;
	const origin = seams[0]!.block.x_m * axis.x + seams[0]!.block.y_m * axis.y;
	let best: { t: number; strip: number; phase: number; a: number; u: number } | null = null;
	for (const times of [1, 2, 3]) {
		for (let k = -24; k <= 24; k++) {
			const strip = times * width_m * (1 + 0.0025 * k);
			for (let p = 0; p < 8; p++) {
				const phase = (p / 8) * 2 * strip;
				const found = amplitude(seams, (b) => patternJump(b, contrast, axis, origin, width_m, strip, phase));
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
		jump: (b) => a * patternJump(b, contrast, axis, origin, width_m, strip, phase),
	};
}

/** Amplitude of the pattern over seams, its standard error and their ratio. */
function amplitude(seams: readonly { v: number; block: Block }[], pattern: (b: Block) => number) {
	let xx = 0;
	let xy = 0;
	let x = 0;
	const list = seams.map((s) => ({ v: s.v, x: pattern(s.block) })).filter((s) => Number.isFinite(s.x));
	for (const s of list) {
		xx += s.x * s.x;
		xy += s.x * s.v;
		x += Math.abs(s.x) > 0.3 ? 1 : 0;
	}
	if (x < FEWEST / 2 || !(xx > 0)) return null;
	const a = xy / xx;
	const left = list.reduce((sum, s) => sum + (s.v - a * s.x) ** 2, 0);
	const u = Math.sqrt(left / Math.max(1, list.length - 3) / xx);
	return { a, u, t: Math.abs(a) / u };
}

/** The jump of a block on which yields are +1 on one kind of strip and −1 on the other. */
function patternJump(
	block: Block,
	contrast: Contrast,
	axis: { x: number; y: number },
	origin: number,
	width_m: number,
	strip: number,
	phase: number,
): number {
	const at = (s: Strand): Strand => {
		const x = block.x_m + block.toX * s.across_m;
		const y = block.y_m + block.toY * s.across_m;
		return { ...s, logYield: wave(x * axis.x + y * axis.y - origin - phase, width_m, strip) };
	};
	return blockJump({ ...block, left: block.left.map(at), right: block.right.map(at) }, contrast);
}

/** Mean of a square wave of the given strip width over a swath about u. */
function wave(u: number, width_m: number, strip: number): number {
	return (integral(u + width_m / 2, strip) - integral(u - width_m / 2, strip)) / width_m;
}

/** Integral of the square wave from 0: a triangle. */
function integral(u: number, strip: number): number {
	const period = 2 * strip;
	const r = ((u % period) + period) % period;
	return r < strip ? r : period - r;
}
