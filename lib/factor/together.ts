import type { LoadBook, Match, Progress } from '../model/index.ts';
import { median } from '../stats/index.ts';
import { anchorsOf, closingGroups, curveEquations, pinEquations } from './beside.ts';
import { seamEquations, standing } from './carry.ts';
import { flowSlopes } from './flow.ts';
import { setAsideWeights } from './rescue.ts';
import { estimateScatter, PRIOR_DF } from './scatter.ts';
import { type Timeline, timeline } from './segments.ts';
import { settle } from './settle.ts';
import { CONSTANT, type Shape, smoothFlow } from './shape.ts';
import { shapeOf } from './shapes.ts';
import { solve } from './solve.ts';
import type { FactorInput, Solved } from './solved.ts';
import {
	BROAD_KG,
	basisMass,
	buildSystem,
	type Emptied,
	restPrior,
	type System,
	slowMatrix,
	type Tails,
} from './system.ts';

export function solveAll(input: FactorInput, progress: Progress): Solved {
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

	const again = setAsideWeights(match);
	const stayed = keptGrain(match, input.book);
	const emptied = new Set<number>();
	const takenUp: number[] = [];
	/** The system with more weights, or with tanks taken as emptied, settled anew. */
	const variant = (weights: readonly number[], empty: ReadonlySet<number>) => {
		const build = (tails: Tails | null) =>
			buildSystem(match, reference, time, constants, plain, weights, rough, tails, { combines: empty, ...stayed });
		const raw = build(null);
		const { tails, aside } = settle(raw, slowMatrix(raw, time.segments, rough), anchored(raw));
		return { system: build(tails), aside };
	};
	const chosen = records.combines.map((_, c) => {
		progress.step('factors', 0.2 + (0.5 * c) / combines);
		if (!state.owned[c]) return null;
		const common = { records, account, match, plan, time, flow, slope: slopes[c]!, rough };
		const choose = (system: System) => shapeOf({ ...common, system, sigma: most.sigma, rests: most.rests }, c);
		const plainly = choose(base);
		// The alignment looks for one factor: rests that were never there, and weights set aside, may be what it took a step
		// or a drift for. Emptied tanks and all weights, with a form, must then be the likelier by far.
		const more = [...again, ...bad].filter((w) => coversOnly(match, w, c));
		if (more.length === 0 && !hasBroadRests(base, match, c)) return plainly;
		const weights = use.concat(more);
		// A change that needs weights set aside for it pays for them.
		const attempt = (empty: ReadonlySet<number>) => {
			const { system, aside } = variant(weights, empty);
			const found = choose(system);
			const cost = ASIDE_COST * aside.length;
			return { ...found, constant: found.choice.deviance.constant + cost, changed: found.choice.deviance.form + cost };
		};
		const asGiven = attempt(new Set());
		const empty = attempt(new Set([c]));
		const level = Math.min(asGiven.constant, plainly.choice.deviance.constant + ASIDE_COST * more.length);
		const likelier = (o: typeof empty, than: number) => isChange(o.shape.form) && than - o.changed > FAR_LIKELIER;
		if (likelier(empty, isChange(asGiven.shape.form) ? asGiven.changed : level)) {
			emptied.add(c);
			takenUp.push(...more);
			return empty;
		}
		if (!isChange(plainly.shape.form) && likelier(asGiven, level)) {
			takenUp.push(...more);
			return asGiven;
		}
		return plainly;
	});
	use = use.concat(takenUp);
	let { tails, aside } = settled;
	let kept: Emptied | null = null;
	if (takenUp.length > 0 || emptied.size > 0) {
		const anew = variant(use, emptied);
		kept = { combines: emptied, ...stayed };
		const doubted = new Set(anew.aside.map((a) => a.weighing));
		tails = tailsOf(anew.system);
		aside = [...aside.filter((a) => !takenUp.includes(a.weighing)), ...anew.aside];
		use = use.filter((w) => !doubted.has(w));
	}
	const rescued = again.filter((w) => use.includes(w));
	const shapes = chosen.map((c) => c?.shape ?? CONSTANT);
	const mass = basisMass(records, account, time, flow, shapes);
	const system = buildSystem(match, reference, time, shapes, mass, use, rough, tails, kept);
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
		aside,
		rescued,
		overturned: overturned(match, emptied, stayed.told),
	};
}

/** A step or drift that overturns the alignment's rests must fit better by this much in −2 log-likelihood. */
const FAR_LIKELIER = 12;
/**
 * What a weight set aside costs, in −2 log-likelihood: one in 700 is nonsense, and may then be anything up to 15 t (the
 * alignment's own costs).
 */
const ASIDE_COST = 30;

function isChange(form: Shape['form']): boolean {
	return form === 'step' || form === 'trend';
}

function tailsOf(system: System): Tails {
	return { state: system.stateVariance, own: new Map(system.index.map((w, i) => [w, system.own[i]!])) };
}

/** Unloadings of which the book says that the tank was not emptied, and those of them whose weight was set aside. */
function keptGrain(match: Match, book: LoadBook): { told: Set<number>; unknown: Set<number> } {
	const told = new Set<number>();
	match.unloadings.forEach((u, i) => {
		if (book.dumps[u.dump]?.emptied === 0) told.add(i);
	});
	const believed = new Set(match.weighings.flatMap((w) => (w.used ? w.unloadings : [])));
	return { told, unknown: new Set([...told].filter((i) => !believed.has(i))) };
}

function coversOnly(match: Match, w: number, combine: number): boolean {
	const { unloadings } = match.weighings[w]!;
	return unloadings.length > 0 && unloadings.every((u) => match.unloadings[u]!.combine === combine);
}

/** Unloadings after which the alignment saw grain stay, and the factor's change shows that none did. */
function overturned(match: Match, emptied: ReadonlySet<number>, told: ReadonlySet<number>): number[] {
	return match.unloadings.flatMap((u, i) =>
		emptied.has(u.combine) && !told.has(i) && restPrior(u).u_kg > BROAD_KG ? [i] : [],
	);
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
