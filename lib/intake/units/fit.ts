import { upperMedian } from '../../stats/median.ts';
import type { Unit } from '../../units/index.ts';

export interface Ratio {
	/** Median of reference / value. */
	ratio: number;
	/** Median absolute deviation of its logarithm. */
	spread: number;
	n: number;
}

/** How a column compares with its expected values: the median of their ratio, over rows where both are positive. */
export function ratioTo(values: ArrayLike<number>, reference: ArrayLike<number>): Ratio {
	const logs: number[] = [];
	const step = Math.max(1, Math.floor(values.length / 4000));
	for (let i = 0; i < values.length; i += step) {
		const v = values[i]!;
		const r = reference[i]!;
		if (v > 0 && r > 0) logs.push(Math.log(r / v));
	}
	const center = upperMedian(logs);
	return { ratio: Math.exp(center), spread: upperMedian(logs.map((l) => Math.abs(l - center))), n: logs.length };
}

/** The unit whose size is nearest to a ratio, and how far off it is (1.03: 3%). */
export function nearestUnit(ratio: number, units: readonly Unit[]): { unit: Unit; off: number } | null {
	let best: { unit: Unit; off: number } | null = null;
	for (const unit of units) {
		const off = Math.exp(Math.abs(Math.log(ratio / unit.size)));
		if (best === null || off < best.off) best = { unit, off };
	}
	return best;
}

/** Median of the positive values. */
export function middlePositive(values: Float64Array): number {
	const step = Math.max(1, Math.floor(values.length / 5000));
	const good: number[] = [];
	for (let i = 0; i < values.length; i += step) if (values[i]! > 0) good.push(values[i]!);
	return upperMedian(good);
}
