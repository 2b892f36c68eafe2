import type { Dump, LoadBook, Note, Offload, WeightTrace } from '../model/index.ts';
import { mad, median, quantile } from '../stats/index.ts';

/** A rise or fall of the cart's weight between two plateaus. */
export interface WeightEvent {
	kind: 'dump' | 'offload';
	/** The transfer, cart clock. */
	start_s: number;
	end_s: number;
	weight_kg: number;
	/** Standard uncertainty from the plateaus on both sides. */
	u_kg: number;
	/** The cart stood long enough after it for its weight to be taken. */
	settled: boolean;
	/** First sample after it, an index into the trace. */
	sample: number;
}

/** Half a window for telling a slope, seconds; at least three samples. */
const WINDOW_S = 8;
/** Grain moves at least so fast, kg/s (common practice: augers give 40 to 150). */
const SLOWEST_KG_S = 22;
/** Nothing that is grain moves faster, kg/s: beyond it the indicator was zeroed or shaken. */
const FASTEST_KG_S = 450;
/** Smaller changes are jolts, drift or a zeroing, kg. */
const LEAST_KG = 250;
/** A plateau is read within so long of the transfer: a scale's zero drifts, seconds. */
const PLATEAU_S = 75;
/** Standing readings that a weight needs on either side. */
const ENOUGH = 4;
/** Drift of a scale's zero, kg over the root of a second (common practice, no source). */
const DRIFT_KG = 0.5;

/**
 * Finds the dumps and offloads in a cart's weight trace: sustained rises and falls between plateaus. Jolts on the
 * move are noise about a plateau; a jump from one sample to the next is a zeroing; a pause between two rises parts
 * two dumps.
 */
export function weightEvents(trace: WeightTrace): WeightEvent[] {
	const order = Array.from({ length: trace.n }, (_, i) => i).filter(
		(i) => Number.isFinite(trace.weight_kg[i]!) && Number.isFinite(trace.time_s[i]!),
	);
	order.sort((a, b) => trace.time_s[a]! - trace.time_s[b]! || a - b);
	const n = order.length;
	if (n < 10) return [];
	const t = Float64Array.from(order, (i) => trace.time_s[i]!);
	const w = Float64Array.from(order, (i) => trace.weight_kg[i]!);
	const said = Int8Array.from(order, (i) => trace.moving[i]!);
	const moving = said.some((m) => m >= 0) ? said : shaken(w);
	const noise = noiseOf(t, w, moving);
	const slope = slopes(t, w, moving, noise);
	const runs = transfers(t, w, moving, slope);
	const events: WeightEvent[] = [];
	for (const [i, run] of runs.entries()) {
		const event = measure(t, w, moving, noise, run, runs[i - 1]?.to ?? 0, runs[i + 1]?.from ?? n - 1, order);
		if (event) events.push(event);
	}
	return withoutKnocks(events);
}

/** A rise and a fall of much the same size within this time are one knock, seconds; larger ones are grain, kg. */
const KNOCK_S = 25;
const KNOCK_KG = 1500;

/** A cart gives nothing away the moment it has got it: what comes and goes at once was a ditch, not grain. */
function withoutKnocks(events: WeightEvent[]): WeightEvent[] {
	const gone = new Set<WeightEvent>();
	events.forEach((a, i) => {
		const b = events[i + 1];
		if (!b || a.kind === b.kind || b.start_s - a.end_s > KNOCK_S || gone.has(a)) return;
		const most = Math.max(a.weight_kg, b.weight_kg);
		if (most < KNOCK_KG && Math.abs(a.weight_kg - b.weight_kg) < 0.3 * most) {
			gone.add(a);
			gone.add(b);
		}
	});
	return events.filter((e) => !gone.has(e));
}

/** Samples on either side by which a shaken weight is told from a standing one. */
const SHAKEN_BY = 5;

/** Where the indicator does not say whether the cart moves, its own unrest does. */
function shaken(w: Float64Array): Int8Array {
	const n = w.length;
	const rough = new Float64Array(n);
	for (let i = 1; i + 1 < n; i++) rough[i] = Math.abs(w[i + 1]! - 2 * w[i]! + w[i - 1]!);
	const local = Float64Array.from(rough, (_, i) =>
		median(rough.subarray(Math.max(0, i - SHAKEN_BY), Math.min(n, i + SHAKEN_BY + 1))),
	);
	const quiet = Math.max(4, quantile(local.slice().sort(), 0.3));
	return Int8Array.from(local, (r) => (r > 4 * quiet ? 1 : 0));
}

