import { groupBy, median } from '../stats/index.ts';
import { type Block, REACH } from './profile.ts';

/** How a jump is estimated from a block: passes used on either side, and how strongly a slope across is held to zero. */
export interface Contrast {
	passes: number;
	/** Noise variance of a pass over the variance expected of the slope (per swath); Infinity = no slope. */
	ridge: number;
}

/** From the two passes at the seam alone, to a free slope through three on either side. */
const CONTRASTS: readonly Contrast[] = [
	{ passes: 1, ridge: Infinity },
	{ passes: 2, ridge: 10 },
	{ passes: 2, ridge: 2 },
	{ passes: 2, ridge: 0 },
	{ passes: 3, ridge: 10 },
	{ passes: 3, ridge: 2 },
	{ passes: 3, ridge: 0 },
];

/**
 * The jump of a block, log(first / second) at the seam: least squares of y = a + J [first's side] + s × across, the
 * slope s ridged. NaN where the sides have too few passes for a free slope.
 */
export function blockJump(block: Block, contrast: Contrast): number {
	const shares = jumpShares(block, contrast);
	if (shares === null) return Number.NaN;
	let sum = 0;
	for (let k = 0; k < shares.left.length; k++) sum += shares.left[k]! * block.left[k]!.logYield;
	for (let k = 0; k < shares.right.length; k++) sum += shares.right[k]! * block.right[k]!.logYield;
	return sum;
}

/** Weight of each pass's log yield in a block's jump, outward from the seam; null where a side has no passes. */
export function jumpShares(block: Block, contrast: Contrast): { left: number[]; right: number[] } | null {
	const left = block.left.slice(0, contrast.passes);
	const right = block.right.slice(0, contrast.passes);
	if (left.length === 0 || right.length === 0) return null;
	const n = left.length;
	const m = right.length;
	if (contrast.ridge === Infinity || n + m < 3) {
		return { left: left.map(() => 1 / n), right: right.map(() => -1 / m) };
	}
	const xl = left.reduce((sum, s) => sum + s.across, 0) / n;
	const xr = right.reduce((sum, s) => sum + s.across, 0) / m;
	// The slope within each side does not depend on the jump.
	let xx = contrast.ridge;
	for (const s of left) xx += (s.across - xl) ** 2;
	for (const s of right) xx += (s.across - xr) ** 2;
	const lever = xx > 0 ? (xl - xr) / xx : 0;
	return {
		left: left.map((s) => 1 / n - lever * (s.across - xl)),
		right: right.map((s) => -1 / m - lever * (s.across - xr)),
	};
}

/** Two passes on either side, a slope held by two thirds: middling in rough and in even crops alike. */
const USUAL = CONTRASTS[2]!;
/** Another contrast must do better by this share, since differences of a few dozen seams may be chance. */
const BETTER = 0.85;
/** With fewer seams than this the usual contrast is taken. */
const FEWEST = 8;

/**
 * The contrast with the least scatter at same-combine seams, where the true jump is zero: one value per seam (crop
 * structure parallel to the passes is coherent along it), full reach on both sides. Default if there are too few.
 */
export function quietest(nullBlocks: readonly Block[]): { contrast: Contrast; rms: number; seams: number } {
	const full = nullBlocks.filter((b) => b.left.length >= REACH && b.right.length >= REACH);
	const rmsOf = (contrast: Contrast) => {
		const list = [...bySeam(full, (b) => blockJump(b, contrast)).values()].map((s) => s.jump);
		// Robust, so that one unusual seam (a track, a terrace) does not determine the choice.
		return list.length < FEWEST ? Number.NaN : 1.4826 * median(list.map(Math.abs));
	};
	const seams = new Set(full.map((b) => b.seam)).size;
	let best = { contrast: USUAL, rms: rmsOf(USUAL), seams };
	let least = best.rms * BETTER;
	for (const contrast of CONTRASTS) {
		const rms = rmsOf(contrast);
		if (!(rms < least)) continue;
		least = rms;
		best = { contrast, rms, seams };
	}
	return best;
}

/** One value per seam: the mean of its blocks weighted by length, outliers limited. */
export function bySeam(
	blocks: readonly Block[],
	value: (b: Block) => number,
): Map<number, { jump: number; length_m: number; blocks: number; spread: number }> {
	const known = blocks.map((b) => ({ seam: b.seam, v: value(b), w: b.length_m })).filter((b) => Number.isFinite(b.v));
	const groups = groupBy(known, (b) => b.seam);
	const out = new Map<number, { jump: number; length_m: number; blocks: number; spread: number }>();
	for (const [seam, list] of groups) {
		const center = median(list.map((b) => b.v));
		const scale = 1.4826 * median(list.map((b) => Math.abs(b.v - center)));
		const reach = Math.max(3 * scale, 0.02);
		let sum = 0;
		let w = 0;
		let squares = 0;
		for (const b of list) {
			const held = Math.max(center - reach, Math.min(center + reach, b.v));
			sum += b.w * held;
			squares += (held - center) ** 2;
			w += b.w;
		}
		out.set(seam, { jump: sum / w, length_m: w, blocks: list.length, spread: Math.sqrt(squares / list.length) });
	}
	return out;
}
