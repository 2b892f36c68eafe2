/** The track's flags, laid over what no threshold changes. */
import type { Account, FieldPlan, Records, Track } from '../../model/index.ts';
import { median } from '../../stats/median.ts';
import type { Grain } from '../ground/grain.ts';
import type { Path } from '../path/motion.ts';
import { flagRecords } from './flags.ts';
import { limits } from './limits.ts';
import type { Odd } from './odd.ts';

/** What the flags of one combine's records are decided from, in order of its path. */
export interface Described {
	path: Path;
	grain: Grain;
	blend: { share: Float64Array; where: Int8Array };
	odd: Odd;
	moisture_pct: Float64Array;
	outside: Uint8Array;
	bend: Float64Array;
}

/** A track without flags, and what they are decided from. */
export interface LaidTrack {
	track: Track;
	/** In the order of `Records.combines`. */
	combines: Described[];
}

/** The track with its flags and the thresholds they came from. */
export function flagTrack(laid: LaidTrack, input: { records: Records; plan: FieldPlan; account: Account }): Track {
	const { records, plan, account } = input;
	const flows = account.account_kg.map((m, i) => m / records.interval_s[i]!).filter((f) => f > 0);
	const usual_kg_s = flows.length > 0 ? median(flows) : 0;
	const flag = new Uint8Array(records.n);
	const thresholds = { ...laid.track.thresholds };
	laid.combines.forEach(({ path, grain, blend, odd, moisture_pct, outside, bend }, c) => {
		const name = records.combines[c]!;
		const row_m = plan.combines[name]?.row_m ?? Number.NaN;
		const limit = limits(plan, usual_kg_s, odd.noise, laid.track.thresholds.seam_spread_m!, row_m);
		flagRecords(records, path, grain, account, blend, odd, moisture_pct, outside, bend, limit, flag);
		for (const [word, value] of Object.entries(limit)) thresholds[`${name}.${word}`] = value;
	});
	return { ...laid.track, flag, thresholds };
}