/** Scatter of one sample about a steady weight, standing and moving, kg. */
function noiseOf(t: Float64Array, w: Float64Array, moving: Int8Array): { still: number; moving: number } {
	const still: number[] = [];
	const shaken: number[] = [];
	for (let i = 1; i + 1 < w.length; i++) {
		if (t[i + 1]! - t[i - 1]! > 4 * WINDOW_S) continue;
		// A second difference knows nothing of a steady rise; its variance is six times that of a sample.
		const d = (w[i + 1]! - 2 * w[i]! + w[i - 1]!) / Math.sqrt(6);
		(moving[i] === 1 ? shaken : still).push(d);
	}
	const quiet = Math.max(3, still.length > 20 ? mad(still, 0) : 20);
	return { still: quiet, moving: Math.max(quiet, shaken.length > 20 ? 1.4 * mad(shaken, 0) : 4 * quiet) };
}

/** At each sample: +1 rising, −1 falling, 0 steady. */
function slopes(
	t: Float64Array,
	w: Float64Array,
	moving: Int8Array,
	noise: { still: number; moving: number },
): Int8Array {
	const n = w.length;
	const out = new Int8Array(n);
	const step = median(Float64Array.from({ length: n - 1 }, (_, i) => t[i + 1]! - t[i]!));
	const half = Math.max(3, Math.round(WINDOW_S / Math.max(0.1, step)));
	for (let i = 0; i < n; i++) {
		const a = Math.max(0, i - half);
		const b = Math.min(n - 1, i + half);
		if (i - a < 2 || b - i < 2) continue;
		const before = median(w.subarray(a, i));
		const after = median(w.subarray(i + 1, b + 1));
		const apart = (t[b]! + t[i + 1]! - t[i - 1]! - t[a]!) / 2;
		const u = (moving[i] === 1 ? noise.moving : noise.still) * Math.sqrt((2 * 1.57) / half);
		const limit = Math.max(SLOWEST_KG_S * apart, 4 * u);
		const rise = after - before;
		out[i] = rise > limit ? 1 : rise < -limit ? -1 : 0;
	}
	return out;
}

interface Run {
	sign: number;
	from: number;
	to: number;
}

function transfers(t: Float64Array, w: Float64Array, moving: Int8Array, slope: Int8Array): Run[] {
	const runs: Run[] = [];
	for (let i = 0; i < slope.length; i++) {
		const sign = slope[i]!;
		if (sign === 0) continue;
		const last = runs[runs.length - 1];
		// A moment's doubt within one transfer, longer on the move; a pause shows as a plateau in the weight itself.
		const doubt = moving[i] === 1 ? 14 : 6;
		if (last && last.sign === sign && t[i]! - t[last.to]! <= doubt) last.to = i;
		else runs.push({ sign, from: i, to: i });
	}
	return runs.flatMap((run) => partPauses(t, w, moving, run));
}

/** Two dumps one right after the other: in between the weight stands for some seconds. */
function partPauses(t: Float64Array, w: Float64Array, moving: Int8Array, run: Run): Run[] {
	const rate = Math.abs(w[run.to]! - w[run.from]!) / Math.max(1, t[run.to]! - t[run.from]!);
	for (let i = run.from + 3; i < run.to - 3; i++) {
		let j = i;
		while (j < run.to - 3 && t[j + 1]! - t[i]! <= 8) j++;
		if (t[j]! - t[i]! < 5 || j - i < 2) continue;
		// On the move a jolt against the rise looks like a pause.
		if (moving[i] === 1 || moving[j] === 1) continue;
		if (Math.abs(w[j]! - w[i]!) / (t[j]! - t[i]!) > 0.12 * rate) continue;
		const left = Math.abs(w[i]! - w[run.from]!);
		const right = Math.abs(w[run.to]! - w[j]!);
		if (left < LEAST_KG || right < LEAST_KG) continue;
		return [{ ...run, to: i }, ...partPauses(t, w, moving, { ...run, from: j })];
	}
	return [run];
}

/** Does the change still stand over the longer stretches on both sides? */
function stays(
	t: Float64Array,
	w: Float64Array,
	from: number,
	to: number,
	floor: number,
	ceiling: number,
	change: number,
): boolean {
	let a = from;
	while (a > floor && t[from]! - t[a]! < 40) a--;
	let b = to;
	while (b < ceiling && t[b]! - t[to]! < 40) b++;
	const rise = median(w.subarray(to, b + 1)) - median(w.subarray(a, from + 1));
	return rise / change > 0.6;
}

interface Plateau {
	kg: number;
	u_kg: number;
	settled: boolean;
	at_s: number;
}

