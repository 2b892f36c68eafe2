import { tQuantile } from '../stats/index.ts';

/**
 * Difference of two combines' yields along one seam, percent: 100 × (first / second − 1), with a 95 % interval.
 *
 * `first` and `second` are wet yields (any unit) at the same stations along the line, one on each side of it. Stations
 * close together share the same crop, so the mean log ratio is taken over blocks of `block` stations and its interval
 * from the scatter between blocks, by Student's t.
 *
 * @throws RangeError where the columns differ in length, hold fewer than two whole blocks, or a yield is not positive.
 *
 * @example
 * ```js
 * const a = Float64Array.from({ length: 80 }, (_, i) => 10.8 + 0.1 * Math.sin(i));
 * const b = Float64Array.from({ length: 80 }, (_, i) => 10 + 0.1 * Math.sin(i + 1));
 * seamJump(a, b).jump_pct.toFixed(0); // → '8'
 * ```
 */
export function seamJump(
	first: ArrayLike<number>,
	second: ArrayLike<number>,
	block = 10,
): { jump_pct: number; interval: [number, number]; blocks: number } {
	if (first.length !== second.length) {
		throw new RangeError(`seamJump: expected two columns of one length, found ${first.length} and ${second.length}`);
	}
	const blocks = Math.floor(first.length / block);
	if (blocks < 2) {
		throw new RangeError(`seamJump: expected at least ${2 * block} stations (two blocks), found ${first.length}`);
	}
	const means: number[] = [];
	for (let k = 0; k < blocks; k++) {
		let sum = 0;
		for (let i = k * block; i < (k + 1) * block; i++) {
			if (!(first[i]! > 0 && second[i]! > 0)) {
				throw new RangeError(`seamJump: station ${i}: expected yields above 0, found ${first[i]} and ${second[i]}`);
			}
			sum += Math.log(first[i]! / second[i]!);
		}
		means.push(sum / block);
	}
	const mean = means.reduce((s, v) => s + v, 0) / blocks;
	const variance = means.reduce((s, v) => s + (v - mean) ** 2, 0) / (blocks - 1);
	const half = tQuantile(0.975, blocks - 1) * Math.sqrt(variance / blocks);
	const pct = (log: number) => 100 * Math.expm1(log);
	return { jump_pct: pct(mean), interval: [pct(mean - half), pct(mean + half)], blocks };
}
