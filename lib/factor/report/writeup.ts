import { CART, curveAt, curveOf, type Factor, type Match, MONITOR } from '../../model/index.ts';
import { median, quantileOf, repeatsNeeded, tQuantile } from '../../stats/index.ts';
import { meanVariance } from '../../tank/index.ts';
import { ownWeights } from '../chain/chain.ts';
import { isByTruck } from '../chain/weights.ts';
import { basisAt } from '../form/shape.ts';
import type { FactorInput } from '../input.ts';
import type { Solved } from '../solve-weights.ts';
import { adviceFor } from './advice.ts';
import { budgetOf } from './budget.ts';
import { fillShare, referenceParts, sharesOf, spreadOf } from './interval.ts';
import type { Level } from './per-record.ts';

/** Target half-width of a factor's 95 % interval, relative. */
const AIM = 0.01;

/** One combine's factor with its interval, uncertainty budget and advice. */
export function factorOf(input: FactorInput, solved: Solved, c: number, level: Level): Factor {
	const { reference, match } = input;
	const { coverage, scatter, time, at, tape } = solved;
	const shape = solved.shapes[c]!;
	const own = ownWeights(solved.chain, c);
	const involved = solved.chain.order.filter((w) => involves(match, w, c));
	const kinds = new Set(involved.map((w) => match.weighings[w]!.kind));
	const source = !coverage.estimable[c]
		? null
		: kinds.has('dump') || kinds.has('mixed')
			? ('dumps' as const)
			: kinds.has('ticket')
				? ('tickets' as const)
				: kinds.has('total')
					? ('total' as const)
					: ('seams' as const);
	const tried = solved.interpretation.choices[c]?.tried ?? [];
	const base = {
		combine: c,
		form: shape.form,
		n: involved.filter((w) => !isByTruck(solved.chain.match, w)).length,
		changes: [],
		knots: [],
		curve: [],
		tried,
	};
	if (source === null) {
		const none: Factor = {
			...base,
			value: Number.NaN,
			u_rel: Number.NaN,
			interval: [Number.NaN, Number.NaN],
			next_interval: [Number.NaN, Number.NaN],
			source,
			budget: [],
			scatter_rel: Number.NaN,
			moreDumps: Infinity,
			advice: [],
		};
		none.advice = advise(input, solved, none, own, 0);
		return none;
	}
	const { value } = level;
	const u_unrecorded = value * level.u_unrecorded_rel;
	const M = time.account_kg[c]!;
	const mean = M > 0 ? vector(tape.n, [[at.brought[c]!, 1 / M]]) : ofBasis(solved, c, [1]);
	const field = sharesOf(solved, mean, u_unrecorded);
	const spread = spreadOf(field, 0, solved.scatterDf, reference, 1 + c);
	const last = basisAt(shape, Infinity, shape.flow_kg_s);
	const nextValue = last.reduce((s, v, j) => s + v * tape.x[at.factor[c]! + j]!, level.shift);
	const oneFill = nextValue ** 2 * (scatter.sigmaMean ** 2 * fillShare(solved, c) + scatter.whiteMean ** 2);
	const next = spreadOf(
		sharesOf(solved, ofBasis(solved, c, last), u_unrecorded),
		oneFill,
		solved.scatterDf,
		reference,
		101 + c,
	);
	const ref = referenceParts(reference);
	const byCart = involved.some((w) => match.weighings[w]!.byCart) || source === 'seams';
	const common = byCart ? Math.max(0.95 * ref.half, ref.u > 0 ? tQuantile(0.975, ref.df) * ref.u : 0) : 0;
	const needed = repeatsNeeded(own.length > 0 ? oneDump(solved, own) : 1.5 * MONITOR.slow, AIM, common);
	const factor: Factor = {
		...base,
		value,
		u_rel: spread.u / value,
		interval: [value - spread.half, value + spread.half],
		next_interval: [nextValue - next.half, nextValue + next.half],
		source,
		budget: budgetOf(field, value, reference, input.moisture?.[c] ?? null, meanMoisture(input, c)),
		scatter_rel: Math.sqrt(scatter.sigma ** 2 * fillShare(solved, c) + scatter.white ** 2),
		moreDumps: spread.half / value <= AIM ? 0 : Number.isFinite(needed) ? Math.max(1, needed - own.length) : needed,
		advice: [],
	};
	describe(input, solved, factor, c, level.shift);
	factor.advice = advise(input, solved, asRecorded(input, factor), own, common);
	return factor;
}

