import { CAUSES, type Cause } from './belief.ts';
import { GROW, MARK, MIX, type Operations, SET, type Tape } from './tape.ts';

/** An observation that was left out, as predicted from all others. */
export interface LeftOut {
	key: number;
	/** Observed less predicted, and the variance of that. */
	residual: number;
	variance: number;
}

/** A quantity at a marked moment, estimated from all observations. */
export interface Smoothed {
	key: number;
	/** NaN where it was marked for a shock only. */
	mean: number;
	variance: number;
	/**
	 * Reduction of −2 log-likelihood by a shock of free size to this quantity at this moment, and its most likely size: grain
	 * left in a tank, a step of a factor, depending on the quantity.
	 */
	gain: number;
	shock: number;
}

/** Observations left out together. */
export interface Block {
	keys: number[];
	/** Residuals of all its observations, predicted from the observations outside the block. */
	residuals: Float64Array;
	/** Their squared standardized size, to be compared with their number. */
	misfit: number;
}

/** Results of one backward pass over a tape. */
export interface Backward {
	leftOut: LeftOut[];
	marks: Smoothed[];
	/** For each of the given divisions, in their order. */
	blocks: Block[][];
	/** Score of each quantity before the first operation, and its information: gain of a free size as in `Smoothed`. */
	score: Float64Array;
	information: Float64Array;
}

/** All later observations about the current quantities: score r (n), information N (n × n), and room for a column (n). */
interface Later {
	r: Float64Array;
	N: Float64Array;
	g: Float64Array;
}

/**
 * Fixed-interval smoother over a tape, in the form without matrix inverses. It carries the score r and information N of
 * all later observations about the current quantities; smoothed states are x + P r with covariance P − P N P, an
 * observation left out has prediction error u / D with variance 1 / D, and a shock of free size to the state reduces
 * −2 log-likelihood by r² / N.
 *
 * Source: de Jong, Journal of the American Statistical Association 83:594, 1988 (leaving out), and 84:1085, 1989
 * (smoothing); de Jong and Penzer, ibid. 93:796, 1998 (shocks).
 *
 * @param divisions - each gives the block in which an observation, by its key, is left out; −1 = in none. The observations of
 *   a block follow one another, but for such as are in none.
 */
export function backward(tape: Tape, ...divisions: readonly ((key: number) => number)[]): Backward {
	const { n } = tape;
	const r = new Float64Array(n);
	const N = new Float64Array(n * n);
	const g = new Float64Array(n);
	const blocks = divisions.map((): Block[] => []);
	const out: Backward = { leftOut: [], marks: [], blocks, score: r, information: new Float64Array(n) };
	/** The block that is being gathered, of each division. */
	const open = divisions.map((): Open => ({ block: -1, keys: [], u: [], D: [], columns: [] }));
	const { data: d, starts } = tape;
	for (let t = starts.length - 1; t >= 0; t--) {
		const p = starts[t]! + 1;
		const kind = d[p - 1]!;
		if (kind === MARK) out.marks.push(smoothed(d, p, r, N));
		else if (kind === SET) {
			const slot = d[p]!;
			r[slot] = 0;
			for (let j = 0; j < n; j++) N[slot * n + j] = N[j * n + slot] = 0;
			for (const o of open) for (const c of o.columns) c[slot] = 0;
		} else if (kind === GROW) {
			ungrow(r, d, p);
			ungrowBoth(N, n, d, p);
			for (const o of open) for (const c of o.columns) ungrow(c, d, p);
		} else if (kind === MIX) {
			unmix(r, d, p);
			unmixBoth(N, n, d, p);
			for (const o of open) for (const c of o.columns) unmix(c, d, p);
		} else {
			const key = d[p]!;
			const { u, D } = unobserve(d, p, { r, N, g });
			if (key >= 0) out.leftOut.push({ key, residual: u / D, variance: 1 / D });
			divisions.forEach((blockOf, k) => {
				const block = key >= 0 ? blockOf(key) : -1;
				const o = open[k]!;
				// Other observations may lie between those of a block.
				if (block < 0) for (const c of o.columns) pass(c, d, p);
				else {
					if (o.block !== block) close(o, block, blocks[k]!);
					extend(o, d, p, { u, D, g });
				}
			});
		}
	}
	open.forEach((o, d) => {
		close(o, -1, blocks[d]!);
	});
	for (let i = 0; i < n; i++) out.information[i] = N[i * n + i]!;
	out.leftOut.reverse();
	out.marks.reverse();
	for (const list of blocks) list.reverse();
	return out;
}

/**
 * Takes score r and information N back over the observation at p of the tape's numbers d.
 *
 * @param later - `g`: becomes N times the observation's gain
 * @returns its smoothing error u, and that error's variance D
 */
