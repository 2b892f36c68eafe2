import type {
	Account,
	Factor,
	Factors,
	FieldPlan,
	LoadBook,
	Match,
	MoistureOffset,
	Progress,
	Records,
	Reference,
	Seam,
	SeamJump,
	Track,
} from '../model/index.ts';
import { median, quantile, tQuantile } from '../stats/index.ts';
import { adviceFor } from './advice.ts';
import { budgetOf, dumpsNeeded } from './budget.ts';
import { type Standing, seamEquations, standing } from './carry.ts';
import type { Choice } from './choose.ts';
import { type FlowSlope, flowSlopes } from './flow.ts';
import { fieldSlow, fillShare, referenceParts, type Shares, sharesOf, spreadOf } from './interval.ts';
import { setAsideWeights } from './rescue.ts';
import { estimateScatter, PRIOR_DF } from './scatter.ts';
import { type Timeline, timeline } from './segments.ts';
import { settle } from './settle.ts';
import { basisAt, CONSTANT, type Shape, size, smoothFlow } from './shape.ts';
import { shapeOf } from './shapes.ts';
import { type Extra, errorCovariance, type Scatter, type Solution, solve } from './solve.ts';
import { BROAD_KG, basisMass, buildSystem, type System, slowMatrix, type Tails } from './system.ts';

export { afterFactors } from './fates.ts';

export interface FactorInput {
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	reference: Reference;
	seams: Seam[];
	/** As recorded, before any factor. */
	jumps: SeamJump[];
	book: LoadBook;
	plan: FieldPlan;
	/** For the budget's line on dry yield. */
	moisture?: MoistureOffset[];
}

/** Everything the write-up of the factors draws on. */
interface Solved {
	time: Timeline;
	system: System;
	slow: Float64Array;
	scatter: Scatter;
	scatterDf: number;
	extras: Extra[];
	solution: Solution;
	shapes: Shape[];
	choices: (Choice | null)[];
	slopes: FlowSlope[];
	state: Standing;
	rough: number[];
	flow: Float64Array;
	aside: { weighing: number; reason: string }[];
	/** The match with weights taken up again after all: their indices follow its own. */
	wide: Match;
	rescued: number[];
}

/**
 * The factors of all combines from all weights together, and what they make of every record.
 *
 * Weighings are one linear system in the factors' coefficients: a chain of unloadings with rests between them, gross
 * readings that neighbours share, weights of two combines, tickets, totals; solved by generalised least squares with the
 * sensors' slow errors in the covariance. Single bad weights are set aside. Combines without a weight take theirs over
 * the seams. No weight at all: factors NaN, source null.
 */
export function solveFactors(input: FactorInput, progress: Progress): Factors {
	const solved = solveAll(input, progress);
	progress.step('factors', 0.8);
	const factors = input.records.combines.map((_, c) => factorOf(input, solved, c));
	const { factor, u_rel } = overRecords(input, solved, factors);
	progress.step('factors', 1);
	return {
		factors,
		factor,
		u_rel,
		covariance: covarianceOf(input, solved, factors),
		aside: solved.aside,
		rescued: solved.rescued.map((w) => solved.wide.weighings[w]!.dumps[0]!),
		...remarks(input, solved, factors),
	};
}

