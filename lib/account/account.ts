import { apart_m } from '../geo/plane.ts';
import type { Account, Records } from '../model/index.ts';
import { inTimeOrder, MASS_FAULT } from '../model/index.ts';
import { atPlace, columnOf } from '../stats/index.ts';

/** Records within this time on either side give the expected flow of a record, seconds. */
const NEIGHBORS_S = 12;
/** A spike exceeds the flow of nearby records this many times, and the upper fence of the combine's flows. */
const SPIKE_TIMES = 2;
/** Longest loss of flow that counts as a sensor dropout, seconds; a longer one is a gap in the crop. */
const DROPOUT_S = 8;
/** Grain can still arrive for this long after the header comes up or the combine stops, seconds. */
const DRAIN_S = 60;
/** Farther than this from where it last moved, a machine does not stand still, whatever its distances say, meters. */
const AWAY_M = 10;

/**
 * The mass of every record: as recorded, and as accounted. Flow is mass at the sensor, so every record with grain
 * counts, header up or down. Where rows are missing within a pass, the account has the time since the row before.
 * Three sensor faults are corrected in the accounted mass: a spike and a dropout (the
 * flow is lost and comes back from one record to the next while the header stays down) get the flow of nearby
 * records, and flow long after anything was cut gets 0. A record without flow or interval has mass 0 in both.
 */
export function accountMass(records: Records): Account {
	const { n } = records;
	const { flow_kg_s, interval_s, lost_s } = records;
	const massOf = (i: number, seconds: number) => {
		const kg = flow_kg_s[i]! * seconds;
		return Number.isFinite(kg) && kg > 0 ? kg : 0;
	};
	const account_kg = columnOf(interval_s, (s, i) => massOf(i, s));
	const monitor_kg = lost_s ? columnOf(interval_s, (s, i) => massOf(i, s - lost_s[i]!)) : account_kg.slice();
	const account: Account = { monitor_kg, account_kg, fault: new Uint8Array(n) };
	for (let c = 0; c < records.combines.length; c++) mend(records, inTimeOrder(records, c), account);
	return account;
}

function mend(records: Records, index: Int32Array, account: Account): void {
	const n = index.length;
	if (n < 20) return;
	const flow = new Float64Array(n);
	const time = new Float64Array(n);
	for (let k = 0; k < n; k++) {
		const i = index[k]!;
		flow[k] = records.flow_kg_s[i]!;
		time[k] = records.time_s[i]!;
	}
	const flowing = flow.filter((f) => f > 0);
	if (flowing.length === 0) return;
	const at = (p: number) => atPlace(flowing, Math.floor(p * (flowing.length - 1)));
	// The largest flow of ordinary work.
	const most = at(0.995);
	// Flows above this are outliers: 2.5 interquartile ranges above the upper quartile, plus 15 % of the median flow.
	const top = at(0.75) + 2.5 * (at(0.75) - at(0.25)) + 0.15 * at(0.5);
	const set = (k: number, flow_kg_s: number, fault: number): void => {
		const i = index[k]!;
		const kg = flow_kg_s * records.interval_s[i]!;
		if (!Number.isFinite(kg)) return;
		account.account_kg[i] = kg;
		account.fault[i] = fault;
	};
	mendSpikes(flow, time, Math.min(most, top), top, set);
	mendDropouts({ records, index, flow, time }, most, set);
	mendIdle(records, index, flow, time, set);
}

type Set = (k: number, flow_kg_s: number, fault: number) => void;

/** @param usual - the largest usual flow, for a spike without nearby records; `top`: flows above it are outliers */
function mendSpikes(flow: Float64Array, time: Float64Array, usual: number, top: number, set: Set): void {
	for (let k = 0; k < flow.length; k++) {
		const f = flow[k]!;
		if (!(f > top)) continue;
		const near = neighborMedian(flow, time, k, (g) => g >= 0 && g <= top);
		const stand = Number.isFinite(near) ? near : usual;
		if (f > SPIKE_TIMES * stand) set(k, stand, MASS_FAULT.spike);
	}
}

function neighborMedian(flow: Float64Array, time: Float64Array, k: number, counts: (f: number) => boolean): number {
	const near: number[] = [];
	const t = time[k]!;
	for (let j = k - 1; j >= 0 && t - time[j]! <= NEIGHBORS_S; j--) {
		if (counts(flow[j]!)) near.push(flow[j]!);
	}
	for (let j = k + 1; j < flow.length && time[j]! - t <= NEIGHBORS_S; j++) {
		if (counts(flow[j]!)) near.push(flow[j]!);
	}
	if (near.length === 0) return Number.NaN;
	near.sort((a, b) => a - b);
	return near[near.length >> 1]!;
}

function mendDropouts(
	{ records, index, flow, time }: { records: Records; index: Int32Array; flow: Float64Array; time: Float64Array },
	most: number,
	set: Set,
): void {
	const n = flow.length;
	for (let k = 1; k < n; k++) {
		if (!(flow[k]! <= 0.02 * most) || !(flow[k - 1]! > 0.2 * most)) continue;
		let end = k;
		while (end < n && flow[end]! <= 0.02 * most) end++;
		const before = flow[k - 1]!;
		const after = end < n ? flow[end]! : 0;
		// Measured from the last good record to the last lost one, since in a slow log one lost record is already long.
		const lasts = end < n ? time[end - 1]! - time[k - 1]! : Infinity;
		// Without a gap before it: after one, grain only begins to arrive.
		const follows = time[k]! - time[k - 1]! <= 2 * records.interval_s[index[k]!]!;
		const short = lasts <= DROPOUT_S || (end < n && end - k <= 3 && follows);
		// At the ends of passes the flow changes over several seconds; a failing sensor changes from one record to the next.
		const abrupt = after > 0.4 * before && before > 0.4 * after;
		if (abrupt && short && cutting(records, index, time, k - 1, end)) {
			for (let j = k; j < end; j++) {
				const near = neighborMedian(flow, time, j, (f) => f > 0.1 * most);
				set(j, Number.isFinite(near) ? near : (before + after) / 2, MASS_FAULT.dropout);
			}
		}
		k = end;
	}
}

/** True where the header stayed down from 20 s before the loss, when the grain now at the sensor was cut. */
function cutting(records: Records, index: Int32Array, time: Float64Array, from: number, to: number): boolean {
	const start = time[from]! - 20;
	for (let k = Math.min(to, index.length - 1); k >= 0 && time[k]! >= start; k--) {
		if (records.headerDown[index[k]!] === 0) return false;
	}
	return true;
}

function mendIdle(records: Records, index: Int32Array, flow: Float64Array, time: Float64Array, set: Set): void {
	const { lon_deg, lat_deg } = records;
	let last = -Infinity;
	let place = index[0]!;
	let known = false;
	for (let k = 0; k < index.length; k++) {
		const i = index[k]!;
		const down = records.headerDown[i]!;
		// A missing distance (NaN) does not count as standing still, nor one that positions contradict.
		const away = apart_m(lon_deg[i]!, lat_deg[i]!, lon_deg[place]!, lat_deg[place]!) > AWAY_M;
		const stood = !away && records.distance_m[i]! <= 0.1 * records.interval_s[i]!;
		if (away || !stood) place = i;
		if (down !== -1) known = true;
		// After a long gap in the log, the first record's grain was cut before the gap.
		if (k > 0 && time[k]! - time[k - 1]! > DRAIN_S) last = time[k]!;
		if (down !== 0 && !stood) last = time[k]!;
		if (known && flow[k]! > 0 && time[k]! - last > DRAIN_S) set(k, 0, MASS_FAULT.idle);
	}
}
