import { effectiveFreedom, halfWidth, type Part, ratioOfSums, tQuantile } from '../stats/index.ts';
import type { Book } from './book.ts';
import { type BookFill, bookFills } from './fills.ts';
import { type ScaleRatio, scaleRatio } from './scale.ts';
import { find, kept } from './values.ts';

/** One weighed fill as a combine's factor sees it. */
export interface FillPoint {
	dumps: string[];
	time_s: number;
	monitor_kg: number;
	reference_kg: number;
	/** 100 × (monitor − reference) / reference. */
	error_pct: number;
	/** Its weight is shared with another combine: split as the monitors, each by its factor, say. */
	shared: boolean;
}

/** A combine's running factor: what the weights so far say. */
export interface RunningFactor {
	combine: string;
	/** Reference / monitor; null while nothing was weighed and read. */
	value: number | null;
	/** 95 %, of what was cut so far, the scale's part included. Null below two fills. */
	interval: [number, number] | null;
	/** 95 %, the next load. */
	next: [number, number] | null;
	/** The same two as the monitor's error in per cent (low, high). */
	error_pct: number | null;
	errorInterval_pct: [number, number] | null;
	nextError_pct: [number, number] | null;
	/** The interval without the scale's part: what more dumps can narrow. */
	ownInterval: [number, number] | null;
	n: number;
	/** Relative scatter of a single fill. */
	scatter_rel: number;
	/** Relative standard uncertainty of the mean from fills alone, and its degrees of freedom. */
	u_rel: number;
	df: number;
	points: FillPoint[];
	/** How it narrowed: value and interval after some of the fills (`load` counts them from 0), the last among them. */
	course: { load: number; value: number; low: number | null; high: number | null }[];
}

/** Error of a monitor in per cent from its factor: (monitor − reference) / reference. */
export function errorOf_pct(factor: number): number {
	return 100 * (1 / factor - 1);
}

/** Only what the screens ask for: a field's fills, or a whole season's. */
export interface Scope {
	field?: string | null;
	season?: number | null;
}

/**
 * Running factors of all combines with weighed fills: ratio of sums with Cochran's variance and Student's t, the
 * scale's ratio with all its own uncertainty applied. A weight of two combines is split as k_A·M_A to k_B·M_B with
 * the factors themselves, repeated until it stands; its share counts like a fill of its own, since it is weaker
 * evidence than that, the screens mark it. A recalibrated monitor begins anew.
 */
export function runningFactors(book: Book, scope: Scope = {}): RunningFactor[] {
	const { wanted, ratioOf, split } = weighed(book, scope);
	return named(book, wanted).map((combine) => {
		const points: FillPoint[] = [];
		let scale: ScaleRatio | null = null;
		wanted.forEach((f, i) => {
			const k = f.monitor.findIndex((m) => m.combine === combine);
			if (k < 0) return;
			const monitor_kg = f.monitor[k]!.kg;
			const reference_kg = split[i]![k]!;
			scale = ratioOf(f.cart);
			points.push({
				dumps: f.dumps,
				time_s: f.time_s,
				monitor_kg,
				reference_kg,
				error_pct: (100 * (monitor_kg - reference_kg)) / reference_kg,
				shared: f.monitor.length > 1,
			});
		});
		return running(combine, points, scale);
	});
}

/** The factors alone, without intervals: quick. */
export function factorValues(book: Book, scope: Scope = {}): Map<string, number> {
	const { wanted, split } = weighed(book, scope);
	const sums = new Map<string, { y: number; x: number }>();
	wanted.forEach((f, i) => {
		f.monitor.forEach((m, k) => {
			const s = sums.get(m.combine) ?? { y: 0, x: 0 };
			sums.set(m.combine, { y: s.y + split[i]![k]!, x: s.x + m.kg });
		});
	});
	return new Map([...sums].filter(([, s]) => s.x > 0).map(([c, s]) => [c, s.y / s.x]));
}