function solveAll(input: FactorInput, progress: Progress): Solved {
	const { records, account, match, reference, plan, track, seams, jumps } = input;
	progress.step('factors', 0);
	const combines = records.combines.length;
	const time = timeline(records, account, match);
	const flow = smoothFlow(records, account, time.orders);
	let use = match.weighings.map((_, w) => w).filter((w) => speaks(match, time, w));
	const rough = roughFactors(match, time, use, combines);
	const constants = records.combines.map(() => CONSTANT);
	const plain = basisMass(records, account, time, flow, constants);
	const first = buildSystem(match, reference, time, constants, plain, use, rough);
	const firstSlow = slowMatrix(first, time.segments, rough);
	const anchored = (system: System) => {
		const state = standing(system, match, jumps, combines);
		const told = seamEquations({ account, track, seams, jumps }, records.time_s, flow, constants, system, state, rough);
		return [...anchorsOf(system, constants, state, rough), ...told];
	};
	const settled = settle(first, firstSlow, anchored(first));
	const bad = new Set(settled.aside.map((a) => a.weighing));
	use = use.filter((w) => !bad.has(w));
	const base = buildSystem(match, reference, time, constants, plain, use, rough, settled.tails);
	const baseSlow = slowMatrix(base, time.segments, rough);
	const state = standing(base, match, jumps, combines);
	const slopes = flowSlopes(records, account, track, seams);
	progress.step('factors', 0.2);
	const most = use.length > 0 ? estimateScatter(base, baseSlow, anchored(base)) : { sigma: 0.008, rests: 1 };

	const candidates = setAsideWeights(match, input.book, reference);
	const wide = { ...match, weighings: [...match.weighings, ...candidates] };
	const again = candidates.map((_, i) => match.weighings.length + i);
	const told = keptGrain(match, input.book);
	const emptied = new Set<number>();
	const rescued: number[] = [];
	/** The system with more weights, or with tanks taken as emptied, settled anew. */
	const variant = (weights: readonly number[], empty: ReadonlySet<number>) => {
		const build = (tails: Tails | null) =>
			buildSystem(wide, reference, time, constants, plain, weights, rough, tails, { combines: empty, told });
		const raw = build(null);
		return build(settle(raw, slowMatrix(raw, time.segments, rough), anchored(raw)).tails);
	};
	const chosen = records.combines.map((_, c) => {
		progress.step('factors', 0.2 + (0.5 * c) / combines);
		if (!state.owned[c]) return null;
		const common = { records, account, match, plan, time, flow, slope: slopes[c]!, rough };
		const choose = (system: System) => shapeOf({ ...common, system, sigma: most.sigma, rests: most.rests }, c);
		const plainly = choose(base);
		// The alignment looks for one factor: rests that were never there, and weights set aside, may be what it took a step
		// or a drift for. Emptied tanks and all weights, with a form, must then be the likelier by far.
		const more = again.filter((w) => wide.weighings[w]!.unloadings.every((u) => match.unloadings[u]!.combine === c));
		if (more.length === 0 && !hasBroadRests(base, match, c)) return plainly;
		const weights = use.concat(more);
		const asGiven = choose(variant(weights, new Set()));
		const empty = choose(variant(weights, new Set([c])));
		const level = asGiven.choice.deviance.constant;
		const likelier = (o: typeof empty, than: number) =>
			isChange(o.shape.form) && than - o.choice.deviance.form > FAR_LIKELIER;
		const reference_ = isChange(asGiven.shape.form) ? asGiven.choice.deviance.form : level;
		if (likelier(empty, reference_)) {
			emptied.add(c);
			rescued.push(...more);
			return empty;
		}
		if (!isChange(plainly.shape.form) && likelier(asGiven, level)) {
			rescued.push(...more);
			return asGiven;
		}
		return plainly;
	});
	use = use.concat(rescued);
	const finalTails = rescued.length > 0 || emptied.size > 0 ? tailsOf(variant(use, emptied)) : settled.tails;
	const shapes = chosen.map((c) => c?.shape ?? CONSTANT);
	const mass = basisMass(records, account, time, flow, shapes);
	const system = buildSystem(wide, reference, time, shapes, mass, use, rough, finalTails, { combines: emptied, told });
	const slow = slowMatrix(system, time.segments, rough);
	const extras = [
		...anchorsOf(system, shapes, state, rough),
		...seamEquations({ account, track, seams, jumps }, records.time_s, flow, shapes, system, state, rough),
		...curveEquations(system, shapes, slopes, rough),
		...pinEquations(input, system),
	];
	const scatter = use.length > 0 ? estimateScatter(system, slow, extras) : most;
	// The cart's ratio is common to its weights; beside weights that do not hang on it, it is one more unknown.
	const mixed = system.weighings.some((w) => w.byCart) && system.weighings.some((w) => !w.byCart);
	const solution = solve(
		system,
		slow,
		scatter,
		extras,
		mixed ? reference.u_rel : 0,
		closingGroups(system, match, plan, records),
	);
	progress.step('factors', 0.7);
	return {
		time,
		system,
		slow,
		scatter,
		scatterDf: Math.max(1, use.length - system.p) + PRIOR_DF,
		extras,
		solution,
		shapes,
		choices: chosen.map((c) => c?.choice ?? null),
		slopes,
		state,
		rough,
		flow,
		aside: settled.aside,
		wide,
		rescued,
	};
}

