import { sharesOf, spreadOf } from '../../tank/index.ts';
import { massOf, NO_SEAMS, type RunningFactor, scaleOf } from './running-factor.ts';
import type { SolvedBook } from './solve-book.ts';

/** How the readings of two combines compare on the same grain. */
export interface Against {
	first: string;
	second: string;
	/** 100 × (reading of the first / reading of the second − 1) for the same grain. */
	diff_pct: number;
	interval_pct: [number, number];
	real: boolean;
}

export function pairsOf(solved: SolvedBook, factors: readonly RunningFactor[]): Against[] {
	const { chain, at, tape, scatter, df } = solved;
	const able = factors.filter((f) => f.value !== null);
	const pct = (x: number) => 100 * Math.expm1(x);
	const pairs: Against[] = [];
	for (let i = 0; i < able.length; i++)
		for (let j = i + 1; j < able.length; j++) {
			const [a, b] = [able[i]!, able[j]!];
			const [p, q] = [a, b].map((f) => chain.combines.indexOf(f.combine)) as [number, number];
			// Same true grain: reading of a / reading of b = k_b / k_a.
			const log = Math.log(b.value! / a.value!);
			const f = new Float64Array(tape.n);
			f[at.brought[q]!] = 1 / (massOf(chain, q) * b.value!);
			f[at.brought[p]!] = -1 / (massOf(chain, p) * a.value!);
			const shares = sharesOf(tape, scatter, f);
			const scale = scaleOf(solved, [p, q], shares.cart);
			const { half } = spreadOf(shares, { scatterDf: df, seamDf: NO_SEAMS, scale, seed: 201 + p });
			pairs.push({
				first: a.combine,
				second: b.combine,
				diff_pct: pct(log),
				interval_pct: [pct(log - half), pct(log + half)],
				real: Math.abs(log) > half,
			});
		}
	return pairs;
}
