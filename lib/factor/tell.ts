import type { Factor, Match } from '../model/index.ts';
import { median, quantile, tQuantile } from '../stats/index.ts';
import { adviceFor } from './advice.ts';
import { budgetOf, dumpsNeeded } from './budget.ts';
import type { Choice } from './choose.ts';
import { fieldSlow, fillShare, referenceParts, spreadOf } from './interval.ts';
import { basisAt } from './shape.ts';
import { type FactorInput, functional, type Solved, shares, valueAt } from './solved.ts';

/** How near a factor should be known: ± 1 %. */
const AIM = 0.01;
/** What a dump's ratio scatters by where none was weighed, relative (from memory of like fields, no source). */
const USUAL_DUMP = 0.012;

export function factorOf(input: FactorInput, solved: Solved, c: number): Factor {
	const { reference, match } = input;
	const { system, state, scatter, time } = solved;
	const shape = solved.shapes[c]!;
	const choice = solved.choices[c];
	const own = system.index.filter((w) => covers(match, w, c, true));
	const involved = system.index.filter((w) => covers(match, w, c, false));
	const kinds = new Set(involved.map((w) => match.weighings[w]!.kind));
	const source = !state.told[c]
		? null
		: kinds.has('dump') || kinds.has('mixed')
			? ('dumps' as const)
			: kinds.has('ticket')
				? ('tickets' as const)
				: kinds.has('total')
					? ('total' as const)
					: ('seams' as const);
	const tried = choice ? triedOf(choice) : [];
	const base = { combine: c, form: shape.form, n: involved.length, changes: [], knots: [], curve: [], tried };
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
			moreDumps: Number.POSITIVE_INFINITY,
			advice: [],
		};
		none.advice = advise(input, solved, none, own, 0);
		return none;
	}
	const mean = system.mean[c]!;
	const value = valueAt(solved, c, mean);
	const f = functional(solved, c, mean);
	const field = shares(solved, f);
	const unweighed = fieldSlow(system, time, solved.rough, scatter, solved.solution, f, c, field);
	const spread = spreadOf(field, unweighed, solved.scatterDf, reference, 1 + c);
	const last = basisAt(shape, Number.POSITIVE_INFINITY, shape.flow_kg_s);
	const nextValue = valueAt(solved, c, last);
	const nextShares = shares(solved, functional(solved, c, last));
	const oneFill = (scatter.sigma * nextValue) ** 2 * fillShare(time.segments, c);
	const next = spreadOf(nextShares, nextShares.slow + oneFill, solved.scatterDf, reference, 101 + c);
	const ref = referenceParts(reference);
	const byCart = involved.some((w) => match.weighings[w]!.byCart) || source === 'seams';
	const common = byCart ? Math.max(0.95 * ref.half, ref.u > 0 ? tQuantile(0.975, ref.df) * ref.u : 0) : 0;
	const s = oneDump(solved, own);
	const needed = dumpsNeeded(Number.isFinite(s) ? s : USUAL_DUMP, common, AIM);
	const factor: Factor = {
		...base,
		value,
		u_rel: spread.u / value,
		interval: [value - spread.half, value + spread.half],
		next_interval: [nextValue - next.half, nextValue + next.half],
		source,
		budget: budgetOf(field, unweighed, value, reference, input.moisture?.[c] ?? null, meanMoisture(input, c)),
		scatter_rel: scatter.sigma * Math.sqrt(fillShare(time.segments, c)),
		// Weighed well enough already, whatever a count of dumps says.
		moreDumps: spread.half / value <= AIM ? 0 : Number.isFinite(needed) ? Math.max(1, needed - own.length) : needed,
		advice: [],
	};
	describe(input, solved, factor, c);
	factor.advice = advise(input, solved, factor, own, common);
	return factor;
}

function covers(match: Match, w: number, c: number, alone: boolean): boolean {
	const weighing = match.weighings[w]!;
	if (weighing.kind === 'total') return !alone;
	const of = weighing.unloadings.map((u) => match.unloadings[u]!.combine);
	return alone ? of.length > 0 && of.every((v) => v === c) : of.includes(c);
}

function triedOf(choice: Choice): Factor['tried'] {
	const { scores } = choice;
	if (!Number.isFinite(scores.constant)) return [];
	const forms = ['constant', 'step', 'trend', 'flow'] as const;
	return forms.filter((f) => Number.isFinite(scores[f])).map((form) => ({ form, score: scores[form] }));
}

/**
 * Relative standard deviation of one dump's ratio: its readings, its own error and the sensor's slow error. What stays in a
 * tank is in the next dump, and does not add up.
 */
function oneDump(solved: Solved, own: readonly number[]): number {
	const { system, slow, scatter } = solved;
	const n = system.weighings.length;
	const list = own
		.map((w) => system.index.indexOf(w))
		.map((i) => {
			const variance = system.reading[i * n + i]! + Math.min(system.own[i]!, (0.01 * system.y[i]!) ** 2);
			return Math.sqrt(variance + scatter.sigma ** 2 * slow[i * n + i]!) / system.weighings[i]!.reference_kg;
		});
	return list.length > 0 ? median(list) : Number.NaN;
}

/** Changes, knots or curve of a form, as the result tells them. */
function describe(input: FactorInput, solved: Solved, factor: Factor, c: number): void {
	const shape = solved.shapes[c]!;
	const order = solved.time.orders[c]!;
	if (order.length === 0) return;
	const at = (time_s: number, flow: number) => valueAt(solved, c, basisAt(shape, time_s, flow));
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
		const [low, high] = shape.flowRange_kg_s;
		factor.curve = Array.from({ length: 9 }, (_, i) => low + ((high - low) * i) / 8).map((flow_kg_s) => ({
			flow_kg_s,
			value: at(0, flow_kg_s),
		}));
	}
}

function meanMoisture(input: FactorInput, c: number): number {
	const list: number[] = [];
	for (let i = 0; i < input.records.n; i++)
		if (input.records.combine[i] === c) list.push(input.records.moisture_pct[i]!);
	const m = median(list);
	return Number.isFinite(m) ? m : input.plan.crop.market_moisture_pct;
}

function advise(input: FactorInput, solved: Solved, factor: Factor, own: number[], common: number): string[] {
	const c = factor.combine;
	const moist: number[] = [];
	for (const i of solved.time.orders[c]!) if (input.track.flag[i] === 0) moist.push(input.records.moisture_pct[i]!);
	const sorted = Float64Array.from(moist).filter(Number.isFinite).sort();
	return adviceFor({
		factor,
		name: input.records.combines[c]!,
		records: input.records,
		match: input.match,
		plan: input.plan,
		common,
		noCurve: solved.slopes[c]?.why ?? null,
		weighings: own,
		moisture_pct: [quantile(sorted, 0.1), quantile(sorted, 0.9)],
	});
}
