import { MONITOR, SEAM, type Seam, type SeamJump, type Track } from '../model/index.ts';
import { mad } from '../stats/index.ts';
import type { FactorInput } from './input.ts';

/** A change of a monitor's factor after its last weight, estimated from the seams. */
export interface LateChange {
	combine: number;
	time_s: number;
	/** Change of the log factor, and its standard uncertainty. */
	log: number;
	u: number;
	/** −2 log of its odds against no change, given the seams. */
	cost: number;
}

/** Fewest seams on either side of a change. */
const SIDE = 3;

/**
 * Looks for a change of the jumps at a combine's seams after its last weight. The neighbor may have changed instead; that is a
 * separate hypothesis.
 *
 * @param last_s - time of its last own weight, seconds
 * @returns the likeliest change; null where there are too few seams on either side
 */
export function lateChange(input: FactorInput, combine: number, last_s: number): LateChange | null {
	const values = seamValues(input.seams, input.jumps, input.track, input.records.time_s, combine);
	values.sort((a, b) => a.time_s - b.time_s);
	let best: LateChange | null = null;
	const moments = values.filter((v) => v.time_s > last_s).length;
	const end_s = values.at(-1)?.time_s ?? last_s;
	const odds = Math.min(0.5, (end_s - last_s) / 3600 / MONITOR.change_h) / Math.max(1, moments);
	for (let k = SIDE; k <= values.length - SIDE; k++) {
		const time_s = values[k]!.time_s;
		if (!(time_s > last_s)) continue;
		const before = values.slice(0, k);
		const after = values.slice(k);
		const [a, b] = [mean(before), mean(after)];
		const scatter = mad([...before.map((v) => v.log - a), ...after.map((v) => v.log - b)]);
		const u = Math.hypot(scatter * Math.sqrt(1 / before.length + 1 / after.length), SEAM.match);
		const both = u ** 2 + MONITOR.change ** 2;
		const gain = (b - a) ** 2 * (1 / u ** 2 - 1 / both) - Math.log(both / u ** 2);
		const cost = -gain - 2 * Math.log(odds);
		// A monitor that reads higher than before needs a lower factor.
		if (best === null || cost < best.cost) best = { combine, time_s, log: a - b, u, cost };
	}
	return best;
}

function mean(list: readonly { log: number; kg: number }[]): number {
	return list.reduce((s, v) => s + v.kg * v.log, 0) / list.reduce((s, v) => s + v.kg, 0);
}

/** Log ratio of a combine's yield to its neighbor's, less the pair's mean; one per seam, at the time when it cut its side. */
function seamValues(
	seams: readonly Seam[],
	jumps: readonly SeamJump[],
	track: Track,
	time_s: Float64Array,
	combine: number,
): { time_s: number; log: number; kg: number }[] {
	return jumps.flatMap((j) => {
		if (j.combineA === j.combineB || (j.combineA !== combine && j.combineB !== combine)) return [];
		if (!Number.isFinite(j.log_jump)) return [];
		const sign = j.combineA === combine ? 1 : -1;
		const by = new Map<number, { sum: number; length: number }>();
		for (const b of j.blocks) {
			const s = by.get(b.seam) ?? { sum: 0, length: 0 };
			by.set(b.seam, { sum: s.sum + b.length_m * b.log_jump, length: s.length + b.length_m });
		}
		return [...by].flatMap(([at, { sum, length }]) => {
			const seam = seams[at];
			if (!seam || seam.excluded !== null) return [];
			const { records } = track.passes[seam.combineA === combine ? seam.passA : seam.passB]!;
			return [{ time_s: time_s[records[records.length >> 1]!]!, log: sign * (sum / length - j.log_jump), kg: length }];
		});
	});
}
