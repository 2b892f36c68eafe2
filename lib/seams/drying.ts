import { remembered } from '../model/index.ts';
import { median } from '../stats/index.ts';
import type { Block } from './profile.ts';

/** Passes cut within this time of each other are taken to have the same moisture. */
const SAME_TIME_S = 5400;

/**
 * Water that the crop lost between the times of a seam's two passes.
 *
 * Sensors may differ by a constant, which is estimated from passes cut at about the same time and taken out. Where
 * there is no such seam, the offsets applied are used.
 *
 * @returns `logWater` by seam: log of (wet mass of the first / second) that is water alone; `sensed_pct` the first's
 *   moisture less the second's as sensed; `corrected` the number of seams brought to one moisture
 */
export function drying(
	blocks: readonly Block[],
	offsetA_pct: number,
	offsetB_pct: number,
): { logWater: Map<number, number>; sensed_pct: number; corrected: number } {
	const bySeam = new Map<number, { diff: number[]; apart_s: number[]; level: number[] }>();
	for (const b of blocks) {
		const p = b.left[0]!;
		const q = b.right[0]!;
		const diff = p.moisture_pct - q.moisture_pct;
		if (!Number.isFinite(diff)) continue;
		const s = remembered(bySeam, b.seam, () => ({ diff: [], apart_s: [], level: [] }));
		s.diff.push(diff);
		s.apart_s.push(p.time_s - q.time_s);
		s.level.push((p.moisture_pct + q.moisture_pct + offsetA_pct + offsetB_pct) / 2);
	}
	const near: number[] = [];
	const all: number[] = [];
	for (const s of bySeam.values()) {
		all.push(...s.diff);
		if (Math.abs(median(s.apart_s)) <= SAME_TIME_S) near.push(...s.diff);
	}
	const contemporary = near.length >= 5;
	const sensors = contemporary ? median(near) : offsetB_pct - offsetA_pct;
	const logWater = new Map<number, number>();
	let corrected = 0;
	for (const [seam, s] of bySeam) {
		if (Math.abs(median(s.apart_s)) <= SAME_TIME_S) continue;
		// One value per seam, since block by block the sensors' noise would enter.
		const lost = median(s.diff) - sensors;
		logWater.set(seam, lost / (100 - median(s.level)));
		corrected++;
	}
	return { logWater, sensed_pct: contemporary ? sensors : median(all), corrected };
}
