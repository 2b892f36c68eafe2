import { type Account, type FactorForm, MASS_FAULT, type Records } from '../../model/index.ts';
import type { Piece } from '../chain/timeline.ts';

/**
 * How a combine's factor varies over its records: factor = Σ beta_j × basis_j. The first basis is 1 everywhere and beta_0 is
 * the level.
 */
export interface Shape {
	form: FactorForm;
	/** Times of the steps. */
	changes_s: number[];
	/** Middle and half the span of the times, for a trend. */
	middle_s: number;
	half_s: number;
	/** For a flow curve: mass-weighted mean flow, and the flows outside which it is held level. */
	flow_kg_s: number;
	flowRange_kg_s: [number, number];
}

export const CONSTANT: Shape = {
	form: 'constant',
	changes_s: [],
	middle_s: 0,
	half_s: 1,
	flow_kg_s: 0,
	flowRange_kg_s: [0, Infinity],
};

/** Number of coefficients. */
export function size(shape: Shape): number {
	return shape.form === 'constant' ? 1 : shape.form === 'step' ? 1 + shape.changes_s.length : 2;
}

/** The bases summed over a piece of a fill, weighted by account mass, kg: the first is the account mass. */
export function basisOf(shape: Shape, piece: Piece): number[] {
	const { kg } = piece;
	if (shape.form === 'constant') return [kg];
	if (shape.form === 'flow') return [kg, piece.kg_flow - shape.flow_kg_s * kg];
	return basisAt(shape, piece.time_s, 0).map((b) => b * kg);
}

/** The bases at one time and one flow. */
export function basisAt(shape: Shape, time_s: number, flow_kg_s: number): number[] {
	if (shape.form === 'step') return [1, ...shape.changes_s.map((t) => (time_s >= t ? 1 : 0))];
	// Outside the range that was weighed, a trend or a curve is held at its end value.
	if (shape.form === 'trend') {
		return [1, Math.max(-1, Math.min(1, (time_s - shape.middle_s) / shape.half_s))];
	}
	if (shape.form === 'flow') {
		const [low, high] = shape.flowRange_kg_s;
		return [1, flow_kg_s > 0 ? Math.max(low, Math.min(high, flow_kg_s)) - shape.flow_kg_s : 0];
	}
	return [1];
}

/** Records on either side in the running mean of flow. */
const REACH = 3;

/**
 * Smooths flow for a curve, one value per record: a running mean of a few records, which gaps in time end. A curve evaluated at
 * each record's own flow would square its noise.
 */
export function smoothFlow(records: Records, account: Account, orders: readonly Int32Array[]): Float64Array {
	const out = new Float64Array(records.n).fill(Number.NaN);
	for (const order of orders) {
		for (let k = 0; k < order.length; k++) {
			const own = flowOf(records, account, order[k]!);
			if (!(own > 0)) {
				out[order[k]!] = own;
				continue;
			}
			let sum = own;
			let count = 1;
			for (const way of [-1, 1]) {
				for (let r = 1; r <= REACH; r++) {
					const j = k + way * r;
					if (j < 0 || j >= order.length) break;
					const gap = Math.abs(records.time_s[order[j]!]! - records.time_s[order[j - way]!]!);
					const flow = flowOf(records, account, order[j]!);
					if (gap > 10 || !(flow > 0.2 * own)) break;
					sum += flow;
					count++;
				}
			}
			out[order[k]!] = sum / count;
		}
	}
	return out;
}

/** Account mass per second, kg/s; 0 where there is no interval. */
function flowOf(records: Records, account: Account, i: number): number {
	const interval = records.interval_s[i]!;
	if (account.fault[i] === MASS_FAULT.unrecorded) return records.flow_kg_s[i]!;
	return interval > 0 ? account.account_kg[i]! / interval : 0;
}
