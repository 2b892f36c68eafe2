import { curveAt, type Factor } from './factor.ts';

/** A monitor that records only a share of the flow above some flow. */
export interface Saturation {
	combine: number;
	from_kg_s: number;
	/** What is lacking of the flow above `from_kg_s`, over what was recorded of it. */
	lacking: number;
	/** Lowest and highest flow recorded, but for a few percent. */
	flows_kg_s: [number, number];
}

/** The share of a flow above some flow. */
export const shareAbove = (flow_kg_s: number, from_kg_s: number): number =>
	flow_kg_s > from_kg_s ? 1 - from_kg_s / flow_kg_s : 0;

/** What a record of this flow is multiplied by where the sensor does not saturate. */
export const unsaturated = ({ from_kg_s, lacking }: Saturation, flow_kg_s: number): number =>
	1 + lacking * shareAbove(flow_kg_s, from_kg_s);

/** The factor over flow as recorded, where it is `value` without the saturation. */
export function curveOf(saturation: Saturation, value: number): Factor['curve'] {
	return curveAt(saturation.flows_kg_s, (flow_kg_s) => value * unsaturated(saturation, flow_kg_s));
}
