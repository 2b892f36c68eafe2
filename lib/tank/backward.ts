import type { Cause, Growth } from './belief.ts';
import type { Operation, Tape } from './tape.ts';

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

/**
 * Fixed-interval smoother over a tape, in the form without matrix inverses. It carries the score r and information N of
 * all later observations about the current quantities; smoothed states are x + P r with covariance P − P N P, an
 * observation left out has prediction error u / D with variance 1 / D, and a shock of free size to the state reduces
 * −2 log-likelihood by r² / N.
 *
 * Source: de Jong, Journal of the American Statistical Association 83:594, 1988 (leaving out), and 84:1085, 1989
 * (smoothing); de Jong and Penzer, ibid. 93:796, 1998 (shocks).
 *
 * @param divisions - each tells the block in which an observation, by its key, is left out; −1 = in none. The observations of
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
	for (let t = tape.operations.length - 1; t >= 0; t--) {
		const op = tape.operations[t]!;
		if (op.kind === 'mark') out.marks.push(smoothed(op, r, N, n));
		else if (op.kind === 'set') {
			r[op.slot] = 0;
			for (let j = 0; j < n; j++) N[op.slot * n + j] = N[j * n + op.slot] = 0;
			for (const o of open) for (const c of o.columns) c[op.slot] = 0;
		} else if (op.kind === 'grow') {
			ungrow(r, op.growth);
			ungrowBoth(N, n, op.growth);
			for (const o of open) for (const c of o.columns) ungrow(c, op.growth);
		} else if (op.kind === 'mix') {
			transpose(r, op);
			for (let i = 0; i < op.from.length; i++) {
				const f = op.from[i]! * n;
				for (let j = 0; j < n; j++) N[f + j]! += op.by[i]! * N[op.slot * n + j]!;
			}
			if (op.keep !== 1) for (let j = 0; j < n; j++) N[op.slot * n + j]! *= op.keep;
			for (let j = 0; j < n; j++) {
				for (let i = 0; i < op.from.length; i++) N[j * n + op.from[i]!]! += op.by[i]! * N[j * n + op.slot]!;
				if (op.keep !== 1) N[j * n + op.slot]! *= op.keep;
			}
			for (const o of open) for (const c of o.columns) transpose(c, op);
		} else {
			let back = 0;
			let D = 1 / op.S;
			g.fill(0);
			for (let i = 0; i < n; i++) {
				const k = op.gain[i]!;
				if (k === 0) continue;
				back += k * r[i]!;
				for (let j = 0; j < n; j++) g[j]! += k * N[i * n + j]!;
			}
			for (let i = 0; i < n; i++) D += op.gain[i]! * g[i]!;
			const u = op.error / op.S - back;
			for (let i = 0; i < op.at.length; i++) {
				const f = op.at[i]!;
				const a = op.by[i]!;
				r[f]! += a * u;
				for (let j = 0; j < n; j++) {
					N[f * n + j]! -= a * g[j]!;
					N[j * n + f]! -= a * g[j]!;
				}
			}
			for (let i = 0; i < op.at.length; i++)
				for (let j = 0; j < op.at.length; j++) N[op.at[i]! * n + op.at[j]!]! += op.by[i]! * op.by[j]! * D;
			if (op.key >= 0) out.leftOut.push({ key: op.key, residual: u / D, variance: 1 / D });
			divisions.forEach((blockOf, d) => {
				const block = op.key >= 0 ? blockOf(op.key) : -1;
				const o = open[d]!;
				// Other observations may lie between those of a block.
				if (block < 0) for (const c of o.columns) pass(c, op);
				else {
					if (o.block !== block) close(o, block, blocks[d]!);
					extend(o, op, { u, D, g });
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

/** c = Tᵀ c for one mix. */
function transpose(c: Float64Array, op: Extract<Operation, { kind: 'mix' }>): void {
	const s = c[op.slot]!;
	for (let i = 0; i < op.from.length; i++) c[op.from[i]!]! += op.by[i]! * s;
	c[op.slot] = op.keep * s;
}

/** c = Tᵀ c for one growth. */
function ungrow(c: Float64Array, { from, by, into, slot, keep }: Growth): void {
	let sum = 0;
	for (let i = 0; i < into.length; i++) sum += c[into[i]!]!;
	c[slot]! *= keep;
	for (let i = 0; i < from.length; i++) c[from[i]!]! += by[i]! * sum;
}

