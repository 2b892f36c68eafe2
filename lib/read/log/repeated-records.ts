import { apart_m, M_PER_DEG } from '../../geo/plane.ts';
import { caution, type Each, inTurn, type Note, type Records, type SetAside, wholeFile } from '../../model/index.ts';
import { utcText } from '../../units/index.ts';
import { Budget } from './covered.ts';
import { alikeByHash, RowIndex } from './row-index.ts';
import { shiftedCopies } from './shifted.ts';

/** Records that repeat the same ground at the same moment. */
export interface Twice {
	/** 1 for a record that is not counted. */
	drop: Uint8Array;
	aside: SetAside[];
	notes: Note[];
}

/** Entries listed one by one per file; only the number of further ones is given. */
const LISTED = 10_000;

/** A rewritten export rounds times to the second and positions to a decimeter or two. */
const NEAR_S = 1.05;

const NEAR_M = 0.3;

/** Most records examined around one: a clock that stands still all day must not take a day to check. */
const MOST_NEAR = 40;

/**
 * Finds repeated records: equal in time and position in two logs or under two combines, the same under another clock,
 * and repeated rows of one combine (equal, or a second and a decimeter apart) where its records cover more seconds than passed on the clock. A
 * clock that stands still for a moment, or rows in any order, do not count: their seconds add up.
 *
 * @param files - name of each log's file
 */
export function repeatedRecords(
	records: Records,
	untimed: Uint8Array,
	files: readonly string[],
	each: Each = inTurn,
): Twice {
	const drop = new Uint8Array(records.n);
	/** The record that each dropped one repeats. */
	const of = new Map<number, number>();
	// A record that is repeated shares its place, which hardly any other does.
	const alike = alikeByHash([records.lat_deg, records.lon_deg], (i) => placed(records, untimed, i));
	acrossLogs(records, alike, drop, of);
	const across = of.size;
	const usable = drop.map((gone, i) => (gone === 0 && placed(records, untimed, i) ? 1 : 0));
	for (const [i, first] of shiftedCopies(records, usable, alike)) {
		drop[i] = 1;
		of.set(i, first);
	}
	const shifted = of.size;
	const within = each(
		repeatsWithin,
		records.combines.map((_, combine) => ({ records, untimed, combine, drop })),
	);
	for (const [i, first] of within.flat()) {
		drop[i] = 1;
		of.set(i, first);
	}
	return { drop, ...listRepeats(records, files, of, { across, shifted }) };
}

function placed(records: Records, untimed: Uint8Array, i: number): boolean {
	return untimed[i] === 0 && !Number.isNaN(records.lat_deg[i]!) && !Number.isNaN(records.lon_deg[i]!);
}

/** Two machines are never at the same place at the same moment. */
function acrossLogs(records: Records, alike: Uint8Array, drop: Uint8Array, of: Map<number, number>): void {
	const { log, combine, time_s, lat_deg, lon_deg } = records;
	const moments = new RowIndex([time_s, lat_deg, lon_deg]);
	for (let i = 0; i < records.n; i++) {
		if (alike[i] === 0) continue;
		const same = moments.first(i);
		if (log[same] === log[i] && combine[same] === combine[i]) continue;
		drop[i] = 1;
		of.set(i, same);
	}
}

/**
 * Repeats within one combine, whose records cannot cover more seconds than passed on the clock.
 *
 * @param input - `drop`: 1 for a record that does not count anyway
 * @returns pairs of a record that does not count and the one that it repeats
 */
export function repeatsWithin(input: {
	records: Records;
	untimed: Uint8Array;
	combine: number;
	drop: Uint8Array;
}): [number, number][] {
	const { records, untimed, combine } = input;
	const drop = input.drop.slice();
	const found: [number, number][] = [];
	const { time_s, interval_s } = records;
	const own: number[] = [];
	let sorted = true;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== combine || drop[i] || !placed(records, untimed, i) || !(interval_s[i]! > 0)) continue;
		if (own.length > 0 && time_s[i]! < time_s[own[own.length - 1]!]!) sorted = false;
		own.push(i);
	}
	if (own.length < 3) return found;
	if (!sorted) own.sort((a, b) => time_s[a]! - time_s[b]! || a - b);
	const budget = new Budget(records, own);
	const settle = (repeats: readonly Repeat[]) => {
		// In the file's order, so that the later row is the one that does not count.
		for (const k of repeats) {
			const i = own[k.at]!;
			if (drop[i] || drop[k.of]) continue;
			if (!(budget.excess_s(k.at) > 0.5 * interval_s[i]!)) continue;
			drop[i] = 1;
			found.push([i, k.of]);
			budget.take(k.at);
		}
	};
	settle(candidates(records, own, (i, j) => equalRows(records, i, j), 0));
	const near = candidates(records, own, (i, j) => nearRows(records, i, j), NEAR_S);
	const near_s = near.reduce((sum, k) => (drop[own[k.at]!] ? sum : sum + interval_s[own[k.at]!]!), 0);
	// Rows of a machine that stands are near each other too. Where they cannot be all of the excess, the intervals are wrong.
	if (near_s > 0.5 * budget.inAll_s()) settle(near);
	return found;
}

