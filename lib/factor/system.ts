import type { Account, Match, Records, Reference, Unloading, Weighing } from '../model/index.ts';
import type { Segment, Timeline } from './segments.ts';
import { basisAt, type Shape, size } from './shape.ts';
import { overlap, TAU_S } from './slow.ts';

/**
 * All weighings as one linear system y = A β + error. The coefficients of all combines stand one after another; a
 * weighing of two combines has entries in both blocks.
 */
export interface System {
	weighings: Weighing[];
	/** Index of each in Match.weighings. */
	index: number[];
	/** Reference mass less what the tanks' rests are expected to add. */
	y: Float64Array;
	/** One row a weighing: account mass × basis, summed. */
	A: number[][];
	/** Segments which each weighing covers. */
	covers: number[][];
	/** First coefficient of each combine, and the number of all. */
	first: number[];
	p: number;
	/** Covariances of y (row-major): gross readings; rests and moments of unloading. */
	reading: Float64Array;
	rest: Float64Array;
	/** Variance of each weight's own error: rounding, and what only it knows. */
	own: Float64Array;
	/** Rests as states: +1 where a weight holds what was there before, −1 where it lacks what stayed behind. */
	signs: Map<number, number>[];
	stateVariance: Float64Array;
	/** Sensitivity of each weighing to the cart's ratio, kg per unit: its reference mass, or 0. */
	cart: Float64Array;
	/** Bases of each combine averaged over its whole field by account mass. */
	mean: number[][];
}

/** What the shapes' bases sum to over every segment, account-weighted, kg. */
export function basisMass(
	records: Records,
	account: Account,
	time: Timeline,
	flow: Float64Array,
	shapes: readonly Shape[],
): number[][] {
	return time.segments.map((s) => {
		const shape = shapes[s.combine]!;
		const p = size(shape);
		if (p === 1) return [s.account_kg];
		const sums = new Array<number>(p).fill(0);
		const order = time.orders[s.combine]!;
		for (let k = s.from; k < s.to; k++) {
			const i = order[k]!;
			const m = account.account_kg[i]!;
			if (m === 0) continue;
			const basis = basisAt(shape, records.time_s[i]!, flow[i]!);
			for (let j = 0; j < p; j++) sums[j]! += m * basis[j]!;
		}
		return sums;
	});
}

export function buildSystem(
	match: Match,
	reference: Reference,
	time: Timeline,
	shapes: readonly Shape[],
	mass: readonly number[][],
	use: readonly number[],
	/** Rough factors, for turning account mass into reference mass in the errors. */
	rough: readonly number[],
	/** Variances found to be larger than expected (see `settle`). */
	tails: Tails | null = null,
	/** Combines whose tanks are taken as emptied wherever the book does not say otherwise. */
	emptied: Emptied | null = null,
): System {
	const first: number[] = [];
	let p = 0;
	for (const shape of shapes) {
		first.push(p);
		p += size(shape);
	}
	const weighings = use.map((w) => match.weighings[w]!);
	const covers = weighings.map((w) =>
		w.kind === 'total'
			? time.segments.map((_, s) => s)
			: w.unloadings.map((u) => time.ofUnloading[u]!).filter((s) => s >= 0),
	);
	const A = covers.map((segments) => {
		const row = new Array<number>(p).fill(0);
		for (const s of segments) {
			const at = first[time.segments[s]!.combine]!;
			mass[s]!.forEach((m, j) => {
				row[at + j]! += m;
			});
		}
		return row;
	});
	const states = restStates(match, rough, emptied);
	const stateVariance = tails ? tails.state : Float64Array.from(states.variance);
	// +1: the rest that was there before is in the weight too; −1: what stayed behind is not.
	const signs = weighings.map((w) => {
		const of = new Map<number, number>();
		if (w.kind === 'total') return of;
		for (const u of w.unloadings) {
			const before = states.before[u]!;
			const after = states.after[u]!;
			of.set(before, (of.get(before) ?? 0) + 1);
			of.set(after, (of.get(after) ?? 0) - 1);
		}
		return of;
	});
	const y = Float64Array.from(weighings, (w, i) => {
		let expected = 0;
		for (const [state, sign] of signs[i]!) expected += sign * states.mean[state]!;
		return w.reference_kg - expected;
	});
	const rest = restMatrix(signs, stateVariance);
	const own = Float64Array.from(
		use,
		(w, i) => tails?.own.get(w) ?? FLOOR_KG ** 2 + (OWN_REL * weighings[i]!.reference_kg) ** 2,
	);
	const reading = readings(weighings, reference.ratio);
	const cart = Float64Array.from(weighings, (w) => (w.byCart ? w.reference_kg : 0));
	const mean = shapes.map((shape, c) => {
		const sums = new Array<number>(size(shape)).fill(0);
		time.segments.forEach((s, k) => {
			if (s.combine !== c) return;
			mass[k]!.forEach((m, j) => {
				sums[j]! += m;
			});
		});
		return sums.map((v) => v / (time.account_kg[c]! || 1));
	});
	return { weighings, index: [...use], y, A, covers, first, p, reading, rest, own, signs, stateVariance, cart, mean };
}

