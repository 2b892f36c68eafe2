import { CART, MONITOR } from '../../model/index.ts';
import { effectiveFreedom, median } from '../../stats/index.ts';
import { meanVariance, type ScalePart, sharesOf, spreadOf } from '../../tank/index.ts';
import { type BookChain, type Load, ownFrom } from './chain.ts';
import { slipOf, slipSlot } from './slip.ts';
import type { SolvedBook } from './solve-book.ts';

/** One weighed fill, as used for a combine's factor. */
export interface FillPoint {
	dumps: string[];
	monitor_kg: number;
	reference_kg: number;
	/** 100 × (monitor − reference) / reference. */
	error_pct: number;
	/** Its weight is shared with another combine: split in proportion to the monitors, each times its factor. */
	shared: boolean;
	/** Its reference mass as predicted from all other weights: mean, standard deviation, degrees of freedom. */
	expected_kg: number;
	u_expected_kg: number;
	expectedDf: number;
	/** So far off that it is in no factor. */
	wrong: boolean;
}

/** A combine's running factor, from the weights so far. */
export interface RunningFactor {
	combine: string;
	/** Reference / monitor; null while there is no weight with a monitor reading. */
	value: number | null;
	/** 95% interval of what was cut so far, including the scale's part. Null while nothing was weighed. */
	interval: [number, number] | null;
	/** 95% range of the next load. */
	next: [number, number] | null;
	/** The same two as the monitor's error in percent (low, high). */
	error_pct: number | null;
	errorInterval_pct: [number, number] | null;
	nextError_pct: [number, number] | null;
	/** 95% interval of the monitor's mean error over what is still to come: decides whether to calibrate. */
	levelError_pct: [number, number] | null;
	/** That mean error itself: another than so far where the monitor changed. */
	now_pct: number | null;
	n: number;
	/** Index of the first of `points` that shows the monitor as it is now. */
	since: number;
	/** Relative scatter of a single fill. */
	scatter_rel: number;
	points: FillPoint[];
	/** How it narrowed: value and interval after some of the fills (`load` counts from 0), including the last. */
	course: { load: number; value: number; low: number; high: number }[];
}

/** Error of a monitor in percent from its factor: (monitor − reference) / reference. */
export function errorOf_pct(factor: number): number {
	return 100 * (1 / factor - 1);
}

export const NOTHING: Omit<RunningFactor, 'combine'> = {
	value: null,
	interval: null,
	next: null,
	error_pct: null,
	errorInterval_pct: null,
	nextError_pct: null,
	levelError_pct: null,
	now_pct: null,
	n: 0,
	since: 0,
	scatter_rel: Number.NaN,
	points: [],
	course: [],
};