/** A position in `own`, and the earlier record of the file that the one there repeats. */
interface Repeat {
	at: number;
	of: number;
}

/** Records that repeat an earlier one of their file, in the file's order. */
function candidates(
	records: Records,
	own: readonly number[],
	same: (i: number, j: number) => boolean,
	reach_s: number,
): Repeat[] {
	const found: Repeat[] = [];
	for (let k = 0; k < own.length; k++) {
		const i = own[k]!;
		let first = i;
		for (const step of [-1, 1]) {
			for (let m = k + step; m >= 0 && m < own.length && Math.abs(m - k) <= MOST_NEAR; m += step) {
				const j = own[m]!;
				if (Math.abs(records.time_s[j]! - records.time_s[i]!) > reach_s) break;
				if (j < first && same(i, j)) first = j;
			}
		}
		if (first < i) found.push({ at: k, of: first });
	}
	return found.sort((a, b) => own[a.at]! - own[b.at]!);
}

const sameNumber = (a: number, b: number) => a === b || (Number.isNaN(a) && Number.isNaN(b));

function equalRows(r: Records, i: number, j: number): boolean {
	return (
		r.time_s[i] === r.time_s[j] &&
		r.lat_deg[i] === r.lat_deg[j] &&
		r.lon_deg[i] === r.lon_deg[j] &&
		sameNumber(r.flow_kg_s[i]!, r.flow_kg_s[j]!) &&
		sameNumber(r.interval_s[i]!, r.interval_s[j]!)
	);
}

function nearRows(r: Records, i: number, j: number): boolean {
	if (Math.abs(r.lat_deg[i]! - r.lat_deg[j]!) * M_PER_DEG > NEAR_M) return false;
	if (apart_m(r.lon_deg[i]!, r.lat_deg[i]!, r.lon_deg[j]!, r.lat_deg[j]!) > NEAR_M) return false;
	const [a, b] = [r.flow_kg_s[i]!, r.flow_kg_s[j]!];
	return sameNumber(a, b) || Math.abs(a - b) <= 0.02 * Math.max(Math.abs(a), Math.abs(b)) + 0.01;
}

function listRepeats(
	records: Records,
	files: readonly string[],
	of: ReadonlyMap<number, number>,
	ends: { across: number; shifted: number },
): { aside: SetAside[]; notes: Note[] } {
	const aside: SetAside[] = [];
	const none = () => ({
		count: 0,
		across: 0,
		within: 0,
		between: new Set<string>(),
		combines: new Set<string>(),
		/** Copies under another clock: how many, of which files, and by how many seconds. */
		clock: { count: 0, of: new Set<string>(), by_s: new Set<number>() },
	});
	const byFile = new Map<string, ReturnType<typeof none>>();
	let k = 0;
	for (const [i, first] of of) {
		const file = files[records.log[i]!]!;
		const other = files[records.log[first]!]!;
		const repeats = byFile.get(file) ?? none();
		byFile.set(file, repeats);
		repeats.count++;
		const at = k++;
		if (at < ends.across) {
			repeats.across++;
			repeats.between.add(other);
			for (const c of [records.combine[i]!, records.combine[first]!]) repeats.combines.add(records.combines[c]!);
		} else if (at < ends.shifted) {
			repeats.clock.count++;
			repeats.clock.of.add(other);
			repeats.clock.by_s.add(Math.round(records.time_s[i]! - records.time_s[first]!));
		} else repeats.within++;
		if (repeats.count > LISTED) continue;
		aside.push({
			file,
			row: records.line[i]!,
			column: null,
			found: utcText(records.time_s[i]!),
			why: `this record is already in ${other === file ? '' : `${other}, `}row ${records.line[first]}; it counts once`,
		});
	}
	const notes: Note[] = [];
	for (const [file, { count, across, between, combines, clock, within }] of byFile) {
		if (count > LISTED)
			aside.push(wholeFile(file, `${count - LISTED} more`, 'further repeated records; each counts once'));
		if (across > 0) {
			const names = [...combines].sort().join(' and ');
			notes.push(
				caution(
					`${file}: ${across} records are equal in time and position to records of ${[...between].join(', ')} (combine ${names}); each counts once. A copy of a log, or one combine under two names?`,
				),
			);
		}
		if (clock.count > 0) {
			const whose =
				clock.of.has(file) && clock.of.size === 1 ? 'earlier rows' : `records of ${[...clock.of].join(', ')}`;
			const by = [...clock.by_s].map((s) => `${Math.abs(s)} s ${s < 0 ? 'earlier' : 'later'}`).join(', ');
			notes.push(
				caution(
					`${file}: ${clock.count} records are equal in position and flow to ${whose}, but ${by}; each counts once. A copy of a log with another clock or time zone? Check which times are right.`,
				),
			);
		}
		if (within > 0) {
			notes.push(
				caution(
					`${file}: ${within} rows repeat rows of the same combine, and its records add up to more seconds than the clock shows; each counts once. Do exports overlap?`,
				),
			);
		}
	}
	return { aside, notes };
}