/** N = Tᵀ N T for one growth. */
function ungrowBoth(N: Float64Array, n: number, { from, by, into, slot, keep }: Growth): void {
	for (let j = 0; j < n; j++) {
		let sum = 0;
		for (let i = 0; i < into.length; i++) sum += N[into[i]! * n + j]!;
		N[slot * n + j]! *= keep;
		for (let i = 0; i < from.length; i++) N[from[i]! * n + j]! += by[i]! * sum;
	}
	for (let j = 0; j < n; j++) {
		const row = j * n;
		let sum = 0;
		for (let i = 0; i < into.length; i++) sum += N[row + into[i]!]!;
		N[row + slot]! *= keep;
		for (let i = 0; i < from.length; i++) N[row + from[i]!]! += by[i]! * sum;
	}
}

/** Takes a column back over an observation; returns its covariance with that observation's smoothing error. */
function pass(c: Float64Array, op: Extract<Operation, { kind: 'observe' }>): number {
	let d = 0;
	for (let i = 0; i < c.length; i++) d -= op.gain[i]! * c[i]!;
	for (let i = 0; i < op.at.length; i++) c[op.at[i]!]! += op.by[i]! * d;
	return d;
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
function extend(
	o: Open,
	op: Extract<Operation, { kind: 'observe' }>,
	{ u, D, g }: { u: number; D: number; g: Float64Array },
): void {
	const row = o.columns.map((c) => pass(c, op));
	const column = g.map((v) => -v);
	for (let i = 0; i < op.at.length; i++) column[op.at[i]!]! += op.by[i]! * D;
	o.keys.push(op.key);
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

function smoothed(op: Extract<Operation, { kind: 'mark' }>, r: Float64Array, N: Float64Array, n: number): Smoothed {
	let mean = op.mean;
	let variance = op.row[op.slot]!;
	for (let i = 0; i < n; i++) {
		const p = op.row[i]!;
		if (p === 0) continue;
		mean += p * r[i]!;
		for (let j = 0; j < n; j++) variance -= p * N[i * n + j]! * op.row[j]!;
	}
	const information = N[op.slot * n + op.slot]!;
	const known = information > 0;
	return {
		key: op.key,
		mean,
		variance: Math.max(0, variance),
		gain: known ? r[op.slot]! ** 2 / information : 0,
		shock: known ? r[op.slot]! / information : 0,
	};
}

/**
 * Sources of the uncertainty of a sum of quantities at the end of a tape: its variance by cause (they add up exactly), and
 * its sensitivity to each quantity as first set.
 *
 * @param weights - of the quantities at the end
 */
export function causes(
	tape: Pick<Tape, 'operations'>,
	weights: ArrayLike<number>,
	other: ArrayLike<number> = weights,
): Map<Cause, number> {
	const out = new Map<Cause, number>();
	const a = Float64Array.from(weights);
	const b = other === weights ? a : Float64Array.from(other);
	const both = a !== b;
	const add = (cause: Cause, variance: number) => {
		if (variance !== 0) out.set(cause, (out.get(cause) ?? 0) + variance);
	};
	for (let t = tape.operations.length - 1; t >= 0; t--) {
		const op = tape.operations[t]!;
		if (op.kind === 'set') {
			add(op.cause, a[op.slot]! * b[op.slot]! * op.variance);
			a[op.slot] = 0;
			b[op.slot] = 0;
		} else if (op.kind === 'mix') {
			add(op.cause, a[op.slot]! * b[op.slot]! * op.variance);
			transpose(a, op);
			if (both) transpose(b, op);
		} else if (op.kind === 'grow') {
			const { into, slot, end, mean, both: along, own } = op.growth;
			const [p, q] = [a, b].map((c) => into.reduce((sum, t) => sum + c[t]!, 0)) as [number, number];
			add('slow', a[slot]! * b[slot]! * end + (a[slot]! * q + p * b[slot]!) * along + p * q * mean);
			add('fill', p * q * own);
			ungrow(a, op.growth);
			if (both) ungrow(b, op.growth);
		} else if (op.kind === 'observe') {
			const u = pass(a, op);
			add(op.cause, u * (both ? pass(b, op) : u) * op.variance);
		}
	}
	return out;
}
