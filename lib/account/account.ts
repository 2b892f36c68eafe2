import type { Account, Records } from '../model/index.ts';
import { inTimeOrder } from '../model/index.ts';

/** Codes of `Account.fault`. */
export const SPIKE = 2;
export const DROPOUT = 3;
export const IDLE = 4;

/** Neighbors on either side that speak for a record, seconds. */
const NEIGHBORS_S = 12;
/** A spike is more than this many times what its neighbors carry, and beyond what the combine ever carries. */
const SPIKE_TIMES = 2;
/** A sensor that loses the flow comes back within this time, seconds; longer is a gap in the crop. */
const DROPOUT_S = 8;
/** Grain still arrives for this long after the header has come up or the combine has stopped, seconds. */
const DRAIN_S = 60;

/**
 * The mass of every record: as recorded, and as accounted. Flow is mass at the sensor, so every record with grain
 * counts, header up or down. Three faults of the sensor are mended from the records on either side: a spike, a
 * drop-out (the flow is lost and comes back at once, header down all the while), and flow long after anything was
 * cut. A record without flow or interval weighs nothing on both accounts.
 */
export function accountMass(records: Records): Account {
	const { n } = records;
	const monitor_kg = new Float64Array(n);
	for (let i = 0; i < n; i++) {
		const kg = (records.flow_kg_s[i] as number) * (records.interval_s[i] as number);
		monitor_kg[i] = Number.isFinite(kg) && kg > 0 ? kg : 0;
	}
	const account: Account = { monitor_kg, account_kg: Float64Array.from(monitor_kg), fault: new Uint8Array(n) };
	for (let c = 0; c < records.combines.length; c++) mend(records, inTimeOrder(records, c), account);
	return account;
}

function mend(records: Records, index: Int32Array, account: Account): void {
	const n = index.length;
	if (n < 20) return;
	const flow = new Float64Array(n);
	const time = new Float64Array(n);
	for (let k = 0; k < n; k++) {
		const i = index[k] as number;
		flow[k] = records.flow_kg_s[i] as number;
		time[k] = records.time_s[i] as number;
	}
	const most = usualMost(flow);
	if (!(most > 0)) return;
	const set = (k: number, flow_kg_s: number, fault: number): void => {
		const i = index[k] as number;
		const kg = flow_kg_s * (records.interval_s[i] as number);
		if (!Number.isFinite(kg)) return;
		account.account_kg[i] = kg;
		account.fault[i] = fault;
	};
	mendSpikes(flow, time, most, set);
	mendDropouts(records, index, flow, time, most, set);
	mendIdle(records, index, flow, time, set);
}

/** What the combine carries at most in its ordinary work: nearly the top of its flows. */
function usualMost(flow: Float64Array): number {
	const flowing = flow.filter((f) => f > 0).sort();
	return flowing.length === 0 ? Number.NaN : (flowing[Math.floor(0.995 * (flowing.length - 1))] as number);
}

type Set = (k: number, flow_kg_s: number, fault: number) => void;

function mendSpikes(flow: Float64Array, time: Float64Array, most: number, set: Set): void {
	const top = upperFence(flow);
	for (let k = 0; k < flow.length; k++) {
		const f = flow[k] as number;
		if (!(f > top)) continue;
		const near = neighborMedian(flow, time, k, (g) => g >= 0 && g <= top);
		// Without neighbors to speak for it, an impossible flow is no more than the most it usually carries.
		const stand = Number.isFinite(near) ? near : Math.min(most, top);
		if (f > SPIKE_TIMES * stand) set(k, stand, SPIKE);
	}
}

/** Beyond it, a flow is no harvest: three interquartile ranges over the upper quartile of the flowing records. */
function upperFence(flow: Float64Array): number {
	const sorted = flow.filter((f) => f > 0).sort();
	const at = (p: number): number => sorted[Math.floor(p * (sorted.length - 1))] as number;
	return at(0.75) + 2.5 * (at(0.75) - at(0.25)) + 0.15 * at(0.5);
}

function neighborMedian(flow: Float64Array, time: Float64Array, k: number, counts: (f: number) => boolean): number {
	const near: number[] = [];
	const t = time[k] as number;
	for (let j = k - 1; j >= 0 && t - (time[j] as number) <= NEIGHBORS_S; j--) {
		if (counts(flow[j] as number)) near.push(flow[j] as number);
	}
	for (let j = k + 1; j < flow.length && (time[j] as number) - t <= NEIGHBORS_S; j++) {
		if (counts(flow[j] as number)) near.push(flow[j] as number);
	}
	if (near.length === 0) return Number.NaN;
	near.sort((a, b) => a - b);
	return near[near.length >> 1] as number;
}

function mendDropouts(
	records: Records,
	index: Int32Array,
	flow: Float64Array,
	time: Float64Array,
	most: number,
	set: Set,
): void {
	const n = flow.length;
	for (let k = 1; k < n; k++) {
		if (!((flow[k] as number) <= 0.02 * most) || !((flow[k - 1] as number) > 0.2 * most)) continue;
		let end = k;
		while (end < n && (flow[end] as number) <= 0.02 * most) end++;
		const before = flow[k - 1] as number;
		const after = end < n ? (flow[end] as number) : 0;
		// From the last record that counted to the last that was lost: in a slow log one lost record is long by itself.
		const lasts = end < n ? (time[end - 1] as number) - (time[k - 1] as number) : Number.POSITIVE_INFINITY;
		const short = lasts <= DROPOUT_S || (end < n && end - k <= 3);
		// Grain runs out and builds up over several seconds; a sensor that fails does so from one record to the next.
		const abrupt = after > 0.4 * before && before > 0.4 * after;
		if (abrupt && short && cutting(records, index, time, k - 1, end)) {
			for (let j = k; j < end; j++) {
				const near = neighborMedian(flow, time, j, (f) => f > 0.1 * most);
				set(j, Number.isFinite(near) ? near : (before + after) / 2, DROPOUT);
			}
		}
		k = end;
	}
}

/** Header down all the while, from some seconds before the loss: the grain in the sensor was cut then. */
function cutting(records: Records, index: Int32Array, time: Float64Array, from: number, to: number): boolean {
	const start = (time[from] as number) - 20;
	for (let k = Math.min(to, index.length - 1); k >= 0 && (time[k] as number) >= start; k--) {
		if (records.headerDown[index[k] as number] === 0) return false;
	}
	return true;
}

function mendIdle(records: Records, index: Int32Array, flow: Float64Array, time: Float64Array, set: Set): void {
	let last = Number.NEGATIVE_INFINITY;
	let known = false;
	for (let k = 0; k < index.length; k++) {
		const i = index[k] as number;
		const down = records.headerDown[i] as number;
		// A distance that is missing tells of no standing still.
		const stood = (records.distance_m[i] as number) <= 0.1 * (records.interval_s[i] as number);
		if (down !== -1) known = true;
		// A record may follow a long gap: what it carries was cut before.
		if (k > 0 && (time[k] as number) - (time[k - 1] as number) > DRAIN_S) last = time[k] as number;
		if (down !== 0 && !stood) last = time[k] as number;
		if (known && (flow[k] as number) > 0 && (time[k] as number) - last > DRAIN_S) set(k, 0, IDLE);
	}
}
