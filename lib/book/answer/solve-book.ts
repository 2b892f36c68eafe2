import { CART, MONITOR } from '../../model/index.ts';
import { mad, median, tQuantile } from '../../stats/index.ts';
import {
	Belief,
	backward,
	type Layout,
	likeliestSizes,
	PRIOR_DF,
	type Scatter,
	Tape,
	USUAL_SCATTER,
} from '../../tank/index.ts';
import { type BookChain, latest } from './chain.ts';
import { layoutOf, play, type Sizes } from './play.ts';

/** A solved chain. */
export interface SolvedBook {
	chain: BookChain;
	at: Layout;
	tape: Tape;
	scatter: Scatter;
	/** Degrees of freedom of the estimated error sizes. */
	df: number;
	/** Of each load with a weight: observed less predicted from all others, and its standard deviation, kg. */
	leftOut: Map<number, { residual_kg: number; u_kg: number; df: number }>;
	/** Loads whose weight is clearly wrong: in no factor. */
	wrong: Set<number>;
	/** After each load: position on the tape, and the reference mass brought in, by combine. */
	course: { load: number; operations: number; brought_kg: number[] }[];
}

/** This many weights are enough to estimate how large errors are; more only take time. */
const ENOUGH = 80;

/**
 * Main line: find suspects by a robust check, estimate error sizes without them, compare each weight with the
 * prediction from all others, drop the clearly wrong ones, and run the chain once more.
 */
export function solveBook(chain: BookChain): SolvedBook {
	const at = layoutOf(chain);
	let suspects = suspectsOf(chain);
	let scatter = sizesOf(chain, suspects);
	let judged = judge(chain, at, scatter, suspects);
	if (suspects.size > 0) {
		// Not an outlier, given the error sizes: the monitor is just not steady.
		const odd = new Set([...suspects].filter((i) => !fits(judged.get(i)!)));
		if (odd.size < suspects.size) {
			suspects = odd;
			scatter = sizesOf(chain, suspects);
			judged = judge(chain, at, scatter, suspects);
		}
	}
	const wrong = suspects.size > 0 ? clearlyWrong(chain, at, suspects) : NONE;
	if (wrong.size < suspects.size) scatter = sizesOf(chain, wrong);
	const tape = new Tape(at.n);
	const course: SolvedBook['course'] = [];
	play(chain, at, scatter, tape, {
		wrong,
		each: (load) =>
			course.push({ load, operations: tape.starts.length, brought_kg: at.brought.map((s) => tape.x[s]!) }),
	});
	return { chain, at, tape, scatter, df: freedom(chain, wrong), leftOut: judged, wrong: new Set(wrong), course };
}

const NONE: ReadonlySet<number> = new Set();

function freedom(chain: BookChain, without: ReadonlySet<number>): number {
	const used = chain.loads.filter((l, i) => l.weighs && !without.has(i));
	const weighed = new Set(used.flatMap((l) => l.inflows.map((i) => i.combine)));
	return Math.max(0, used.length - weighed.size) + PRIOR_DF;
}

function sizesOf(chain: BookChain, without: ReadonlySet<number>): Scatter {
	const recent = latest(chain, ENOUGH);
	const at = layoutOf(recent, false);
	if (!chain.loads.some((l, i) => l.weighs && !without.has(i))) return USUAL_SCATTER;
	return likeliestSizes((size) => play(recent, at, size, new Belief(at.n), { wrong: without }));
}

/** Scatter below which a fill is never an outlier: no monitor is that steady (common experience, no source). */
const LEAST_SCATTER = 0.007;

/** Loads far from the median of their combine, judged by median and MAD so that two bad ones do not mask each other. */
function suspectsOf(chain: BookChain): Set<number> {
	const out = new Set<number>();
	chain.combines.forEach((_, c) => {
		const own = chain.loads.flatMap((l, i) =>
			l.weighs && l.inflows.length === 1 && l.inflows[0]!.combine === c && l.kg > 0 && l.inflows[0]!.kg > 0
				? [{ i, log: Math.log(l.kg / l.inflows[0]!.kg) }]
				: [],
		);
		if (own.length < 4) return;
		const logs = own.map((x) => x.log);
		const middle = median(logs);
		const far = 3 * Math.max(LEAST_SCATTER, mad(logs, middle));
		for (const { i, log } of own) if (Math.abs(log - middle) > far) out.add(i);
	});
	return out;
}

/** Each weight compared with the prediction from all others; suspects are left out of predictions. */
function judge(chain: BookChain, at: Layout, size: Sizes, suspects: ReadonlySet<number>): SolvedBook['leftOut'] {
	const tape = new Tape(at.n);
	play(chain, at, size, tape, { wrong: suspects });
	const df = freedom(chain, suspects);
	return new Map(
		backward(tape).leftOut.map((l) => {
			const own = suspects.has(l.key) ? CART.nonsense_kg ** 2 : 0;
			return [l.key, { residual_kg: l.residual, u_kg: Math.sqrt(Math.max(0, l.variance - own)), df }] as const;
		}),
	);
}

/** 99% quantile. */
export const FITS = 0.995;

function fits(l: { residual_kg: number; u_kg: number; df: number }): boolean {
	return Math.abs(l.residual_kg) <= tQuantile(FITS, l.df) * l.u_kg;
}

/** Those suspects that the report would not use either: same thresholds, same allowance for the sensor. */
function clearlyWrong(chain: BookChain, at: Layout, suspects: ReadonlySet<number>): ReadonlySet<number> {
	const judged = judge(chain, at, { sigma: MONITOR.slowWide, white: 0, rests: 1 }, suspects);
	return new Set(
		[...suspects].filter((i) => {
			const { residual_kg, u_kg } = judged.get(i)!;
			return (
				residual_kg ** 2 > CART.wrong_gain * u_kg ** 2 && Math.abs(residual_kg) > CART.wrong_rel * chain.loads[i]!.kg
			);
		}),
	);
}
