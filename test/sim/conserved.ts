import { expect } from 'vitest';
import type { Sim } from './index.ts';

const sum = (values: number[]) => values.reduce((a, b) => a + b, 0);

/** A simulated field neither makes nor loses grain and ground. */
export function expectConserved({ truth, scenario }: Sim): void {
	// The ground is cut to the boundary, less slivers under 3 m and within the strips' own rounding.
	expect(truth.area_m2 / truth.ring_m2).toBeGreaterThan(0.995);
	expect(truth.area_m2 / truth.ring_m2).toBeLessThan(1.0002);
	// What was cut passed the sensors: all but the seconds before the first whole record.
	expect(sum(truth.combines.map((c) => c.wet_kg)) / truth.wet_kg).toBeCloseTo(1, 2);
	// Into the tanks less out of them is what stayed: nothing, unless one went home loaded.
	const start = sum(scenario.combines.map((c) => c.startTank_kg));
	const stayed = start + truth.wet_kg - sum(truth.unloadings.map((u) => u.true_kg));
	expect(stayed).toBeGreaterThan(-1);
	expect(stayed).toBeLessThan(scenario.combines.some((c) => c.leavesLoaded) ? 12_000 : 200);
	// One combine at the cart at a time.
	const order = [...truth.unloadings].sort((a, b) => a.start_s - b.start_s);
	for (let i = 1; i < order.length; i++) {
		if (scenario.notes.ticketsOnly !== 'straight')
			expect(order[i]!.start_s).toBeGreaterThanOrEqual(order[i - 1]!.end_s - 1);
	}
}
