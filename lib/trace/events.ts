import type { WeightTrace } from '../model/index.ts';
import { median } from '../stats/index.ts';
import { plateau } from './plateau.ts';
import { type Signal, signalOf } from './signal.ts';
import { edges, findTransfers, LEAST_KG, type Transfer } from './transfers.ts';

/** A rise or fall of the cart's weight between two plateaus. */
export interface WeightEvent {
	kind: 'dump' | 'offload';
	/** The transfer, cart clock. */
	start_s: number;
	end_s: number;
	weight_kg: number;
	/** Standard uncertainty from the plateaus on both sides. */
	u_kg: number;
	/** True where the cart stood still on both sides long enough for the weight to be read. */
	settled: boolean;
	/** First sample after it, an index into the trace. */
	sample: number;
}

/** Grain does not move faster than this, kg/s: a faster change is a zeroing or a jolt (common practice). */
const FASTEST_KG_S = 450;
/** Drift of a scale's zero, kg per root second (common practice, no source). */
const DRIFT_KG = 0.5;
/** A rise and a fall of about the same size within this time are a bump, seconds, unless larger than this, kg. */
const KNOCK_S = 25;
const KNOCK_KG = 1500;

/**
 * Finds the dumps and offloads in a cart's weight trace: sustained rises and falls between plateaus. Jolts on the
 * move are noise about a plateau; a jump from one sample to the next is a zeroing; a pause between two rises
 * separates two dumps.
 */
export function weightEvents(trace: WeightTrace): WeightEvent[] {
	const signal = signalOf(trace);
	if (signal.n < 10) return [];
	const transfers = findTransfers(signal);
	const events = transfers.map((run, i) =>
		measure(signal, run, transfers[i - 1]?.to ?? 0, transfers[i + 1]?.from ?? signal.n - 1),
	);
	return withoutBumps(events.filter((e) => e !== null));
}

/** The event of one transfer. `floor` and `ceiling` are the ends of the adjacent transfers; null where it is not grain. */
function measure(signal: Signal, run: Transfer, floor: number, ceiling: number): WeightEvent | null {
	const { time_s, sample } = signal;
	const { from, to, sign } = edges(signal, run, floor, ceiling);
	const before = plateau(signal, from, floor, -1);
	const after = plateau(signal, to, ceiling, 1);
	const change = after.kg - before.kg;
	if (change * sign < LEAST_KG || change * sign < 4 * Math.hypot(before.u_kg, after.u_kg)) return null;
	if (!lasts(signal, { from, to, floor, ceiling }, change)) return null;
	const took_s = time_s[to]! - time_s[from]!;
	// A jump from one sample to the next is a zeroing.
	if (Math.abs(change) / Math.max(took_s, 1) > FASTEST_KG_S || (to - from <= 1 && took_s <= 3)) return null;
	const drift_kg = DRIFT_KG * Math.sqrt(Math.max(0, after.time_s - before.time_s));
	return {
		kind: sign > 0 ? 'dump' : 'offload',
		start_s: time_s[from]!,
		end_s: time_s[to]!,
		weight_kg: Math.abs(change),
		u_kg: Math.hypot(before.u_kg, after.u_kg, drift_kg),
		settled: after.settled && before.settled,
		sample: sample[to]!,
	};
}

/** True where a change persists over longer stretches on both sides, which a jolt does not. */
function lasts(
	signal: Signal,
	{ from, to, floor, ceiling }: { from: number; to: number; floor: number; ceiling: number },
	change: number,
): boolean {
	const { time_s, weight_kg } = signal;
	let a = from;
	while (a > floor && time_s[from]! - time_s[a]! < 40) a--;
	let b = to;
	while (b < ceiling && time_s[b]! - time_s[to]! < 40) b++;
	const rise = median(weight_kg.subarray(to, b + 1)) - median(weight_kg.subarray(a, from + 1));
	return rise / change > 0.6;
}

/** Drops pairs of a rise and an equal fall shortly after it: bumps of the cart, not grain. */
function withoutBumps(events: WeightEvent[]): WeightEvent[] {
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
