/** Whether the header was in the crop: from the log's own column, or inferred from movement and flow. */
import type { Account, Records } from '../../model/index.ts';
import { columnOf, quantile } from '../../stats/index.ts';
import type { Path } from './follow-path.ts';
import { SortedWindow } from './window.ts';

/** Flow within this time of a record gives its pass's usual flow, seconds. */
const AROUND_S = 15;

/**
 * 1 where the record was cut with the header down, in order of time. The log's column is used if there is one; else it
 * is inferred from movement at working speed on a steady heading, with grain following after the lag.
 *
 * @param lag_s - the lag in use; NaN while it is not known yet (then any flow in the next 25 s counts)
 */
export function headerDown(
	records: Records,
	account: Account,
	path: Path,
	lag_s: number,
): { down: Uint8Array; inferred: boolean } {
	const { n, index } = path;
	const down = new Uint8Array(n);
	let ups = 0;
	let downs = 0;
	for (let k = 0; k < n; k++) {
		const h = records.headerDown[index[k]!]!;
		if (h === 1) downs++;
		else if (h === 0) ups++;
	}
	if (downs > 0 && ups > 0 && downs + ups > 0.5 * n) {
		let last = 0;
		for (let k = 0; k < n; k++) {
			const h = records.headerDown[index[k]!]!;
			if (h >= 0) last = h;
			down[k] = last;
		}
		return { down, inferred: false };
	}
	// Use accounted mass, so that a short sensor failure does not look like a raised header.
	const flow = columnOf(index, (i, k) => account.account_kg[i]! / Math.max(0.05, path.end_s[k]! - path.start_s[k]!));
	const flows = flow.filter((f) => f > 0);
	const usual = flows.length === 0 ? Number.NaN : quantile(flows.sort(), 0.6);
	const known = Number.isFinite(lag_s);
	const enough = halfLevel(flow, path, 0.08 * usual);
	for (let k = 0; k < n; k++) {
		const v = path.speed_m_s[k]!;
		if (!(v > 0.25 * path.pace_m_s && v < 2.5 * path.pace_m_s)) continue;
		if (Math.abs(path.turnRate_rad_m[k]!) > 0.12) continue;
		const follows = grainFollows(flow, path, k, known ? lag_s : Number.NaN, enough);
		// Many monitors write nothing while the header is up: where the log ends first, the header stayed as it was.
		down[k] = Number(follows ?? (k > 0 && down[k - 1] === 1));
	}
	// A single up among downs, or a single down among ups, is noise of the flow.
	const reach = Math.max(1, Math.round(4 / path.step_s));
	for (let k = 0; k < n; ) {
		let last = k;
		while (last + 1 < n && down[last + 1] === down[k]) last++;
		if (k > 0 && last + 1 < n && last - k + 1 <= reach && path.end_s[last + 1]! - path.end_s[k]! < 10) {
			if (!down[k]) down.fill(1, k, last + 1);
		}
		k = last + 1;
	}
	return { down, inferred: true };
}

/** Whether grain arrives when that of record k should; null where the log holds no record of that time. */
function grainFollows(flow: Float64Array, path: Path, k: number, lag_s: number, enough: Float64Array): boolean | null {
	const { n, end_s } = path;
	const wide = !Number.isFinite(lag_s);
	const from = wide ? end_s[k]! : end_s[k]! + lag_s - 0.75 * path.step_s;
	const to = wide ? end_s[k]! + 25 : end_s[k]! + lag_s + 0.75 * path.step_s;
	let j = k;
	while (j > 0 && end_s[j - 1]! >= from) j--;
	while (j < n && end_s[j]! < from) j++;
	if (!(end_s[j]! <= to)) return null;
	for (; j < n && end_s[j]! <= to; j++) if (flow[j]! > enough[j]!) return true;
	return false;
}

/**
 * The flow above which a record belongs to a pass: nearly half of the flow around it (a narrow pass has little flow
 * throughout), and at least `floor`.
 */
function halfLevel(flow: Float64Array, path: Path, floor: number): Float64Array {
	const { n, end_s } = path;
	const out = new Float64Array(n);
	const window = new SortedWindow(n);
	let from = 0;
	let to = -1;
	for (let k = 0; k < n; k++) {
		while (to + 1 < n && end_s[to + 1]! <= end_s[k]! + AROUND_S) window.add(flow[++to]!);
		while (end_s[from]! < end_s[k]! - AROUND_S) window.remove(flow[from++]!);
		out[k] = Math.max(floor, 0.4 * window.quantile(0.75));
	}
	return out;
}