function unobserve(d: Float64Array, p: number, later: Later): { u: number; D: number } {
	const { r, N, g } = later;
	const n = r.length;
	const S = d[p + 2]!;
	const m = d[p + 5]!;
	const pairs = p + 6;
	const gain = pairs + 2 * m;
	let back = 0;
	let D = 1 / S;
	g.fill(0);
	for (let i = 0; i < n; i++) {
		const k = d[gain + i]!;
		if (k === 0) continue;
		back += k * r[i]!;
		for (let j = 0; j < n; j++) g[j]! += k * N[i * n + j]!;
	}
	for (let i = 0; i < n; i++) D += d[gain + i]! * g[i]!;
	const u = d[p + 1]! / S - back;
	for (let i = 0; i < m; i++) {
		const f = d[pairs + 2 * i]!;
		const a = d[pairs + 2 * i + 1]!;
		r[f]! += a * u;
		for (let j = 0; j < n; j++) {
			N[f * n + j]! -= a * g[j]!;
			N[j * n + f]! -= a * g[j]!;
		}
	}
	for (let i = 0; i < m; i++) {
		const f = d[pairs + 2 * i]! * n;
		const a = d[pairs + 2 * i + 1]!;
		for (let j = 0; j < m; j++) N[f + d[pairs + 2 * j]!]! += a * d[pairs + 2 * j + 1]! * D;
	}
	return { u, D };
}

/** c = Tᵀ c for the mix at p of the tape's numbers d. */
function unmix(c: Float64Array, d: Float64Array, p: number): void {
	const slot = d[p]!;
	const s = c[slot]!;
	const end = p + 5 + 2 * d[p + 4]!;
	for (let i = p + 5; i < end; i += 2) c[d[i]!]! += d[i + 1]! * s;
	c[slot] = d[p + 1]! * s;
}

/** N = Tᵀ N T for a mix. */
function unmixBoth(N: Float64Array, n: number, d: Float64Array, p: number): void {
	const slot = d[p]!;
	const keep = d[p + 1]!;
	const end = p + 5 + 2 * d[p + 4]!;
	for (let i = p + 5; i < end; i += 2) {
		const f = d[i]! * n;
		for (let j = 0; j < n; j++) N[f + j]! += d[i + 1]! * N[slot * n + j]!;
	}
	if (keep !== 1) for (let j = 0; j < n; j++) N[slot * n + j]! *= keep;
	for (let i = p + 5; i < end; i += 2) {
		const f = d[i]!;
		for (let j = 0; j < n; j++) N[j * n + f]! += d[i + 1]! * N[j * n + slot]!;
	}
	if (keep !== 1) for (let j = 0; j < n; j++) N[j * n + slot]! *= keep;
}

/** c = Tᵀ c for a growth. */
function ungrow(c: Float64Array, d: Float64Array, p: number): void {
	const into = p + 8 + 2 * d[p + 6]!;
	const end = into + d[p + 7]!;
	let sum = 0;
	for (let i = into; i < end; i++) sum += c[d[i]!]!;
	c[d[p]!]! *= d[p + 1]!;
	for (let i = p + 8; i < into; i += 2) c[d[i]!]! += d[i + 1]! * sum;
}

/** N = Tᵀ N T for a growth: first its rows, then its columns. */
function ungrowBoth(N: Float64Array, n: number, d: Float64Array, p: number): void {
	const into = p + 8 + 2 * d[p + 6]!;
	const end = into + d[p + 7]!;
	for (const [along, across] of [
		[1, n],
		[n, 1],
	] as const) {
		for (let j = 0; j < n; j++) {
			const at = j * along;
			let sum = 0;
			for (let i = into; i < end; i++) sum += N[at + d[i]! * across]!;
			N[at + d[p]! * across]! *= d[p + 1]!;
			for (let i = p + 8; i < into; i += 2) N[at + d[i]! * across]! += d[i + 1]! * sum;
		}
	}
}

/** Takes a column back over an observation; returns its covariance with that observation's smoothing error. */
function pass(c: Float64Array, d: Float64Array, p: number): number {
	const gain = p + 6 + 2 * d[p + 5]!;
	let sum = 0;
	for (let i = 0; i < c.length; i++) sum -= d[gain + i]! * c[i]!;
	for (let i = p + 6; i < gain; i += 2) c[d[i]!]! += d[i + 1]! * sum;
	return sum;
}

/** A block that is being gathered, its last observation first. */
interface Open {
	block: number;
	keys: number[];
	u: number[];
	/** Covariances of the smoothing errors: row i holds those with 0 … i. */
	D: number[][];
	/** Covariance of the score with each smoothing error so far. */
	columns: Float64Array[];
}