/** One combine's factor from the solved chain. */
export function runningFactor(solved: SolvedBook, c: number): RunningFactor {
	const { chain, at, tape, scatter, wrong } = solved;
	const combine = chain.combines[c]!;
	const points: FillPoint[] = [];
	const own: number[] = [];
	const from = ownFrom(chain);
	chain.loads.forEach((l, i) => {
		if (i < from || !l.weighs || !l.inflows.some((x) => x.combine === c)) return;
		own.push(i);
		points.push(pointOf(solved, i, c));
	});
	const n = own.filter((i) => !wrong.has(i)).length;
	const M = massOf(chain, c);
	if (n === 0 || !(M > 0)) return { ...NOTHING, combine, points };
	const value = tape.x[at.brought[c]!]! / M;
	const shares = sharesOf(tape, scatter, vector(tape.n, at.brought[c]!, 1 / M));
	const scale = scaleOf(solved, [c], shares.cart);
	const known = { scatterDf: solved.df, seamDf: NO_SEAMS };
	const spread = spreadOf(shares, { ...known, scale, seed: 1 + c });
	const fill = fillVariance(solved, c);
	// What was weighed is the best estimate of what follows, so the interval is centered on it, as in the report.
	const ofNext = sharesOf(tape, scatter, vector(tape.n, at.factor[c]!, 1));
	const nextScale = scaleOf(solved, [c], ofNext.cart);
	const level = spreadOf(ofNext, { ...known, scale: nextScale, seed: 301 + c, draws: 5_000 });
	// A monitor that changed goes on as it was after that.
	const { slip } = solved;
	const changed = slip.kind === 'monitor' && slip.combine === c;
	const now = changed ? tape.x[at.factor[c]!]! : value;
	const oneFill = value ** 2 * fill(scatter.sigmaMean, scatter.whiteMean);
	const next = spreadOf(ofNext, { ...known, fill: oneFill, scale: nextScale, seed: 101 + c });
	const around = (x: number, half: number): [number, number] => [x - half, x + half];
	const interval = around(value, spread.half);
	return {
		combine,
		value,
		interval,
		next: around(now, next.half),
		error_pct: errorOf_pct(value),
		now_pct: errorOf_pct(now),
		errorInterval_pct: asError(interval),
		nextError_pct: asError(around(now, next.half)),
		levelError_pct: asError(around(now, level.half)),
		n,
		since: changed ? own.findIndex((i) => chain.loads[i]!.fill.time_s >= slip.at_s) : 0,
		scatter_rel: Math.sqrt(fill(scatter.sigma, scatter.white) + weightVariance(solved, own)),
		points,
		course: courseOf(solved, c, own, { value, low: interval[0], high: interval[1] }),
	};
}

/** Placeholder for a combine without seams. */
export const NO_SEAMS = Infinity;

function asError(i: readonly [number, number]): [number, number] {
	// An interval that reaches down to a factor of zero has no upper end of error.
	return [errorOf_pct(i[1]), i[0] > 0 ? errorOf_pct(i[0]) : Infinity];
}

/** A load's grain by its weight, without what slipped on the cart's scale. */
function grainOf({ slip, tape, at }: SolvedBook, { kg, cart, fromEmpty, fill }: Load): number {
	if (cart !== slip.cart) return kg;
	const size = tape.x[slipSlot(at)]!;
	const zero_kg = slip.kind === 'zero' ? size * fromEmpty : 0;
	return (kg - zero_kg) / (1 - tape.x[at.cart[cart]!]! - size * slipOf(slip, fill.time_s));
}

function pointOf(solved: SolvedBook, load: number, c: number): FillPoint {
	const { chain, at, tape, leftOut, wrong } = solved;
	const l = chain.loads[load]!;
	const parts = l.inflows.map((i) => tape.x[at.factor[i.combine]!]! * i.kg);
	const k = l.inflows.findIndex((i) => i.combine === c);
	const share = parts[k]! / parts.reduce((s, x) => s + x, 0);
	const [monitor_kg, reference_kg] = [l.inflows[k]!.kg, share * grainOf(solved, l)];
	const others = leftOut.get(load);
	return {
		dumps: l.fill.dumps,
		monitor_kg,
		reference_kg,
		error_pct: (100 * (monitor_kg - reference_kg)) / reference_kg,
		shared: l.inflows.length > 1,
		expected_kg: reference_kg - share * (others?.residual_kg ?? Number.NaN),
		u_expected_kg: share * (others?.u_kg ?? Number.NaN),
		expectedDf: others?.df ?? Number.NaN,
		wrong: wrong.has(load),
	};
}

export function massOf(chain: BookChain, c: number, from = ownFrom(chain), to = chain.loads.length): number {
	let sum = 0;
	for (let i = from; i < to; i++) for (const x of chain.loads[i]!.inflows) if (x.combine === c) sum += x.kg;
	return sum;
}

function vector(n: number, slot: number, by: number): Float64Array {
	const out = new Float64Array(n);
	out[slot] = by;
	return out;
}

