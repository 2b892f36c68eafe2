import { type Account, inTimeOrder, type Records, type Seam, type Track } from '../model/index.ts';
import { flowShape } from './form/curve.ts';
import { type Shape, smoothFlow } from './form/shape.ts';
import { type FlowSlope, flowSlopes } from './form/slopes.ts';

/** The flows of a field, which no weight changes. */
export interface Flows {
	/** Record indices in order of time, one list per combine. */
	orders: Int32Array[];
	/** Smoothed, one value per record. */
	flow: Float64Array;
	/** What neighboring passes show of each combine's curve over flow, and the shape that one would have. */
	slopes: FlowSlope[];
	curves: Shape[];
}

/** Finds the flows of all records and what neighboring passes show of curves over flow. */
export function flowsOf(of: { records: Records; account: Account; track: Track; seams: readonly Seam[] }): Flows {
	const { records, account, track, seams } = of;
	const orders = records.combines.map((_, c) => inTimeOrder(records, c));
	const flow = smoothFlow(records, account, orders);
	const slopes = flowSlopes(records, account, track, seams);
	return { orders, flow, slopes, curves: orders.map((order) => flowShape(account, flow, order)) };
}
