/** Adds the flags to a track that is otherwise complete. */
import type { Account, FieldPlan, Records, Track } from '../../model/index.ts';
import { columnOf, median } from '../../stats/index.ts';
import type { Described } from './describe-records.ts';
import { limits } from './flag-limits.ts';
import { flagRecords } from './flags.ts';

/** A track without flags, and the data that they are set from. */
export interface UnflaggedTrack {
	track: Track;
	/** In the order of `Records.combines`. */
	combines: Described[];
}

/** The track with its flags and the thresholds they came from. */
export function flagTrack(
	unflagged: UnflaggedTrack,
	input: { records: Records; plan: FieldPlan; account: Account },
): Track {
	const { records, plan, account } = input;
	const flows = columnOf(account.account_kg, (m, i) => (m > 0 ? m / records.interval_s[i]! : Number.NaN));
	const usual_kg_s = median(flows) || 0;
	const flag = new Uint8Array(records.n);
	const thresholds = { ...unflagged.track.thresholds };
	unflagged.combines.forEach((described, c) => {
		const name = records.combines[c]!;
		const row_m = plan.combines[name]?.row_m ?? Number.NaN;
		const limit = limits(plan, usual_kg_s, described.outliers.noise, unflagged.track.thresholds.seam_spread_m!, row_m);
		flagRecords(described, records, account, limit, flag);
		for (const [word, value] of Object.entries(limit)) thresholds[`${name}.${word}`] = value;
	});
	return { ...unflagged.track, flag, thresholds };
}
