import { mad, median } from '../stats/index.ts';
import type { Signal } from './signal.ts';

/** The weight on one side of a transfer. */
export interface Plateau {
	kg: number;
	u_kg: number;
	/** True where it was read right beside the transfer, with the cart standing still. */
	settled: boolean;
	time_s: number;
}

/** A plateau is read within this time of the transfer: a scale's zero drifts, seconds. */
const PLATEAU_S = 75;
/** Readings of a standing cart needed for a weight, on either side. */
const ENOUGH = 4;
/** How long after (or before) a transfer on the move a stop is looked for, seconds. */
const LATER_S = 420;

/**
 * Reads the plateau from sample `edge` away from the transfer, at most to sample `limit`: the median of readings on a
 * standing cart beside it, else those of its next stop, else those on the move with a wider uncertainty.
 */
export function plateau(signal: Signal, edge: number, limit: number, way: 1 | -1): Plateau {
	const { time_s, weight_kg, moving, standing_u_kg, moving_u_kg } = signal;
	const standing: number[] = [];
	const standing_s: number[] = [];
	const all: number[] = [];
	const all_s: number[] = [];
	let ended = false;
	for (
		let i = edge + (way > 0 ? 1 : 0);
		(limit - i) * way >= 0 && Math.abs(time_s[i]! - time_s[edge]!) <= PLATEAU_S;
		i += way
	) {
		const next = weight_kg[i]!;
		// A lasting jump is a zeroing: weights beyond it have another zero.
		const level = all.length >= 3 ? median(all) : next;
		if (Math.abs(next - level) > 8 * moving_u_kg + 60) {
			const ahead = weight_kg[i + way];
			if (ahead !== undefined && Math.abs(ahead - level) > 6 * moving_u_kg + 60) break;
			continue;
		}
		all.push(next);
		all_s.push(time_s[i]!);
		if (moving[i] === 1) ended = ended || standing.length > 0;
		// Use only the stop next to the transfer: elsewhere the ground has another slope.
		else if (!ended) {
			standing.push(next);
			standing_s.push(time_s[i]!);
		}
	}
	if (standing.length >= ENOUGH) {
		const u = Math.max(standing_u_kg, mad(standing)) * Math.sqrt(2 / standing.length);
		return { kg: median(standing), u_kg: Math.max(3, u), settled: true, time_s: median(standing_s) };
	}
	const later = nextStop(signal, edge, limit, way);
	if (later) return later;
	if (standing.length > 0 && all.length < 6) {
		return { kg: median(standing), u_kg: moving_u_kg, settled: false, time_s: median(standing_s) };
	}
	if (all.length === 0) {
		return { kg: weight_kg[edge]!, u_kg: 2 * moving_u_kg, settled: false, time_s: time_s[edge]! };
	}
	// Jolts on the move are correlated: five readings count as one independent reading.
	const spread = Math.max(moving_u_kg, mad(all));
	return {
		kg: median(all),
		u_kg: spread * Math.sqrt(1.57 * Math.min(1, 5 / all.length)),
		settled: false,
		time_s: median(all_s),
	};
}

/**
 * The next stop after a transfer on the move (or the last one before it): the load is the same, the zero has drifted.
 * null where there is none, or where the indicator was zeroed on the way.
 */
function nextStop(signal: Signal, edge: number, limit: number, way: 1 | -1): Plateau | null {
	const { time_s, weight_kg, moving, standing_u_kg } = signal;
	let stop: number[] = [];
	let stop_s: number[] = [];
	for (
		let i = edge + way;
		(limit - i) * way >= 0 && Math.abs(time_s[i]! - time_s[edge]!) <= LATER_S && stop.length < 30;
		i += way
	) {
		if (moving[i] !== 0) {
			if (stop.length >= 2 * ENOUGH) break;
			stop = [];
			stop_s = [];
			continue;
		}
		if (stop.length > 0 && Math.abs(weight_kg[i]! - stop[stop.length - 1]!) > 8 * standing_u_kg + 60) break;
		stop.push(weight_kg[i]!);
		stop_s.push(time_s[i]!);
	}
	// The cart still swings in the first seconds of a stop.
	const steady = stop.slice(Math.min(3, Math.floor(stop.length / 3)));
	if (steady.length < ENOUGH) return null;
	const u = Math.max(standing_u_kg, mad(steady)) * Math.sqrt(2 / steady.length);
	return { kg: median(steady), u_kg: Math.max(5, u), settled: false, time_s: median(stop_s) };
}
