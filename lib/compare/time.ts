import { type ComparedTime, inTimeOrder, type Match, type Records, type Track } from '../model/index.ts';

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
	const time = none();
	const pieces: Day['pieces'] = [];
	let piece = { time: none(), worked_s: 0, area_m2: 0, mass_kg: 0 };
	let worked_s = 0;
	let level = 0;
	let next = 0;
	const add = (what: keyof ComparedTime, seconds: number) => {
		time[what] += seconds;
		piece.time[what] += seconds;
		if (what === 'onTheGo_s') return;
		worked_s += seconds;
		piece.worked_s += seconds;
	};
	// Unloadings in order of their ends; times may go back a little in a log, so search for the first that may overlap.
	const latest = Float64Array.from(own, (v) => v.end_s);
	for (let k = 1; k < latest.length; k++) latest[k] = Math.max(latest[k]!, latest[k - 1]!);
	const earliest = Float64Array.from(own, (v) => v.start_s);
	for (let k = earliest.length - 2; k >= 0; k--) earliest[k] = Math.min(earliest[k]!, earliest[k + 1]!);
	/** The first unloading that overlaps a stretch of time. */
	const during = (from_s: number, to_s: number, open: boolean) => {
		let low = 0;
		let high = own.length;
		while (low < high) {
			const middle = (low + high) >> 1;
			if (latest[middle]! < from_s) low = middle + 1;
			else high = middle;
		}
		for (; low < own.length && earliest[low]! <= to_s; low++) {
			const v = own[low]!;
			if (open ? v.start_s < to_s && v.end_s > from_s : v.start_s <= to_s && v.end_s >= from_s) return true;
		}
		return false;
	};
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
		// Gap before this record: many monitors write nothing while the combine is stopped.
		const silent = end - interval - before;
		if (silent > 1 && silent <= BREAK_S) {
			const dumping = during(before, end - interval, true);
			add(dumping ? 'dumping_s' : full > 0 && level >= full ? 'waiting_s' : 'standing_s', silent);
		}
		before = Math.max(end, Number.isNaN(before) ? end : before);
		if (end === atEnd) continue;
		atEnd = end;
		const speed = track.speed_m_s[i]!;
		const cuts = track.pass[i]! >= 0 && records.headerDown[i] !== 0;
		if (!(speed > STANDING_M_S)) {
			add(auger ? 'dumping_s' : full > 0 && level >= full ? 'waiting_s' : 'standing_s', interval);
		} else if (cuts) {
			add('cutting_s', interval);
			if (auger) add('onTheGo_s', interval);
		} else add(auger ? 'dumping_s' : 'turning_s', interval);
		piece.area_m2 += Number.isFinite(track.area_m2[i]!) ? track.area_m2[i]! : 0;
		piece.mass_kg += mass_kg[i]!;
		if (piece.worked_s >= PIECE_S) {
			pieces.push(piece);
			piece = { time: none(), worked_s: 0, area_m2: 0, mass_kg: 0 };
		}
	}
	if (piece.worked_s > PIECE_S / 2) pieces.push(piece);
	return { time, worked_s, pieces };
}
