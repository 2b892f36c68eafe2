/** A receiver's wander: an error of a few decimeters that changes over minutes, the same whichever way the machine drives. */

import type { Pieces } from '../path/cut-pieces.ts';
import { type Worktime, worked_s, worktimeOf } from '../path/worktime.ts';
import { type Receivers, withoutOffsets } from './receivers.ts';

/** Wander by combine on a regular time grid, linear between knots. */
export interface Wander {
	time: Worktime[];
	knots: number[];
	/** First knot of each combine in the columns below. */
	first: number[];
	east_m: Float64Array;
	north_m: Float64Array;
	/** Remaining spread of the seams' overlaps and their usual value, meters. */
	spread_m: number;
	overlap_m: number;
}

/** Time between knots, seconds. */
export const KNOT_S = 60;
/** Gaps in the log longer than this count as this long, since the errors before and after are independent, seconds. */
const SILENCE_S = 7200;
/** No wander yet: knots for the time of each combine's pieces. */
export function emptyWander(pieces: Pieces, combines: number, receivers: Receivers): Wander {
	const time: Worktime[] = [];
	const knots: number[] = [];
	const first: number[] = [];
	let count = 0;
	for (let c = 0; c < combines; c++) {
		const from_s: number[] = [];
		const to_s: number[] = [];
		for (let i = 0; i < pieces.n; i++) {
			if (pieces.combine[i] !== c) continue;
			from_s.push(pieces.from_s[i]!);
			to_s.push(pieces.to_s[i]!);
		}
		const worktime = worktimeOf(from_s, to_s, SILENCE_S);
		const end_s = to_s.reduce((most, t) => Math.max(most, t), -Infinity);
		const length_s = from_s.length > 0 ? worked_s(worktime, end_s) : 0;
		first.push(count);
		time.push(worktime);
		knots.push(length_s > 0 ? Math.min(100_000, Math.ceil(length_s / KNOT_S) + 2) : 2);
		count += knots[c]!;
	}
	return {
		time,
		knots,
		first,
		east_m: new Float64Array(count),
		north_m: new Float64Array(count),
		spread_m: receivers.spread_m,
		overlap_m: receivers.overlap_m,
	};
}

/** The knot nearest to a time. */
export function knotAt(wander: Wander, c: number, time_s: number): number {
	const q = Math.round(worked_s(wander.time[c]!, time_s) / KNOT_S);
	return wander.first[c]! + Math.max(0, Math.min(wander.knots[c]! - 1, q));
}

/** The error at a time, as [east, north] in meters, into `out`. */
export function wanderAt(wander: Wander, combine: number, time_s: number, out: Float64Array): void {
	const at = Math.max(0, Math.min(wander.knots[combine]! - 1.001, worked_s(wander.time[combine]!, time_s) / KNOT_S));
	const low = Math.floor(at);
	const f = at - low;
	const k = wander.first[combine]! + low;
	out[0] = wander.east_m[k]! * (1 - f) + wander.east_m[k + 1]! * f;
	out[1] = wander.north_m[k]! * (1 - f) + wander.north_m[k + 1]! * f;
}

/** Middles of the pieces with the receivers' constant offsets and wander taken out. */
export function correctedPlaces(
	pieces: Pieces,
	receivers: Receivers,
	wander: Wander,
): { x_m: Float64Array; y_m: Float64Array } {
	const places = withoutOffsets(pieces, receivers);
	const drift = new Float64Array(2);
	for (let i = 0; i < pieces.n; i++) {
		wanderAt(wander, pieces.combine[i]!, (pieces.from_s[i]! + pieces.to_s[i]!) / 2, drift);
		places.x_m[i]! -= drift[0]!;
		places.y_m[i]! -= drift[1]!;
	}
	return places;
}