/** Relative variance that remains of a slow error in the mean of one fill, and of a fill's white error. */
function fillVariance({ chain }: SolvedBook, c: number): (sigma: number, white: number) => number {
	const seconds = chain.loads.flatMap((l) => l.inflows.flatMap((i) => (i.combine === c ? [i.seconds] : [])));
	const share = seconds.reduce((s, t) => s + meanVariance(t, MONITOR.slow_s), 0) / seconds.length;
	return (sigma, white) => sigma ** 2 * share + white ** 2;
}

/** Relative variance of one weight by its readings and by itself. */
function weightVariance({ chain }: SolvedBook, own: readonly number[]): number {
	return median(
		own.map((i) => {
			const { readings, own_kg2, kg } = chain.loads[i]!;
			return (readings.reduce((s, r) => s + (r.by * r.u_kg) ** 2, 0) + own_kg2) / kg ** 2;
		}),
	);
}

/** The part of the cart ratios' variance in a weighted sum: each cart by the grain that it weighed. */
export function scaleOf({ chain, slip }: SolvedBook, of: readonly number[], variance: number): ScalePart {
	const checks = chain.carts[slip.cart]?.checks.length ?? 0;
	// Where its scale slipped, truckloads check the cart one by one.
	if (checks > 0) return { u: Math.sqrt(Math.max(0, variance)), df: JUDGED_DF, half: CART.certified_rel };
	const kg = chain.carts.map((_, k) =>
		chain.loads.reduce(
			(s, l, i) =>
				s +
				(i >= ownFrom(chain) && l.weighs && l.cart === k
					? l.inflows.reduce((m, i) => m + (of.includes(i.combine) ? i.kg : 0), 0)
					: 0),
			0,
		),
	);
	const whole = Math.hypot(...chain.carts.map((cart, k) => kg[k]! * cart.u_rel));
	const by = whole > 0 ? Math.sqrt(Math.max(0, variance)) / whole : 0;
	const parts = chain.carts.flatMap((cart, k) => cart.parts.map((p) => ({ p, by: by * kg[k]! })));
	const t = parts.flatMap(({ p, by }) => (p.kind === 't' ? [{ u: by * p.u, df: p.df }] : []));
	return {
		u: Math.hypot(...t.map((p) => p.u)),
		df: effectiveFreedom(
			t.map((p) => p.u),
			t.map((p) => p.df),
		),
		half: Math.hypot(...parts.map(({ p, by }) => (p.kind === 'rectangular' ? by * p.half : 0))),
	};
}

/** Degrees of freedom of errors whose sizes are judged (JCGM 100, G.4.2: to 16 %). */
const JUDGED_DF = 20;

const COURSE_POINTS = 24;

/** The history is only a picture: a subset of its points is enough, with limits added to the rest in quadrature. */
function courseOf(
	solved: SolvedBook,
	c: number,
	own: readonly number[],
	end: { value: number; low: number; high: number },
) {
	const { chain, at, tape, scatter, df } = solved;
	const every = Math.ceil(own.length / COURSE_POINTS);
	const out: RunningFactor['course'] = [];
	own.forEach((load, i) => {
		if (i === own.length - 1) {
			out.push({ load: i, ...end });
			return;
		}
		if (i >= 4 && i % every !== 0) return;
		const then = solved.course[load]!;
		const M = massOf(chain, c, ownFrom(chain), load + 1);
		const value = then.brought_kg[c]! / M;
		const soFar = { data: tape.data, starts: tape.starts.slice(0, then.operations) };
		const shares = sharesOf(soFar, scatter, vector(tape.n, at.brought[c]!, 1 / M));
		const fewer = Math.max(3, Math.min(df, i + 3));
		const scale = scaleOf(solved, [c], shares.cart);
		const rest = spreadOf(shares, { scatterDf: fewer, seamDf: NO_SEAMS, scale: { ...scale, half: 0 }, seed: 1 }).half;
		const half = Math.hypot(rest, 0.95 * scale.half);
		out.push({ load: i, value, low: value - half, high: value + half });
	});
	return out;
}