/** Weights are rounded: none is better than this, kg. */
const FLOOR_KG = 5;
/** What a weight errs by alone, relative: the records of a fill scatter, the cart stands a little askew. */
const OWN_REL = 0.001;
/** "Empty" is never quite: grain hangs in corners and the auger, kg. */
export const CORNERS_KG = 40;

/** Rests known no better than this are bounded unknowns, kg. */
export const BROAD_KG = 500;

/**
 * See `buildSystem`: combines, the unloadings of which the book says that grain stayed in the tank, and those of them of
 * which nobody reckoned how much.
 */
export interface Emptied {
	combines: ReadonlySet<number>;
	told: ReadonlySet<number>;
	unknown: ReadonlySet<number>;
}

/** What may have stayed in a tank that was not emptied, as a share of its largest weight: mean and deviation alike. */
const STAYED_SHARE = 0.25;

/** Before any weight was looked at, where the match tells it: the weights are used here, once. */
export function restPrior(u: Unloading): { kg: number; u_kg: number } {
	if (Number.isFinite(u.u_restPrior_kg)) return { kg: u.restPrior_kg ?? 0, u_kg: u.u_restPrior_kg! };
	return { kg: u.rest_kg, u_kg: u.u_rest_kg };
}

/** Variances by state, and by weighing (index in Match.weighings) of its own error. */
export interface Tails {
	state: Float64Array;
	own: Map<number, number>;
}

/** Covariance of the weights from what stayed in the tanks. */
export function restMatrix(signs: readonly Map<number, number>[], variance: Float64Array): Float64Array {
	const n = signs.length;
	const rest = new Float64Array(n * n);
	for (let i = 0; i < n; i++) {
		for (let j = 0; j <= i; j++) {
			let sum = 0;
			for (const [state, sign] of signs[i]!) sum += sign * (signs[j]!.get(state) ?? 0) * variance[state]!;
			rest[i * n + j] = sum;
			rest[j * n + i] = sum;
		}
	}
	return rest;
}

