import { type Account, type Match, MONITOR, type Records } from '../../model/index.ts';

/** Grain of one combine between two unloadings, weighed or not. */
export interface Segment {
	combine: number;
	/** Index into Match.unloadings; −1 for grain that belongs to none, such as grain cut after the last one. */
	unloading: number;
	/** Half-open range of the combine's records in order of time. */
	from: number;
	to: number;
	account_kg: number;
	pieces: Piece[];
}

/** Part of a segment, over which the factor is taken as constant. */
export interface Piece {
	kg: number;
	/** Σ account mass × flow. */
	kg_flow: number;
	/** Mass-weighted mean time, start and end. */
	time_s: number;
	start_s: number;
	end_s: number;
}

/** The records of every combine in order of time, cut into segments that cover all of them. */
export interface Timeline {
	/** Record indices, one list per combine. */
	orders: Int32Array[];
	segments: Segment[];
	/** Segment of each unloading, by its index. */
	ofUnloading: Int32Array;
	/** Account mass of each combine's whole field. */
	account_kg: number[];
}

/** Parts of equal mass that a segment is cut into; a step may fall between any two. */
const PARTS = 2;
/** A longer pause starts a new piece, since the slow error has changed meanwhile. */
const PAUSE_S = MONITOR.slow_s / 3;

/** The logs to be cut, and where. */
interface TimelineInput {
	records: Records;
	account: Account;
	match: Match;
	/** Record indices in order of time, one list per combine (see `inTimeOrder`). */
	orders: Int32Array[];
	/** Flow, one value per record. */
	flow: Float64Array;
	/** Moments, seconds, at which a factor may change. */
	events: readonly number[];
}

/**
 * Cuts every combine's records into one segment per unloading and one for each stretch between and after, and the segments
 * into pieces: at half of the mass, at pauses and at known events.
 */
export function timeline(input: TimelineInput): Timeline {
	const { records, match, orders } = input;
	const segments: Segment[] = [];
	const ofUnloading = new Int32Array(match.unloadings.length).fill(-1);
	const account_kg: number[] = [];
	records.combines.forEach((_, c) => {
		const order = orders[c]!;
		const own = match.unloadings
			.map((u, index) => ({ from: u.from, to: u.to, index, combine: u.combine }))
			.filter((u) => u.combine === c && u.to > u.from)
			.sort((a, b) => a.from - b.from || a.to - b.to);
		let at = 0;
		let sum = 0;
		const add = (from: number, to: number, unloading: number) => {
			if (to <= from) return;
			if (unloading >= 0) ofUnloading[unloading] = segments.length;
			const pieces = piecesOf(input, order, from, to);
			const kg = pieces.reduce((s, p) => s + p.kg, 0);
			sum += kg;
			segments.push({ combine: c, unloading, from, to, account_kg: kg, pieces });
		};
		for (const u of own) {
			const from = Math.max(at, u.from);
			add(at, from, -1);
			add(from, u.to, u.index);
			at = Math.max(at, u.to);
		}
		add(at, order.length, -1);
		account_kg.push(sum);
	});
	return { orders, segments, ofUnloading, account_kg };
}

const fallsBetween = (events: readonly number[], after_s: number, until_s: number) =>
	events.some((e) => e > after_s && e <= until_s);

function piecesOf(
	{ records, account, flow, events }: TimelineInput,
	order: Int32Array,
	from: number,
	to: number,
): Piece[] {
	let whole = 0;
	for (let k = from; k < to; k++) whole += account.account_kg[order[k]!]!;
	const out: Piece[] = [];
	let piece: Piece | null = null;
	let sum = 0;
	let before = Infinity;
	for (let k = from; k < to; k++) {
		const i = order[k]!;
		const m = account.account_kg[i]!;
		const t = records.time_s[i]!;
		if (!(m > 0) || !Number.isFinite(t)) {
			// A record without a time belongs to the piece of its neighbors.
			if (piece && m > 0) piece.kg += m;
			else if (m > 0) piece = { kg: m, kg_flow: 0, time_s: 0, start_s: Number.NaN, end_s: Number.NaN };
			sum += m;
			continue;
		}
		const start = t - (records.interval_s[i]! || 0);
		const middle = (start + t) / 2;
		const cut =
			piece !== null &&
			Number.isFinite(piece.end_s) &&
			(start - piece.end_s > PAUSE_S ||
				(events.length > 0 && fallsBetween(events, before, middle)) ||
				sum >= ((Math.floor(((sum - piece.kg + 1e-9) / whole) * PARTS) + 1) / PARTS) * whole);
		if (cut) {
			out.push(piece!);
			piece = null;
		}
		piece ??= { kg: 0, kg_flow: 0, time_s: 0, start_s: start, end_s: t };
		if (!Number.isFinite(piece.start_s)) Object.assign(piece, { start_s: start, end_s: t });
		// Times relative to the start keep the digits of sums of mass × time.
		piece.time_s += m * (t - piece.start_s);
		if (flow[i]! > 0) piece.kg_flow += m * flow[i]!;
		piece.kg += m;
		piece.end_s = Math.max(piece.end_s, t);
		before = middle;
		sum += m;
	}
	if (piece) out.push(piece);
	for (const p of out) p.time_s = p.start_s + p.time_s / p.kg;
	return out;
}
