import { align } from './align.ts';
import { COSTS } from './costs.ts';
import { lookUp, type Scene } from './scene.ts';

/** What the clock was found to be. */
export interface ClockFit {
	offset_s: number;
	u_s: number;
	/** Offsets tried and what the best reading of each costs, for the eye. */
	tried: { offset_s: number; cost: number }[];
}

const REACH_S = 12 * 3600;
const COARSE_S = 90;

/** What an offset costs by itself: near nothing is usual, whole and half hours happen, anything else now and then. */
export function offsetCost(offset_s: number): number {
	const near = (d: number, s: number): number => Math.exp((-d * d) / (2 * s * s)) / s;
	const s = COSTS.clockDrift_s;
	const half = Math.round(offset_s / 1800) * 1800;
	// 48 half hours within a day; an odd offset lies anywhere within it.
	const density =
		0.9 * (0.8 * near(offset_s, s) + 0.2 * near(offset_s, 4 * s)) +
		Math.exp(-COSTS.clockHour) * (near(offset_s - half, s) / 24) +
		(Math.exp(-COSTS.clockOdd) * Math.sqrt(2 * Math.PI)) / 86_400;
	return -Math.log(density * s);
}

/** Looks for the offset of the cart's clock within ± 12 h, from coarse to fine. */
export function findClock(scene: Scene, step: (share: number) => void): ClockFit {
	const price = (offset_s: number, width: number, clock_s: number): number => {
		const readings = align(scene, lookUp(scene, offset_s, true), { width, whole: false, clock_s });
		return (readings[0]?.cost ?? Number.POSITIVE_INFINITY) + offsetCost(offset_s);
	};
	const tried: { offset_s: number; cost: number }[] = [];
	const count = Math.ceil(REACH_S / COARSE_S);
	for (let i = -count; i <= count; i++) {
		const offset_s = i * COARSE_S;
		tried.push({ offset_s, cost: price(offset_s, 3, COARSE_S / 3) });
		if (i % 40 === 0) step(0.8 * ((i + count) / (2 * count)));
	}
	const minima = tried
		.filter((t, i) => t.cost <= (tried[i - 1]?.cost ?? Infinity) && t.cost <= (tried[i + 1]?.cost ?? Infinity))
		.sort((a, b) => a.cost - b.cost)
		.slice(0, 8);
	const fine: { offset_s: number; cost: number }[] = [];
	for (const m of minima) {
		for (let d = -60; d <= 60; d += 30) fine.push({ offset_s: m.offset_s + d, cost: price(m.offset_s + d, 8, 10) });
	}
	fine.sort((a, b) => a.cost - b.cost);
	step(0.9);
	const best = fine[0] ?? { offset_s: 0, cost: 0 };
	return { ...refine(best.offset_s, (o) => price(o, 10, 5)), tried };
}

/**
 * Mean and spread of the offset about its best value, each offset weighed by exp(−cost / 2): half, since the errors
 * of neighbouring fills are alike and count for less than they seem to.
 */
function refine(about_s: number, price: (offset_s: number) => number): { offset_s: number; u_s: number } {
	let step_s = 15;
	let costs: { o: number; cost: number }[] = [];
	for (let turn = 0; turn < 3; turn++) {
		costs = [];
		for (let d = -10; d <= 10; d++) costs.push({ o: about_s + d * step_s, cost: price(about_s + d * step_s) });
		const least = Math.min(...costs.map((x) => x.cost));
		const edge = Math.min((costs[0] as { cost: number }).cost, (costs[20] as { cost: number }).cost);
		const at = costs.find((x) => x.cost === least)!.o;
		// The flanks must be in sight: a flat fit is looked at from further away.
		if (edge - least > 6) break;
		about_s = at;
		step_s *= 2.5;
	}
	const least = Math.min(...costs.map((x) => x.cost));
	let sum = 0;
	let mean = 0;
	for (const { o, cost } of costs) {
		const w = Math.exp(-(cost - least) / 2);
		sum += w;
		mean += w * o;
	}
	mean /= sum;
	let square = 0;
	for (const { o, cost } of costs) square += Math.exp(-(cost - least) / 2) * (o - mean) ** 2;
	return { offset_s: mean, u_s: Math.sqrt(square / sum + step_s ** 2 / 12) };
}
