import { inTimeOrder, type Records } from '../model/index.ts';

/** No crop has a gap that takes this long to drive through with the header down, seconds. */
const SILENT_S = 120;
/** A flow below this share of the combine's mean counts as none. */
const NONE = 0.02;
/** A machine that moves more slowly than this cuts nothing, m/s. */
const MOVING_M_S = 0.3;

/**
 * Records in which a sensor seems dead: no flow for minutes of cutting, turns between passes among them.
 *
 * @returns 1 for each such record
 */
export function silentFlow(records: Records): Uint8Array {
	const { flow_kg_s, interval_s, distance_m, headerDown } = records;
	const silent = new Uint8Array(records.n);
	records.combines.forEach((_, c) => {
		const index = inTimeOrder(records, c);
		let [sum, flowing] = [0, 0];
		for (const i of index) if (flow_kg_s[i]! > 0) [sum, flowing] = [sum + flow_kg_s[i]!, flowing + 1];
		const least = NONE * (sum / flowing);
		let [first, cutting_s] = [0, 0];
		for (let k = 0; k <= index.length; k++) {
			const i = index[k] ?? -1;
			if (i >= 0 && flow_kg_s[i]! <= least) {
				const moved = !(distance_m[i]! < MOVING_M_S * interval_s[i]!);
				if (headerDown[i] !== 0 && moved) cutting_s += interval_s[i]! || 0;
				continue;
			}
			if (cutting_s > SILENT_S) for (let j = first; j < k; j++) silent[index[j]!] = 1;
			[first, cutting_s] = [k + 1, 0];
		}
	});
	return silent;
}