/** The fills that count, their carts' ratios, and the reference mass of each by combine. */
function weighed(book: Book, scope: Scope) {
	const since = recalibrated(book);
	const wanted = bookFills(book).fills.filter(
		(f) =>
			inScope(book, f, scope) && f.monitor.every((m) => f.time_s > (since.get(m.combine) ?? Number.NEGATIVE_INFINITY)),
	);
	const ratios = new Map<string, ScaleRatio>();
	const ratioOf = (cart: string) => {
		let r = ratios.get(cart);
		if (!r) {
			r = scaleRatio(book, cart, scope.season ?? null);
			ratios.set(cart, r);
		}
		return r;
	};
	return { wanted, ratioOf, split: splitShared(wanted, (f) => ratioOf(f.cart).ratio * f.cart_kg) };
}

function named(book: Book, fills: readonly BookFill[]): string[] {
	const names = kept(book, 'combine').map((c) => c.id);
	for (const f of fills) for (const m of f.monitor) if (!names.includes(m.combine)) names.push(m.combine);
	return names;
}

/** When each combine's monitor was last recalibrated: what it showed before says nothing of what it shows now. */
export function recalibrated(book: Book): Map<string, number> {
	const times = new Map<string, number>();
	for (const e of kept(book, 'event'))
		if (e.v.kind === 'calibrated' && e.v.combine !== null)
			times.set(e.v.combine, Math.max(e.v.time_s, times.get(e.v.combine) ?? Number.NEGATIVE_INFINITY));
	return times;
}

function inScope(book: Book, f: BookFill, scope: Scope): boolean {
	if (scope.field != null && f.field !== scope.field) return false;
	if (scope.season != null && (find(book, 'field', f.field)?.v.season ?? null) !== scope.season) return false;
	return true;
}

/** Reference mass by fill and combine. */
function splitShared(fills: readonly BookFill[], referenceOf: (f: BookFill) => number): number[][] {
	const k = new Map<string, number>();
	let shares: number[][] = [];
	for (let round = 0; round < 200; round++) {
		shares = fills.map((f) => {
			const whole = f.monitor.reduce((s, m) => s + (k.get(m.combine) ?? 1) * m.kg, 0);
			const reference = referenceOf(f);
			return f.monitor.map((m) => (whole > 0 ? (reference * (k.get(m.combine) ?? 1) * m.kg) / whole : 0));
		});
		const sums = new Map<string, { y: number; x: number }>();
		fills.forEach((f, i) => {
			f.monitor.forEach((m, j) => {
				const s = sums.get(m.combine) ?? { y: 0, x: 0 };
				s.y += shares[i]![j]!;
				s.x += m.kg;
				sums.set(m.combine, s);
			});
		});
		let moved = 0;
		for (const [c, s] of sums) {
			const value = s.x > 0 ? s.y / s.x : 1;
			moved = Math.max(moved, Math.abs(value / (k.get(c) ?? 1) - 1));
			k.set(c, value);
		}
		if (moved < 1e-12) break;
	}
	return shares;
}

function running(combine: string, points: FillPoint[], scale: ScaleRatio | null): RunningFactor {
	// The course is a picture: some of its points and fewer draws do.
	const every = Math.ceil(points.length / COURSE_POINTS);
	const at = points.map((_, i) => i).filter((i) => i === points.length - 1 || i < 4 || i % every === 0);
	return {
		combine,
		...estimate(points, scale, 20_000),
		points,
		course: at.map((i) => {
			const e = estimate(points.slice(0, i + 1), scale, 1_000);
			return { load: i, value: e.value!, low: e.interval?.[0] ?? null, high: e.interval?.[1] ?? null };
		}),
	};
}

const COURSE_POINTS = 24;

/**
 * Half-width that holds 95 %: Student's t on effective degrees of freedom (JCGM 100:2008, G.4) while limits are a
 * small part of the variance, drawn (JCGM 101:2008) where they are not.
 */
