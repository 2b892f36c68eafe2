import { CART, CLOCK, MONITOR } from '../../model/index.ts';
import { groupBy, mad, median, tQuantile } from '../../stats/index.ts';
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
import { type BookChain, type Load, latest, ownFrom } from './chain.ts';
import { layoutOf, play, type Sizes } from './play.ts';
import { NO_SLIP, type Slip, slipOf } from './slip.ts';

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
	slip: Slip;
	/** −2 log of the likelihood of all weights and tickets times the odds of wrong weights. */
	cost: number;
	/** After each load: position on the tape, and the reference mass brought in, by combine. */
	course: { load: number; operations: number; brought_kg: number[] }[];
}

/** This many weights are enough to estimate how large errors are; more only take time. */
const ENOUGH = 80;

/**
 * Main line: find suspects by a robust check, estimate error sizes without them, compare each weight with the
 * prediction from all others, drop the clearly wrong ones, and run the chain once more.
 */
export function solveBook(chain: BookChain, slip: Slip = NO_SLIP, known: ReadonlySet<number> = NONE): SolvedBook {
	const at = layoutOf(chain);
	let suspects = new Set([...known, ...suspectsOf(chain, slip)]);
	let scatter = sizesOf(chain, suspects, slip);
	let judged = judge(chain, at, scatter, suspects, slip);
	if (suspects.size > 0) {
		// Not an outlier, given the error sizes: the monitor is just not steady.
		const odd = new Set([...suspects].filter((i) => known.has(i) || !fits(judged.get(i)!)));
		if (odd.size < suspects.size) {
			suspects = odd;
			scatter = sizesOf(chain, suspects, slip);
			judged = judge(chain, at, scatter, suspects, slip);
		}
	}
	const wrong = suspects.size > 0 ? new Set([...known, ...clearlyWrong(chain, at, suspects, slip)]) : NONE;
	if (wrong.size < suspects.size) scatter = sizesOf(chain, wrong, slip);
	const tape = new Tape(at.n);
	const course: SolvedBook['course'] = [];
	play(chain, at, scatter, tape, {
		wrong,
		wrong_kg: ANYTHING_KG,
		slip,
		checked: slip.cart >= 0,
		each: (load) =>
			course.push({ load, operations: tape.starts.length, brought_kg: at.brought.map((s) => tape.x[s]!) }),
	});
	return {
		chain,
		at,
		tape,
		scatter,
		df: freedom(chain, wrong),
		leftOut: judged,
		wrong: new Set(wrong),
		course,
		slip,
		cost: costOf(chain, at, scatter, wrong, slip),
	};
}

const NONE: ReadonlySet<number> = new Set();

/** A wrong weight or reading says nothing, however far off: a unit makes a load forty tanks. */
const ANYTHING_KG = 1e6;

function costOf(
	chain: BookChain,
	at: Layout,
	size: Scatter & { cost: number },
	wrong: ReadonlySet<number>,
	slip: Slip,
) {
	const fit = play(chain, at, size, new Belief(at.n), { wrong, slip, checked: true });
	return size.cost - 2 * fit + 2 * Math.log(CLOCK.mistyped) * wrong.size;
}

function freedom(chain: BookChain, without: ReadonlySet<number>): number {
	const used = chain.loads.filter((l, i) => l.weighs && !without.has(i));
	const weighed = new Set(used.flatMap((l) => l.inflows.map((i) => i.combine)));
	return Math.max(0, used.length - weighed.size) + PRIOR_DF;
}

/** Sizes of the errors, and −2 log of their prior odds. */
function sizesOf(chain: BookChain, without: ReadonlySet<number>, slip: Slip): Scatter & { cost: number } {
	const recent = latest(chain, ENOUGH);
	const at = layoutOf(recent, false);
	if (!chain.loads.some((l, i) => l.weighs && !without.has(i))) return { ...USUAL_SCATTER, cost: 0 };
	const likelihood = (size: Sizes) =>
		play(recent, at, size, new Belief(at.n), { wrong: without, wrong_kg: ANYTHING_KG, slip });
	const sizes = likeliestSizes(likelihood);
	return { ...sizes, cost: sizes.cost + 2 * likelihood(sizes) };
}

/** Scatter below which a fill is never an outlier: no monitor is that steady (common experience, no source). */
const LEAST_SCATTER = 0.007;

/** Loads far from the median of their combine, judged by median and MAD so that two bad ones do not mask each other. */
function suspectsOf(chain: BookChain, slip: Slip): Set<number> {
	const out = new Set<number>();
	chain.combines.forEach((_, c) => {
		const all = chain.loads.flatMap((l, i) =>
			l.weighs && l.inflows.length === 1 && l.inflows[0]!.combine === c && l.kg > 0 && l.inflows[0]!.kg > 0
				? [
						{
							i,
							log: Math.log(l.kg / l.inflows[0]!.kg),
							under: 2 * alike(slip, l) + Number(i < ownFrom(chain)),
						},
					]
				: [],
		);
		for (const own of groupBy(all, (x) => x.under).values()) {
			if (own.length < 4) continue;
			const logs = own.map((x) => x.log);
			const middle = median(logs);
			const far = 3 * Math.max(LEAST_SCATTER, mad(logs, middle));
			for (const { i, log } of own) if (Math.abs(log - middle) > far) out.add(i);
		}
	});
	return out;
}

/** Loads of a combine for which this is the same can be compared with each other. */
function alike(slip: Slip, { fill, inflows, cart, fromEmpty }: Load): number {
	if (slip.kind === 'monitor') return Number(inflows[0]!.combine === slip.combine && fill.time_s >= slip.at_s);
	if (slip.cart !== cart) return 0;
	return slip.kind === 'zero' ? fromEmpty : Math.round(slipOf(slip, fill.time_s));
}

/** Each weight compared with the prediction from all others; suspects are left out of predictions. */
function judge(
	chain: BookChain,
	at: Layout,
	size: Sizes,
	suspects: ReadonlySet<number>,
	slip: Slip,
): SolvedBook['leftOut'] {
	const tape = new Tape(at.n);
	const checked = slip.cart >= 0;
	play(chain, at, size, tape, { wrong: suspects, wrong_kg: ANYTHING_KG, slip, checked });
	const df = freedom(chain, suspects);
	return new Map(
		backward(tape).leftOut.map((l) => {
			const own = suspects.has(l.key) ? ANYTHING_KG ** 2 : 0;
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
function clearlyWrong(chain: BookChain, at: Layout, suspects: ReadonlySet<number>, slip: Slip): ReadonlySet<number> {
	const judged = judge(chain, at, { sigma: MONITOR.slowWide, white: 0, rests: 1 }, suspects, slip);
	return new Set(
		[...suspects].filter((i) => {
			const { residual_kg, u_kg } = judged.get(i)!;
			return (
				residual_kg ** 2 > CART.wrong_gain * u_kg ** 2 && Math.abs(residual_kg) > CART.wrong_rel * chain.loads[i]!.kg
			);
		}),
	);
}