/** Adds an observation with its smoothing error u, that error's variance D and the gradient g after it. */
function extend(o: Open, d: Float64Array, p: number, { u, D, g }: { u: number; D: number; g: Float64Array }): void {
	const row = o.columns.map((c) => pass(c, d, p));
	const column = g.map((v) => -v);
	for (let i = p + 6; i < p + 6 + 2 * d[p + 5]!; i += 2) column[d[i]!]! += d[i + 1]! * D;
	o.keys.push(d[p]!);
	o.u.push(u);
	o.D.push([...row, D]);
	o.columns.push(column);
}

/** Ends a block, if one was begun, and begins the next. */
function close(o: Open, next: number, blocks: Block[]) {
	if (o.keys.length > 0) blocks.push(closed(o));
	Object.assign(o, { block: next, keys: [], u: [], D: [], columns: [] });
}

/** Errors of predicting the block from all else: D⁻¹ u, and uᵀ D⁻¹ u. */
function closed(o: Open): Block {
	const b = o.u.length;
	// Blocks have few observations: Cholesky in place.
	const L = o.D.map((row) => row.slice());
	const z = o.u.slice();
	for (let i = 0; i < b; i++) {
		for (let j = 0; j <= i; j++) {
			let sum = L[i]![j]!;
			for (let k = 0; k < j; k++) sum -= L[i]![k]! * L[j]![k]!;
			L[i]![j] = i === j ? Math.sqrt(Math.max(sum, 1e-300)) : sum / L[j]![j]!;
		}
		for (let k = 0; k < i; k++) z[i]! -= L[i]![k]! * z[k]!;
		z[i]! /= L[i]![i]!;
	}
	const misfit = z.reduce((s, v) => s + v * v, 0);
	for (let i = b - 1; i >= 0; i--) {
		for (let k = i + 1; k < b; k++) z[i]! -= L[k]![i]! * z[k]!;
		z[i]! /= L[i]![i]!;
	}
	return { keys: o.keys.reverse(), residuals: Float64Array.from(z.reverse()), misfit };
}

function smoothed(d: Float64Array, p: number, r: Float64Array, N: Float64Array): Smoothed {
	const n = r.length;
	const slot = d[p]!;
	const row = p + 3;
	let mean = d[p + 2]!;
	let variance = Number.isNaN(mean) ? Number.NaN : d[row + slot]!;
	for (let i = 0; i < n && !Number.isNaN(mean); i++) {
		const k = d[row + i]!;
		if (k === 0) continue;
		mean += k * r[i]!;
		for (let j = 0; j < n; j++) variance -= k * N[i * n + j]! * d[row + j]!;
	}
	const information = N[slot * n + slot]!;
	const known = information > 0;
	return {
		key: d[p + 1]!,
		mean,
		variance: Math.max(0, variance),
		gain: known ? r[slot]! ** 2 / information : 0,
		shock: known ? r[slot]! / information : 0,
	};
}

/**
 * Sources of the uncertainty of a sum of quantities at the end of a tape: its variance by cause (they add up exactly), and
 * its sensitivity to each quantity as first set.
 *
 * @param weights - of the quantities at the end
 */
export function causes(tape: Operations, weights: ArrayLike<number>): Map<Cause, number> {
	const out = new Map<Cause, number>();
	const a = Float64Array.from(weights);
	const add = (cause: Cause, variance: number) => {
		if (variance !== 0) out.set(cause, (out.get(cause) ?? 0) + variance);
	};
	const { data: d, starts } = tape;
	for (let t = starts.length - 1; t >= 0; t--) {
		const p = starts[t]! + 1;
		const kind = d[p - 1]!;
		if (kind === MARK) continue;
		const slot = d[p]!;
		if (kind === SET) {
			add(CAUSES[d[p + 2]!]!, a[slot]! ** 2 * d[p + 1]!);
			a[slot] = 0;
		} else if (kind === MIX) {
			add(CAUSES[d[p + 3]!]!, a[slot]! ** 2 * d[p + 2]!);
			unmix(a, d, p);
		} else if (kind === GROW) {
			let of = 0;
			const into = p + 8 + 2 * d[p + 6]!;
			for (let i = into; i < into + d[p + 7]!; i++) of += a[d[i]!]!;
			add('slow', a[slot]! ** 2 * d[p + 2]! + 2 * a[slot]! * of * d[p + 4]! + of ** 2 * d[p + 3]!);
			add('fill', of ** 2 * d[p + 5]!);
			ungrow(a, d, p);
		} else {
			add(CAUSES[d[p + 4]!]!, pass(a, d, p) ** 2 * d[p + 3]!);
		}
	}
	return out;
}