function half95(parts: readonly Part[], draws: number): number {
	const u = parts.map((p) => (p.kind === 't' ? p.u : p.half / Math.sqrt(3)));
	const whole = u.reduce((s, x) => s + x * x, 0);
	const limits = parts.reduce((s, p, i) => s + (p.kind === 'rectangular' ? u[i]! ** 2 : 0), 0);
	if (limits > 0.25 * whole) return halfWidth(parts, 0.95, draws);
	const df = parts.map((p) => (p.kind === 't' ? p.df : Number.POSITIVE_INFINITY));
	return whole > 0 ? Math.sqrt(whole) * tQuantile(0.975, effectiveFreedom(u, df)) : 0;
}

function estimate(
	points: readonly FillPoint[],
	scale: ScaleRatio | null,
	draws: number,
): Omit<RunningFactor, 'combine' | 'points' | 'course'> {
	const n = points.length;
	const r = ratioOfSums(
		points.map((p) => p.reference_kg),
		points.map((p) => p.monitor_kg),
	);
	const value = n > 0 && Number.isFinite(r.ratio) && r.ratio > 0 ? r.ratio : null;
	if (value === null || n < 2)
		return {
			value,
			interval: null,
			next: null,
			error_pct: value === null ? null : errorOf_pct(value),
			errorInterval_pct: null,
			nextError_pct: null,
			ownInterval: null,
			n,
			scatter_rel: Number.NaN,
			u_rel: Number.NaN,
			df: n - 1,
		};
	const u_rel = r.u / value;
	// v(R) = s² / (n x̄²): the scatter of one fill of mean size is u·√n.
	const scatter_rel = u_rel * Math.sqrt(n);
	const parts = scale?.parts ?? [];
	const half = half95([{ kind: 't', u: u_rel, df: n - 1 }, ...parts], draws);
	const nextHalf = half95([{ kind: 't', u: Math.hypot(u_rel, scatter_rel), df: n - 1 }, ...parts], draws);
	const ownHalf = tQuantile(0.975, n - 1) * u_rel;
	const around = (h: number): [number, number] => [value * (1 - h), value * (1 + h)];
	const asError = (i: [number, number]): [number, number] => [
		errorOf_pct(i[1]),
		// A band so wide that it reaches down to nothing has no upper end of error.
		i[0] > 0 ? errorOf_pct(i[0]) : Number.POSITIVE_INFINITY,
	];
	const interval = around(half);
	const next = around(nextHalf);
	return {
		value,
		interval,
		next,
		error_pct: errorOf_pct(value),
		errorInterval_pct: asError(interval),
		nextError_pct: asError(next),
		ownInterval: around(ownHalf),
		n,
		scatter_rel,
		u_rel,
		df: n - 1,
	};
}

/** How two combines read against each other on grain weighed by one cart: its scale cancels. */
export interface Against {
	first: string;
	second: string;
	/** 100 × (reading of the first / reading of the second − 1) for the same grain. */
	diff_pct: number;
	interval_pct: [number, number];
	real: boolean;
}

/** Every pair of combines with two fills or more each. */
export function against(factors: readonly RunningFactor[]): Against[] {
	const able = factors.filter((f) => f.value !== null && f.n >= 2);
	const pairs: Against[] = [];
	for (let i = 0; i < able.length; i++)
		for (let j = i + 1; j < able.length; j++) {
			const [a, b] = [able[i]!, able[j]!];
			// Same true grain: reading of a / reading of b = k_b / k_a.
			const log = Math.log(b.value! / a.value!);
			const u = Math.hypot(a.u_rel, b.u_rel);
			const half = u > 0 ? tQuantile(0.975, effectiveFreedom([a.u_rel, b.u_rel], [a.df, b.df])) * u : 0;
			const pct = (x: number) => 100 * Math.expm1(x);
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