/** A step or drift that overturns the alignment's rests must fit better by this much in −2 log-likelihood. */
const FAR_LIKELIER = 12;

function isChange(form: Shape['form']): boolean {
	return form === 'step' || form === 'trend';
}

function tailsOf(system: System): Tails {
	return { state: system.stateVariance, own: new Map(system.index.map((w, i) => [w, system.own[i]!])) };
}

/** Unloadings of which the book says that the tank was not emptied. */
function keptGrain(match: Match, book: LoadBook): Set<number> {
	const out = new Set<number>();
	match.unloadings.forEach((u, i) => {
		if (book.dumps[u.dump]?.emptied === 0) out.add(i);
	});
	return out;
}

/** Did the alignment leave grain of unknown mass in this combine's tank beside a weight in use? */
function hasBroadRests(system: System, match: Match, combine: number): boolean {
	return system.weighings.some(
		(w, i) =>
			w.unloadings.some((u) => match.unloadings[u]!.combine === combine) &&
			[...system.signs[i]!.keys()].some((s) => system.stateVariance[s]! > BROAD_KG ** 2),
	);
}

/** A weighing that is believed and covers grain of this log. */
function speaks(match: Match, time: Timeline, w: number): boolean {
	const weighing = match.weighings[w]!;
	if (!weighing.used || !(weighing.reference_kg > 0)) return false;
	if (weighing.kind === 'total') return time.account_kg.some((m) => m > 0);
	return weighing.unloadings.some((u) => (time.segments[time.ofUnloading[u]!]?.account_kg ?? 0) > 0);
}

/** Median ratios, to turn account mass into reference mass in the errors. */
function roughFactors(match: Match, time: Timeline, use: readonly number[], combines: number): number[] {
	const ratios = Array.from({ length: combines }, () => [] as number[]);
	for (const w of use) {
		const weighing = match.weighings[w]!;
		if (weighing.kind === 'total') continue;
		const parts = new Set(weighing.unloadings.map((u) => match.unloadings[u]!.combine));
		const mass = weighing.unloadings.reduce((s, u) => s + (time.segments[time.ofUnloading[u]!]?.account_kg ?? 0), 0);
		if (parts.size === 1 && mass > 0) ratios[[...parts][0]!]!.push(weighing.reference_kg / mass);
	}
	return ratios.map((r, c) => {
		if (r.length > 0) return median(r);
		const from = match.factors[c];
		return from !== undefined && Number.isFinite(from) && from > 0 ? from : 1;
	});
}

/** Monitors are within about 10 % even when poorly calibrated (method.md, section 7). */
const POOR = 0.1;

/**
 * Keeps the system solvable: a combine that nothing tells of stands at its rough value (and is left out afterwards); one
 * that is only weighed together with another is expected within what poor calibration does.
 */
function anchorsOf(system: System, shapes: readonly Shape[], state: Standing, rough: readonly number[]): Extra[] {
	const out: Extra[] = [];
	shapes.forEach((_, c) => {
		if (state.owned[c]) return;
		const row = new Array<number>(system.p).fill(0);
		row[system.first[c]!] = 1;
		const u = state.any[c]! > 0 ? POOR : state.told[c] ? 10 * POOR : 1;
		out.push({ kind: 'prior', row, y: rough[c]!, variance: u * u, df: Number.POSITIVE_INFINITY });
	});
	return out;
}

/** The seams' word on the slope of a flow curve. */
function curveEquations(
	system: System,
	shapes: readonly Shape[],
	slopes: readonly FlowSlope[],
	rough: readonly number[],
): Extra[] {
	const out: Extra[] = [];
	shapes.forEach((shape, c) => {
		const s = slopes[c]!;
		if (shape.form !== 'flow' || s.why !== null) return;
		const row = new Array<number>(system.p).fill(0);
		row[system.first[c]! + 1] = 1;
		const k = rough[c]!;
		out.push({ kind: 'curve', row, y: k * s.slope, variance: (k * s.u) ** 2, df: s.df });
	});
	return out;
}

