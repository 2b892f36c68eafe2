import { normalCdf } from './student.ts';

/** One explanation: its probability (need not be normalised) and the 95 % interval under it, taken as normal. */
export interface Explanation {
	weight: number;
	interval: readonly [number, number];
}

/** The 95 % interval of a mixture of normal distributions: its 2.5 and 97.5 % points. */
export function mixtureInterval(parts: readonly Explanation[]): [number, number] {
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	const ends = parts.flatMap((p) => p.interval);
	const least = Math.min(...ends);
	const most = Math.max(...ends);
	const below = (x: number): number =>
		parts.reduce((total, { weight, interval: [a, b] }) => {
			const half = (b - a) / 2;
			const share = half > 0 ? normalCdf((1.96 * (x - (a + b) / 2)) / half) : Number(x >= a);
			return total + (weight / sum) * share;
		}, 0);
	const point = (share: number): number => {
		let low = least - (most - least);
		let high = most + (most - least);
		for (let n = 0; n < 60; n++) {
			const middle = (low + high) / 2;
			if (below(middle) < share) low = middle;
			else high = middle;
		}
		return (low + high) / 2;
	};
	return [point(0.025), point(0.975)];
}

/**
 * Factors whose ratio exceeds this come from different causes, such as another unit or another combine's grain, and their
 * mean would fit none of them.
 */
const APART = 1.25;

/** Whether an explanation's factor may be averaged with the best one's. */
export const near = (value: number, best: number): boolean => Math.abs(Math.log(value / best)) < Math.log(APART);