function measure(
	t: Float64Array,
	w: Float64Array,
	moving: Int8Array,
	noise: { still: number; moving: number },
	run: Run,
	floor: number,
	ceiling: number,
	order: readonly number[],
): WeightEvent | null {
	const { from, to, sign } = edges(w, run, floor, ceiling);
	const before = plateau(t, w, moving, noise, from, floor, -1);
	const after = plateau(t, w, moving, noise, to, ceiling, 1);
	const change = after.kg - before.kg;
	if (change * sign < LEAST_KG || change * sign < 4 * Math.hypot(before.u_kg, after.u_kg)) return null;
	// A jolt passes: the weight must stay where it came to.
	if (!stays(t, w, from, to, floor, ceiling, change)) return null;
	const lasts = t[to]! - t[from]!;
	// From one sample to the next: zeroed, not moved.
	if (Math.abs(change) / Math.max(lasts, 1) > FASTEST_KG_S || (to - from <= 1 && lasts <= 3)) return null;
	return {
		kind: sign > 0 ? 'dump' : 'offload',
		start_s: t[from]!,
		end_s: t[to]!,
		weight_kg: Math.abs(change),
		u_kg: Math.hypot(before.u_kg, after.u_kg, DRIFT_KG * Math.sqrt(Math.max(0, after.at_s - before.at_s))),
		settled: after.settled && before.settled,
		sample: order[to]!,
	};
}

/** First and last sample of a transfer: where the weight leaves one level and comes to the other. */
function edges(w: Float64Array, run: Run, floor: number, ceiling: number): Run {
	// The slope's window reaches over both edges: the transfer lies within the run, or a little beyond.
	const reach = 4;
	const a = Math.max(floor, run.from - reach);
	const b = Math.min(ceiling, run.to + reach);
	const low = median(w.subarray(Math.max(floor, a - 6), a + 1));
	const high = median(w.subarray(b, Math.min(ceiling, b + 6) + 1));
	const change = high - low;
	// Nearly there, and then on as long as it keeps moving at a good part of its pace.
	const pace = Math.abs(w[run.to]! - w[run.from]!) / Math.max(1, run.to - run.from);
	const goes = (i: number): boolean => (w[i + 1]! - w[i]!) * run.sign > 0.25 * pace;
	let from = run.from;
	let to = b;
	for (let i = a; i < b; i++) {
		if ((w[i]! - low) / change < 0.03) from = i;
		if ((w[i]! - low) / change > 0.97) {
			to = i;
			break;
		}
	}
	while (to < b && goes(to)) to++;
	while (from > a && goes(from - 1)) from--;
	return { sign: run.sign, from: Math.min(from, to - 1), to };
}

/** The weight on one side of a transfer: standing readings near it, or what there is. */
function plateau(
	t: Float64Array,
	w: Float64Array,
	moving: Int8Array,
	noise: { still: number; moving: number },
	edge: number,
	limit: number,
	way: 1 | -1,
): Plateau {
	const still: number[] = [];
	const all: number[] = [];
	const times: number[] = [];
	const stillTimes: number[] = [];
	let ended = false;
	for (let i = edge + (way > 0 ? 1 : 0); (limit - i) * way >= 0 && Math.abs(t[i]! - t[edge]!) <= PLATEAU_S; i += way) {
		const next = w[i]!;
		// A jump that stays is a zeroing: what lies beyond it is on another footing.
		const level = all.length >= 3 ? median(all) : next;
		if (Math.abs(next - level) > 8 * noise.moving + 60) {
			const ahead = w[i + way];
			if (ahead !== undefined && Math.abs(ahead - level) > 6 * noise.moving + 60) break;
			continue;
		}
		all.push(next);
		times.push(t[i]!);
		if (moving[i] === 1) ended = ended || still.length > 0;
		// Only the stand next to the transfer: after a drive the ground is another.
		else if (!ended) {
			still.push(next);
			stillTimes.push(t[i]!);
		}
	}
	if (still.length >= ENOUGH) {
		const u = Math.max(noise.still, mad(still)) * Math.sqrt(2 / still.length);
		return { kg: median(still), u_kg: Math.max(3, u), settled: true, at_s: median(stillTimes) };
	}
	const later = standLater(t, w, moving, noise, edge, limit, way);
	if (later) return later;
	if (still.length > 0 && all.length < 6) {
		return { kg: median(still), u_kg: noise.moving, settled: false, at_s: median(stillTimes) };
	}
	if (all.length === 0) return { kg: w[edge]!, u_kg: 2 * noise.moving, settled: false, at_s: t[edge]! };
	// On the move jolts follow one another: a reading counts for a fifth of an independent one.
	const spread = Math.max(noise.moving, mad(all));
	return {
		kg: median(all),
		u_kg: spread * Math.sqrt(1.57 * Math.min(1, 5 / all.length)),
		settled: false,
		at_s: median(times),
	};
}