/** A vector of length n with these [slot, value] entries, else 0. */
function vector(n: number, entries: readonly (readonly [number, number])[]): Float64Array {
	const out = new Float64Array(n);
	for (const [slot, v] of entries) out[slot] = v;
	return out;
}

function ofBasis({ tape, at }: Solved, c: number, basis: readonly number[]): Float64Array {
	return vector(
		tape.n,
		basis.map((v, j) => [at.factor[c]! + j, v] as const),
	);
}

/** Whether a weighing is of combine c, be it in part. */
function involves(match: Match, w: number, c: number): boolean {
	const { kind, unloadings } = match.weighings[w]!;
	return kind === 'total' || unloadings.some((u) => match.unloadings[u]!.combine === c);
}

/**
 * Relative standard deviation of one dump's ratio: its readings, its own error and the sensor's slow error. Grain left in the
 * tank is in the next dump, so its error does not add up.
 */
function oneDump(solved: Solved, own: readonly number[]): number {
	const { chain, scatter } = solved;
	return median(
		own.map((w) => {
			const { readings, u_gross_kg, u_reading_kg, reference_kg, unloadings } = chain.match.weighings[w]!;
			const reading = readings[0] >= 0 ? Math.hypot(...u_gross_kg) : u_reading_kg || 0;
			let seconds = 0;
			for (const u of unloadings)
				for (const p of solved.time.segments[solved.time.ofUnloading[u]!]?.pieces ?? [])
					seconds += Math.max(0, p.end_s - p.start_s || 0);
			const slow = scatter.sigma ** 2 * meanVariance(seconds, MONITOR.slow_s);
			return Math.sqrt((reading ** 2 + CART.rounding_kg ** 2) / reference_kg ** 2 + CART.stand_rel ** 2 + slow);
		}),
	);
}

/** Fills in the changes, knots or curve of a factor's form. */
function describe(input: FactorInput, solved: Solved, factor: Factor, c: number, shift: number): void {
	const shape = solved.shapes[c]!;
	const order = solved.time.orders[c]!;
	if (order.length === 0) return;
	const first = solved.at.factor[c]!;
	const at = (time_s: number, flow: number) =>
		basisAt(shape, time_s, flow).reduce((s, v, j) => s + v * solved.tape.x[first + j]!, shift);
	const start = input.records.time_s[order[0]!]!;
	const end = input.records.time_s[order.at(-1)!]!;
	if (shape.form === 'step') {
		factor.changes = [start, ...shape.changes_s].map((time_s) => ({ time_s, value: at(time_s, 0) }));
	}
	if (shape.form === 'trend') {
		const times = [start, shape.middle_s - shape.half_s, shape.middle_s + shape.half_s, end];
		factor.knots = [...new Set(times)].sort((a, b) => a - b).map((time_s) => ({ time_s, value: at(time_s, 0) }));
	}
	if (shape.form === 'flow') {
		factor.curve = curveAt(shape.flowRange_kg_s, (flow_kg_s) => at(0, flow_kg_s));
	}
}

function meanMoisture(input: FactorInput, c: number): number {
	const list: number[] = [];
	for (let i = 0; i < input.records.n; i++)
		if (input.records.combine[i] === c) list.push(input.records.moisture_pct[i]!);
	const m = median(list);
	return Number.isFinite(m) ? m : input.plan.crop.market_moisture_pct;
}

/** The factor for the log as it is, where its sensor saturates: advice is on the monitor. */
function asRecorded({ match, restated }: FactorInput, f: Factor): Factor {
	const saturation = match.under?.saturation;
	if (saturation?.combine !== f.combine) return f;
	const by = restated?.[f.combine] ?? 1;
	const interval: [number, number] = [f.interval[0] * by, f.interval[1] * by];
	return { ...f, form: 'flow', value: f.value * by, interval, curve: curveOf(saturation, f.value) };
}

function advise(input: FactorInput, solved: Solved, factor: Factor, own: number[], common: number): string[] {
	const c = factor.combine;
	const moist: number[] = [];
	for (const i of solved.time.orders[c]!) if (input.track.flag[i] === 0) moist.push(input.records.moisture_pct[i]!);
	return adviceFor({
		factor,
		name: input.records.combines[c]!,
		match: input.match,
		plan: input.plan,
		common,
		noCurve: factor.form === 'flow' ? null : (solved.flows.slopes[c]?.why ?? null),
		weighings: own,
		moisture_pct: [quantileOf(moist, 0.1), quantileOf(moist, 0.9)],
		dumps: input.book.dumps,
	});
}
