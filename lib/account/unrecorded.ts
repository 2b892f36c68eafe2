import { type Account, MASS_FAULT, type Records, type Track } from '../model/index.ts';

/** A longer gap is a break: only the grain on its way at its start came through unrecorded, seconds. */
const LONGEST_S = 120;
/** Grain takes 8 to 14 s (Beal and Tian 2001); with less than half of that, the log has the delay taken out, seconds. */
const SHIFTED_S = 4;
/** Yield and flow before a gap are means that forget with this time, seconds. */
const BEFORE_S = 8;

/** One combine's records in order of time, and the ground whose grain was on its way at each one's end, m². */
export interface Underway {
	path: { index: Int32Array };
	underway_m2: Float64Array;
}

/**
 * The account with the grain that came through while nothing was written: many monitors write no rows, or no flow, while the
 * header is up, when the grain of a pass's last seconds is still on its way. At a gap that is the ground cut within the delay
 * before it, at the yield before it, and the flow after the gap for what is left of it. The last record before the gap has it.
 *
 * @param combines - in the order of `records.combines`
 * @returns the same account where nothing was missed
 */
export function withUnrecorded(
	records: Records,
	account: Account,
	{ lags, area_m2 }: Pick<Track, 'lags' | 'area_m2'>,
	combines: readonly Underway[],
): Account {
	const { time_s, interval_s, flow_kg_s } = records;
	let whole: Account | null = null;
	combines.forEach(({ path, underway_m2 }, c) => {
		const delay_s = Math.max(0, lags[c]!.lag_s);
		let [last, onItsWay_m2, kg, m2] = [-1, 0, 0, 0];
		for (let k = 0; k < path.index.length; k++) {
			const i = path.index[k]!;
			if (!Number.isFinite(flow_kg_s[i]!) || !(interval_s[i]! > 0)) continue;
			const step_s = last < 0 ? 0 : time_s[i]! - time_s[last]!;
			const gap_s = step_s - interval_s[i]!;
			if (last >= 0 && gap_s > Math.max(2, 1.5 * interval_s[i]!)) {
				// What flows right after the gap was cut within it, unless the log has the delay taken out.
				const within = delay_s > SHIFTED_S && gap_s <= LONGEST_S;
				const rest_s = within ? Math.max(0, gap_s - delay_s) : 0;
				const before_kg = m2 > 0 ? onItsWay_m2 * (kg / m2) * Math.min(1, gap_s / delay_s) : 0;
				const missed_kg = before_kg + rest_s * (account.account_kg[i]! / interval_s[i]!);
				if (missed_kg > 0) {
					whole ??= { ...account, account_kg: account.account_kg.slice(), fault: account.fault.slice() };
					whole.account_kg[last]! += missed_kg;
					whole.fault[last] = MASS_FAULT.unrecorded;
				}
			}
			const keep = Math.exp(-step_s / BEFORE_S);
			kg = keep * kg + account.account_kg[i]!;
			m2 = keep * m2 + area_m2[i]!;
			onItsWay_m2 = underway_m2[k]!;
			last = i;
		}
	});
	return whole ?? account;
}