/** A stand is looked for so long after (or before) a transfer on the move, seconds. */
const LATER_S = 420;

/**
 * The next stand after a transfer on the move (or the last one before it): the load is the same, the zero has drifted.
 * null where there is none, or where the indicator was zeroed on the way.
 */
function standLater(
	t: Float64Array,
	w: Float64Array,
	moving: Int8Array,
	noise: { still: number; moving: number },
	edge: number,
	limit: number,
	way: 1 | -1,
): Plateau | null {
	let run: number[] = [];
	let times: number[] = [];
	for (let i = edge + way; (limit - i) * way >= 0 && Math.abs(t[i]! - t[edge]!) <= LATER_S; i += way) {
		if (moving[i] !== 0) {
			if (run.length >= 2 * ENOUGH) break;
			run = [];
			times = [];
			continue;
		}
		if (run.length > 0 && Math.abs(w[i]! - run[run.length - 1]!) > 8 * noise.still + 60) break;
		run.push(w[i]!);
		times.push(t[i]!);
		if (run.length >= 30) break;
	}
	// The first seconds of a stand still swing.
	const steady = run.slice(Math.min(3, Math.floor(run.length / 3)));
	if (steady.length < ENOUGH) return null;
	const u = Math.max(noise.still, mad(steady)) * Math.sqrt(2 / steady.length);
	return { kg: median(steady), u_kg: Math.max(5, u), settled: false, at_s: median(times) };
}

/** A trace event this near to a row of the cart log, in time and weight, is that row. */
const SAME_S = 300;
const SAME_REL = 0.04;

/**
 * The load book with the events of a weight trace added. Events that the cart log holds already are not added again.
 * A dump's combine is not known from a trace.
 */
export function addTrace(book: LoadBook, trace: WeightTrace): { book: LoadBook; notes: Note[] } {
	const events = weightEvents(trace);
	const fresh = events.filter((e) => !logged(book, e));
	let order = 0;
	for (const row of [...book.dumps, ...book.offloads]) order = Math.max(order, row.order + 1);
	const taken = new Set([...book.dumps, ...book.offloads].map((r) => r.id));
	const counts = { dump: 0, offload: 0 };
	const name = (kind: WeightEvent['kind']): string => {
		for (;;) {
			const id = `${kind === 'dump' ? 'D' : 'L'}${String(++counts[kind]).padStart(2, '0')}`;
			if (!taken.has(id)) return id;
		}
	};
	const dumps: Dump[] = [];
	const offloads: Offload[] = [];
	for (const e of fresh) {
		const row: Offload = {
			id: name(e.kind),
			origin: { file: trace.file, row: trace.line[e.sample] ?? null },
			order: order++,
			time_s: e.end_s,
			timeGrain: 'second',
			weight_kg: e.weight_kg,
			u_kg: e.u_kg,
			truckLoad: null,
			scale: null,
			field: null,
			moisture_pct: Number.NaN,
			testWeight_kg_hl: Number.NaN,
			variety: null,
			destination: null,
			lat_deg: Number.NaN,
			lon_deg: Number.NaN,
			note: e.settled ? null : 'the cart moved before its weight stood still',
		};
		if (e.kind === 'dump') dumps.push({ ...row, combines: [], emptied: -1, settled: e.settled });
		else offloads.push(row);
	}
	const notes: Note[] = [
		{
			level: 'note',
			text: `${trace.file}: ${events.filter((e) => e.kind === 'dump').length} dumps and ${events.filter((e) => e.kind === 'offload').length} offloads found in the weight trace${fresh.length < events.length ? `; ${events.length - fresh.length} of them are rows of the cart log` : ''}.`,
		},
	];
	const early = dumps.filter((d) => !d.settled);
	if (early.length > 0) {
		notes.push({
			level: 'caution',
			text: `${early.map((d) => d.id).join(', ')}: the cart set off before the weight stood still. Wait a few seconds after each dump: moving too soon spoils its weight.`,
		});
	}
	return {
		book: { dumps: [...book.dumps, ...dumps], offloads: [...book.offloads, ...offloads], tickets: book.tickets },
		notes,
	};
}

function logged(book: LoadBook, e: WeightEvent): boolean {
	const rows: readonly Offload[] = e.kind === 'dump' ? book.dumps : book.offloads;
	return rows.some(
		(r) => Math.abs(r.weight_kg - e.weight_kg) < SAME_REL * e.weight_kg + 30 && Math.abs(r.time_s - e.end_s) < SAME_S,
	);
}
