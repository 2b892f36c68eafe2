import type { Records, Track } from '../../model/index.ts';
import { inTimeOrder } from '../../model/index.ts';
import { median } from '../../stats/index.ts';

/**
 * Relative local scatter of a record's yield, one value per record, from the sensor's fast error and crop variation
 * within meters. By combine, from second differences along its passes, y(i−1) − 2 y(i) + y(i+1), which have 6 times the
 * variance of independent scatter and are free of linear trends; their robust spread is used because of spikes.
 */
export function localScatter(input: {
	records: Records;
	track: Track;
	yield_kg_ha: Float64Array;
	flag: Uint8Array;
}): Float64Array {
	const { records, track, yield_kg_ha, flag } = input;
	const scatter = new Float64Array(records.n);
	for (let c = 0; c < records.combines.length; c++) {
		const order = inTimeOrder(records, c);
		const off: number[] = [];
		const usable = (i: number) => flag[i] === 0 && yield_kg_ha[i]! > 0;
		for (let k = 1; k + 1 < order.length; k++) {
			const [a, b, d] = [order[k - 1]!, order[k]!, order[k + 1]!];
			if (!usable(a) || !usable(b) || !usable(d)) continue;
			if (track.pass[a] !== track.pass[b] || track.pass[b] !== track.pass[d]) continue;
			const [before, here, after] = [yield_kg_ha[a]!, yield_kg_ha[b]!, yield_kg_ha[d]!];
			off.push(Math.abs(before - 2 * here + after) / ((before + here + after) / 3));
		}
		const spread = off.length >= 10 ? (1.4826 * median(off)) / Math.sqrt(6) : 0.05;
		for (const i of order) scatter[i] = spread;
	}
	return scatter;
}