/** A pinned factor outweighs everything. */
function pinEquations(input: FactorInput, system: System): Extra[] {
	const out: Extra[] = [];
	input.records.combines.forEach((name, c) => {
		const value = input.plan.pins.factors?.[name]?.value;
		if (value === undefined) return;
		const row = new Array<number>(system.p).fill(0);
		system.mean[c]!.forEach((m, j) => {
			row[system.first[c]! + j] = m;
		});
		out.push({ kind: 'prior', row, y: value, variance: 1e-14, df: Number.POSITIVE_INFINITY });
	});
	return out;
}

/**
 * Whose sums must close: each combine's own weights where no weight is shared, else of all that share. A total closes
 * only where nothing else speaks. Pinned factors need not close.
 */
function closingGroups(system: System, match: Match, plan: FieldPlan, records: Records): number[][] {
	const combines = records.combines.length;
	const root = Array.from({ length: combines }, (_, c) => c);
	const find = (c: number): number => (root[c] === c ? c : find(root[c]!));
	const parts = system.weighings.map((w) =>
		w.kind === 'total' ? root.map((_, c) => c) : [...new Set(w.unloadings.map((u) => match.unloadings[u]!.combine))],
	);
	const onlyTotals = system.weighings.every((w) => w.kind === 'total');
	system.weighings.forEach((w, i) => {
		if (w.kind === 'total' && !onlyTotals) return;
		for (const c of parts[i]!) root[find(c)] = find(parts[i]![0]!);
	});
	const groups = new Map<number, number[]>();
	system.weighings.forEach((w, i) => {
		if (w.kind === 'total' && !onlyTotals) return;
		const g = find(parts[i]![0]!);
		groups.set(g, [...(groups.get(g) ?? []), i]);
	});
	const pinned = new Set<number>();
	records.combines.forEach((name, c) => {
		if (plan.pins.factors?.[name]?.value !== undefined) pinned.add(find(c));
	});
	return [...groups].filter(([g]) => !pinned.has(g)).map(([, list]) => list);
}

/** A functional of one combine's coefficients as a vector over all. */
function functional(solved: Solved, combine: number, basis: readonly number[]): number[] {
	const f = new Array<number>(solved.system.p).fill(0);
	basis.forEach((v, j) => {
		f[solved.system.first[combine]! + j] = v;
	});
	return f;
}

function valueAt(solved: Solved, combine: number, basis: readonly number[]): number {
	return basis.reduce((sum, v, j) => sum + v * solved.solution.beta[solved.system.first[combine]! + j]!, 0);
}

function shares(solved: Solved, f: readonly number[], g?: readonly number[]): Shares {
	return sharesOf(solved.system, solved.slow, solved.scatter, solved.extras, solved.solution, f, g);
}

function factorOf(input: FactorInput, solved: Solved, c: number): Factor {
	const { reference } = input;
	const { system, state, scatter, time, wide: match } = solved;
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
	const needed = Number.isFinite(s) ? dumpsNeeded(s, common) : Number.POSITIVE_INFINITY;
	const factor: Factor = {
		...base,
		value,
		u_rel: spread.u / value,
		interval: [value - spread.half, value + spread.half],
		next_interval: [nextValue - next.half, nextValue + next.half],
		source,
		budget: budgetOf(field, unweighed, value, reference, input.moisture?.[c] ?? null, meanMoisture(input, c)),
		scatter_rel: scatter.sigma * Math.sqrt(fillShare(time.segments, c)),
		moreDumps: Number.isFinite(needed) ? Math.max(0, needed - own.length) : needed,
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
	return (['constant', 'step', 'trend'] as const).map((form) => ({ form, score: scores[form] }));
}

/** Relative standard deviation of one dump's ratio: readings, rests and slow error together. */
function oneDump(solved: Solved, own: readonly number[]): number {
	const { system, slow, scatter } = solved;
	const n = system.weighings.length;
	const V = errorCovariance(system, slow, scatter, [], 0);
	const list = own.map((w) => system.index.indexOf(w)).map((i) => Math.sqrt(V[i * n + i]!) / system.y[i]!);
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
		match: solved.wide,
		plan: input.plan,
		common,
		noCurve: solved.slopes[c]?.why ?? null,
		weighings: own,
		moisture_pct: [quantile(sorted, 0.1), quantile(sorted, 0.9)],
	});
}

