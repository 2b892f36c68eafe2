import {
	type ComparedTime,
	inTimeOrder,
	type Match,
	type Records,
	type Track,
	type Unloading,
} from '../model/index.ts';
import { firstFrom } from '../stats/index.ts';

/** A gap in the log longer than this is a break, seconds. */
const BREAK_S = 1200;
/** A combine slower than this is stopped, m/s. */
const STANDING_M_S = 0.3;
/** A tank filled to this share of its capacity is full. */
const FULL = 0.85;

/** A combine's time by activity, and its work in equal pieces to estimate scatter. */
export interface Day {
	time: ComparedTime;
	worked_s: number;
	/** Pieces of about a quarter of an hour of work. */
	pieces: { time: ComparedTime; worked_s: number; area_m2: number; mass_kg: number }[];
}

const PIECE_S = 900;

function none(): ComparedTime {
	return { cutting_s: 0, turning_s: 0, dumping_s: 0, waiting_s: 0, standing_s: 0, onTheGo_s: 0 };
}

/**
 * Assigns every second of a combine's work to an activity.
 *
 * @param input - `mass_kg`: mass of each record (corrected, or as accounted); `tank_kg`: capacity of the tank, null = the
 *   largest fill is used
 */
export function dayOf(
	input: { records: Records; track: Track; match: Match; mass_kg: Float64Array; tank_kg: number | null },
	combine: number,
): Day {
	const { records, track, match, mass_kg, tank_kg } = input;
	const order = inTimeOrder(records, combine);
	const own = match.unloadings.filter((u) => u.combine === combine);
	const fill = own.map((u) => {
		let sum = 0;
		for (let k = u.from; k < u.to; k++) sum += mass_kg[order[k]!]!;
		return sum;
	});
	const full = FULL * (tank_kg ?? Math.max(0, ...fill));
	const during = unloadingDuring(own);
	const work = new Work();
	let level = 0;
	let next = 0;
	let before = Number.NaN;
	let atEnd = Number.NaN;
	for (let k = 0; k < order.length; k++) {
		const i = order[k]!;
		const end = records.time_s[i]!;
		const interval = Number.isFinite(records.interval_s[i]!) ? Math.max(0, records.interval_s[i]!) : 0;
		while (next < own.length && k >= own[next]!.to) {
			level = Math.max(0, level - fill[next]!);
			next++;
		}
		level += mass_kg[i]!;
		const auger = records.augerOn[i] === 1 || (records.augerOn[i] === -1 && during(end - interval, end, false));
		const stopped = (dumping: boolean) =>
			dumping ? 'dumping_s' : full > 0 && level >= full ? 'waiting_s' : 'standing_s';
		// Gap before this record: many monitors write nothing while the combine is stopped.
		const silent = end - interval - before;
		if (silent > 1 && silent <= BREAK_S) work.add(stopped(during(before, end - interval, true)), silent);
		before = Math.max(end, Number.isNaN(before) ? end : before);
		if (end === atEnd) continue;
		atEnd = end;
		const cuts = track.pass[i]! >= 0 && records.headerDown[i] !== 0;
		if (!(track.speed_m_s[i]! > STANDING_M_S)) work.add(stopped(auger), interval);
		else if (cuts) {
			work.add('cutting_s', interval);
			if (auger) work.add('onTheGo_s', interval);
		} else work.add(auger ? 'dumping_s' : 'turning_s', interval);
		work.cut(track.area_m2[i]!, mass_kg[i]!);
	}
	return work.day();
}

/** Work as it adds up, in total and in the piece that is being filled. */
class Work {
	private readonly time = none();
	private readonly pieces: Day['pieces'] = [];
	private piece = { time: none(), worked_s: 0, area_m2: 0, mass_kg: 0 };
	private worked_s = 0;

	add(what: keyof ComparedTime, seconds: number): void {
		this.time[what] += seconds;
		this.piece.time[what] += seconds;
		if (what === 'onTheGo_s') return;
		this.worked_s += seconds;
		this.piece.worked_s += seconds;
	}

	cut(area_m2: number, mass_kg: number): void {
		this.piece.area_m2 += Number.isFinite(area_m2) ? area_m2 : 0;
		this.piece.mass_kg += mass_kg;
		if (!(this.piece.worked_s >= PIECE_S)) return;
		this.pieces.push(this.piece);
		this.piece = { time: none(), worked_s: 0, area_m2: 0, mass_kg: 0 };
	}

	day(): Day {
		const rest = this.piece.worked_s > PIECE_S / 2 ? [this.piece] : [];
		return { time: this.time, worked_s: this.worked_s, pieces: [...this.pieces, ...rest] };
	}
}

/** Whether an unloading overlaps a stretch of time. Times may go back a little in a log, hence the search by their extremes. */
function unloadingDuring(own: readonly Unloading[]): (from_s: number, to_s: number, open: boolean) => boolean {
	const latest = Float64Array.from(own, (v) => v.end_s);
	for (let k = 1; k < latest.length; k++) latest[k] = Math.max(latest[k]!, latest[k - 1]!);
	const earliest = Float64Array.from(own, (v) => v.start_s);
	for (let k = earliest.length - 2; k >= 0; k--) earliest[k] = Math.min(earliest[k]!, earliest[k + 1]!);
	return (from_s, to_s, open) => {
		for (let k = firstFrom(latest, from_s); k < own.length && earliest[k]! <= to_s; k++) {
			const v = own[k]!;
			if (open ? v.start_s < to_s && v.end_s > from_s : v.start_s <= to_s && v.end_s >= from_s) return true;
		}
		return false;
	};
}
