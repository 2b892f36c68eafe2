import type { Ticket } from '../../model/index.ts';
import { massAt, timeOfMass } from '../problem/mass.ts';
import type { Problem } from '../problem/problem.ts';

/** A truckload: its weight, reference mass, and its ticket, an index into LoadBook.tickets; −1 = none, or a wrong one. */
export interface Load {
	ticket: number;
	kg: number;
}

/** The grain that the tickets of a group are of. */
export interface Grain {
	problem: Problem;
	combines: readonly number[];
	/** Factors relative to the first combine's. */
	ratio: readonly number[];
	tickets: readonly Ticket[];
}

/** The times by which the combines together had cut each load and those before it. */
export function momentsOf(grain: Grain, loads: readonly Load[], factor: number): number[] {
	let sum = 0;
	return loads.map(({ kg }) => {
		sum += kg;
		return timeOfSum(grain, factor, sum);
	});
}

function timeOfSum({ problem, combines, ratio }: Grain, factor: number, kg: number): number {
	const flows = combines.map((c) => problem.flows[c]!);
	if (flows.length === 1) return timeOfMass(flows[0]!, kg / (factor * ratio[0]!));
	let low = Math.min(...flows.map((f) => f.start_s));
	let high = Math.max(...flows.map((f) => f.end_s));
	for (let n = 0; n < 50; n++) {
		const mid = (low + high) / 2;
		const sum = flows.reduce((s, f, i) => s + factor * ratio[i]! * massAt(f, mid), 0);
		if (sum < kg) low = mid;
		else high = mid;
	}
	return high;
}
