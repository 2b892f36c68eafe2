/**
 * The ground whose grain each record holds, with the smear: area cut per second, passed through the sensor's delay and
 * smear. Where the machine keeps its speed this is the area of the record's own window; after a start, a stop or a change
 * of speed it is not, and the yield of the record is its mass over this area.
 */
import { hypotenuse } from '../../stats/index.ts';
import { type Grain, recordAt } from '../ground/trace-grain.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Path } from '../path/follow-path.ts';
import { worked_s, worktimeOf } from '../path/worktime.ts';
import { runningSums, SILENCE_S, smearOn, sumTo } from './time-grid.ts';

/** Step of the time grid, and time that it covers before the first record, seconds. */
const STEP_S = 0.25;
const BEFORE_S = 60;

/** Delay and smear of one combine, with standard uncertainties. */
export interface Mixing {
	lag_s: number;
	/** How much later than that a change of speed shows in the flow: an antenna behind the header is late on the ground. */
	later_s: number;
	/** Time constant of the first-order smear. */
	smear_s: number;
	u_s: number;
	smear_u_s: number;
}

/** Columns in the order of the path. */
export interface Smeared {
	/** Grid m². */
	area_m2: Float64Array;
	/** How far that area may be off, as delay and smear are, relative. */
	u_rel: Float64Array;
	/** Its excess over the area of the record's own window, relative. */
	share: Float64Array;
	/** −1 near a start, 1 near an end, 0 elsewhere. */
	where: Int8Array;
}

/** @param new_m - new width of every piece */
export function smearGround(
	input: { path: Path; pieces: Pieces; new_m: Float64Array; grain: Grain },
	{ lag_s, later_s, smear_s, u_s, smear_u_s }: Mixing,
): Smeared {
	const { path, pieces, new_m, grain } = input;
	const { n } = path;
	const out: Smeared = {
		area_m2: new Float64Array(n),
		u_rel: new Float64Array(n),
		share: new Float64Array(n),
		where: new Int8Array(n),
	};
	const worktime = worktimeOf(path.start_s, path.end_s, SILENCE_S);
	const place = (time_s: number) => (worked_s(worktime, time_s) + BEFORE_S) / STEP_S;
	const m = Math.max(2, Math.min(80_000_000, Math.ceil(place(path.end_s[n - 1]!)) + 1));
	const rate = new Float64Array(m);
	const starts: number[] = [];
	const ends: number[] = [];
	let lastEnd = -Infinity;
	for (let i = 0; i < pieces.n; i++) {
		if (pieces.combine[i] !== path.combine) continue;
		const span = pieces.to_s[i]! - pieces.from_s[i]!;
		if (!(span > 0)) continue;
		const middle_s = (pieces.from_s[i]! + pieces.to_s[i]!) / 2;
		const speed_m_s = later_s === 0 ? pieces.length_m[i]! / span : speedAt(path, middle_s - later_s);
		const r = new_m[i]! * speed_m_s;
		const from = Math.max(0, place(pieces.from_s[i]!));
		const to = Math.min(m, place(pieces.to_s[i]!));
		// Each step gets its share of the piece.
		for (let g = Math.floor(from); g < to; g++) rate[g]! += r * (Math.min(to, g + 1) - Math.max(from, g));
		if (new_m[i]! > 0) {
			if (pieces.from_s[i]! - lastEnd > 2) {
				if (Number.isFinite(lastEnd)) ends.push(lastEnd);
				starts.push(pieces.from_s[i]!);
			}
			lastEnd = pieces.to_s[i]!;
		}
	}
	ends.push(lastEnd);
	const plain = runningSums(smearOn(rate, STEP_S, smear_s));
	const wider = runningSums(smearOn(rate, STEP_S, smear_s + smear_u_s));
	const mean = (sums: Float64Array, k: number, delay_s: number) => {
		const a = place(path.from_s[k]! - delay_s);
		const b = place(path.end_s[k]! - delay_s);
		return a >= 0 && b < m - 1 && b > a ? (sumTo(sums, b) - sumTo(sums, a)) / (b - a) : Number.NaN;
	};
	const pure_s = lag_s - smear_s;
	let s = 0;
	for (let k = 0; k < n; k++) {
		const span = path.end_s[k]! - path.from_s[k]!;
		if (!(span > 0)) continue;
		const here = mean(plain, k, pure_s);
		if (Number.isNaN(here)) {
			out.area_m2[k] = grain.area_m2[k]!;
			continue;
		}
		out.area_m2[k] = here * span;
		if (!(here > 0 && grain.area_m2[k]! > 0)) continue;
		const late = (mean(plain, k, pure_s + u_s) - mean(plain, k, pure_s - u_s)) / 2;
		const wide = mean(wider, k, pure_s - smear_u_s) - here;
		out.u_rel[k] = (hypotenuse(late, wide) || 0) / here;
		out.share[k] = (here * span) / grain.area_m2[k]! - 1;
		while (s + 1 < starts.length && starts[s + 1]! <= grain.cut_s[k]!) s++;
		const near = 4 * smear_s + path.step_s;
		if (grain.cut_s[k]! - starts[s]! < near) out.where[k] = -1;
		else if (ends[s]! - grain.cut_s[k]! < near) out.where[k] = 1;
	}
	return out;
}

/** Speed at a time, from positions; 0 outside the log. */
function speedAt(path: Path, time_s: number): number {
	return path.speed_m_s[recordAt(path, time_s)] || 0;
}