/** The factor of every record, and its relative uncertainty: of the coefficients, of the scale, and the slow error. */
function overRecords(input: FactorInput, solved: Solved, factors: readonly Factor[]) {
	const { records, reference } = input;
	const factor = new Float64Array(records.n).fill(Number.NaN);
	const u_rel = new Float64Array(records.n).fill(Number.NaN);
	factors.forEach((f, c) => {
		if (f.source === null) return;
		const shape = solved.shapes[c]!;
		const p = size(shape);
		const unit = Array.from({ length: p }, (_, j) =>
			functional(
				solved,
				c,
				Array.from({ length: p }, (_, k) => +(k === j)),
			),
		);
		const cov = unit.map((a) => unit.map((b) => total(shares(solved, a, b))));
		const cart = unit.map((a) => shares(solved, a).cart);
		for (const i of solved.time.orders[c]!) {
			const basis = basisAt(shape, records.time_s[i]!, solved.flow[i]!);
			const value = valueAt(solved, c, basis);
			let variance = 0;
			let level = 0;
			for (let j = 0; j < p; j++) {
				level += basis[j]! * cart[j]!;
				for (let k = 0; k < p; k++) variance += basis[j]! * basis[k]! * cov[j]![k]!;
			}
			factor[i] = value;
			const common = (level * reference.u_rel) / value;
			u_rel[i] = Math.sqrt(Math.max(0, variance) / value ** 2 + common ** 2 + solved.scatter.sigma ** 2);
		}
	});
	return { factor, u_rel };
}

function total(s: Shares): number {
	return s.readings + s.rests + s.slow + s.seam + s.curve;
}

/** Covariance of the log factors, the reference included: what two combines weighed by one cart share cancels. */
function covarianceOf(input: FactorInput, solved: Solved, factors: readonly Factor[]): Float64Array {
	const C = factors.length;
	const out = new Float64Array(C * C).fill(Number.NaN);
	const f = factors.map((_, c) => functional(solved, c, solved.system.mean[c]!));
	const own = f.map((v) => shares(solved, v));
	for (let a = 0; a < C; a++) {
		for (let b = 0; b < C; b++) {
			if (factors[a]!.source === null || factors[b]!.source === null) continue;
			let v: number;
			if (a === b) v = factors[a]!.u_rel ** 2;
			else {
				const both = shares(solved, f[a]!, f[b]!);
				v = total(both) + own[a]!.cart * own[b]!.cart * input.reference.u_rel ** 2;
				v /= factors[a]!.value * factors[b]!.value;
			}
			out[a * C + b] = v;
		}
	}
	return out;
}

/** What the reader should know. */
function remarks(
	input: FactorInput,
	solved: Solved,
	factors: readonly Factor[],
): { notes: string[]; cautions: string[] } {
	const notes: string[] = [];
	const cautions: string[] = [];
	const told = factors.filter((f) => f.source !== null);
	if (told.length === 0) {
		cautions.push(
			'Nothing was weighed: the level of the map is unknown, and yields stand as recorded. Weigh a few dumps or truck loads.',
		);
	}
	for (const f of factors) {
		const name = input.records.combines[f.combine]!;
		if (f.source === 'seams') {
			cautions.push(`Combine ${name} has no usable weight: its factor was carried over the seams from its neighbours.`);
		}
		if (f.source === null && told.length > 0) {
			cautions.push(
				`Nothing tells the level of combine ${name}: no weight, and no seam with a combine that was weighed.`,
			);
		}
		const pin = input.plan.pins.factors?.[name];
		if (pin?.value !== undefined || pin?.form !== undefined)
			notes.push(`The factor of combine ${name} was pinned by hand.`);
		const step = solved.choices[f.combine];
		if (f.form === 'step' && step && step.event >= 0) {
			notes.push(`The factor of combine ${name} changes at the event that was noted.`);
		}
	}
	return { notes, cautions };
}