/** What stays in a tank after each unloading, one state an unloading and one a combine for its start. */
function restStates(match: Match, rough: readonly number[], emptied: Emptied | null) {
	const n = match.unloadings.length;
	const mean: number[] = [];
	const variance: number[] = [];
	const before: number[] = [];
	const after: number[] = [];
	let last = -1;
	let state = -1;
	const start = match.startPrior_kg ?? match.start_kg;
	const some = rough.map((_, c) => {
		const own = match.weighings.filter((w) => w.unloadings.some((u) => match.unloadings[u]!.combine === c));
		const kg = STAYED_SHARE * Math.max(0, ...own.map((w) => w.reference_kg || 0));
		return { kg, u_kg: kg };
	});
	const add = (kg: number, u: number) => {
		mean.push(Number.isFinite(kg) ? kg : 0);
		variance.push(Number.isFinite(u) ? u * u : 0);
		return mean.length - 1;
	};
	for (let i = 0; i < n; i++) {
		const u = match.unloadings[i]!;
		if (u.combine !== last) {
			last = u.combine;
			const s = start[u.combine];
			if (emptied?.combines.has(u.combine)) state = add(0, CORNERS_KG);
			else state = add(s?.kg ?? 0, s?.u_kg ?? 0);
		}
		before.push(state);
		const k = Number.isFinite(rough[u.combine]!) ? rough[u.combine]! : 1;
		let own = restPrior(u);
		if (emptied?.combines.has(u.combine) && own.u_kg > BROAD_KG && !emptied.told.has(i)) own = { kg: 0, u_kg: 0 };
		else if (emptied?.unknown.has(i) && !(own.u_kg > BROAD_KG)) own = some[u.combine]!;
		// A moment of unloading that is off moves mass from one fill to the next, just as a rest does.
		const width = Math.hypot(Math.max(CORNERS_KG, own.u_kg || 0), k * (u.u_account_kg || 0));
		state = add(own.kg, width);
		after.push(state);
	}
	return { mean, variance, before, after };
}

/** Covariance of the weights from gross readings: two weights that share one err in opposite directions. */
function readings(weighings: readonly Weighing[], ratio: number): Float64Array {
	const n = weighings.length;
	const V = new Float64Array(n * n);
	const scale = (w: Weighing) => (w.byCart && ratio > 0 ? ratio : 1);
	const ends = (w: Weighing): { id: number; sign: number; u: number }[] =>
		w.readings[0] >= 0 && w.readings[1] >= 0 && w.u_gross_kg.every((u) => Number.isFinite(u) && u > 0)
			? [
					{ id: w.readings[0], sign: -1, u: w.u_gross_kg[0] },
					{ id: w.readings[1], sign: 1, u: w.u_gross_kg[1] },
				]
			: [];
	for (let i = 0; i < n; i++) {
		const a = ends(weighings[i]!);
		if (a.length === 0) {
			V[i * n + i] = (scale(weighings[i]!) * (weighings[i]!.u_reading_kg || 0)) ** 2;
			continue;
		}
		for (let j = 0; j < n; j++) {
			let sum = 0;
			for (const p of a) for (const q of ends(weighings[j]!)) if (p.id === q.id) sum += p.sign * q.sign * p.u * q.u;
			V[i * n + j] = sum * scale(weighings[i]!) * scale(weighings[j]!);
		}
	}
	return V;
}

/** Covariance of two lists of segments from the slow error, kg² for a relative standard deviation of 1. */
export function slowCovariance(
	segments: readonly Segment[],
	a: readonly number[],
	b: readonly number[],
	rough: readonly number[],
	tau_s = TAU_S,
): number {
	let sum = 0;
	for (const i of a) {
		const s = segments[i]!;
		for (const j of b) {
			const t = segments[j]!;
			if (s.combine !== t.combine) continue;
			const k = Number.isFinite(rough[s.combine]!) ? rough[s.combine]! : 1;
			sum += k * k * s.account_kg * t.account_kg * overlap(s, t, tau_s);
		}
	}
	return sum;
}

/** The slow error's covariance of all weighings of a system, for a relative standard deviation of 1. */
export function slowMatrix(
	system: System,
	segments: readonly Segment[],
	rough: readonly number[],
	tau_s = TAU_S,
): Float64Array {
	const n = system.weighings.length;
	const V = new Float64Array(n * n);
	for (let i = 0; i < n; i++) {
		for (let j = 0; j <= i; j++) {
			const v = slowCovariance(segments, system.covers[i]!, system.covers[j]!, rough, tau_s);
			V[i * n + j] = v;
			V[j * n + i] = v;
		}
	}
	return V;
}
