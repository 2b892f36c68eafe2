/** Mechanical flags: why a record is left off the map. Thresholds are learned from the field or set by the user. */
import { type Account, flagCode, MASS_FAULT, type Records } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';
import type { Described } from './describe-records.ts';

/** Share of a record's window that must have been cut. */
const WHOLE = 0.85;
/** Share of a correction for the smear by which it may be off itself, since mixing is not quite of first order. */
const MODEL = 0.2;

export interface Limits {
	/** Records slower than this share of the usual speed are flagged. */
	standing: number;
	/** Turn rate above which the heading is not steady, radians per meter. */
	turning: number;
	/** Largest relative uncertainty of the ground that the smear leaves: at starts, at ends and elsewhere. */
	filling: number;
	emptying: number;
	jolt: number;
	/** Largest difference of a record from its neighbors in the pass, above and below, as a log ratio. */
	surge: number;
	dropout: number;
	/** Flow below this counts as none, kg/s. */
	flowless: number;
	/** Moisture outside these, percent; NaN = it is not looked at. */
	moistureLow: number;
	moisture: number;
	/** A cut narrower than this is not known well enough for a yield, meters. */
	narrow: number;
	recut: number;
}

/** Sets the flags of one combine's records in `flag`, a column of all records. */
export function flagRecords(
	described: Described,
	records: Records,
	account: Account,
	limits: Limits,
	flag: Uint8Array,
): void {
	const { path, moisture_pct } = described;
	// Without a sensor, moisture says nothing of any record.
	const own = moisture_pct.some(Number.isFinite) ? limits : { ...limits, moisture: Number.NaN };
	for (let k = 0; k < path.n; k++) flag[path.index[k]!] = flagOf(k, described, records, account, own);
}

/** The flag of the record at `k` of the combine's path: the first reason that holds, 0 if none does. */
function flagOf(
	k: number,
	{ path, grain, smeared, outliers, moisture_pct, outside, turnRate_rad_m }: Described,
	records: Records,
	account: Account,
	limits: Limits,
): number {
	const i = path.index[k]!;
	const flow = records.flow_kg_s[i]!;
	const span = path.end_s[k]! - path.from_s[k]!;
	if (Number.isNaN(grain.x_m[k]!)) return flagCode.unplaced;
	if (grain.bad[k]) return flagCode.jump;
	if (!(records.interval_s[i]! > 0) || Number.isNaN(flow)) return flagCode.flowless;
	if (!(grain.way_m[k]! > 0)) return flagCode.raised;
	if (span <= 0 || grain.way_m[k]! / span < limits.standing * path.pace_m_s) return flagCode.standing;
	if (account.fault[i] === MASS_FAULT.dropout) return flagCode.dropout;
	if (account.fault[i] === MASS_FAULT.unrecorded) return flagCode.emptying;
	if (account.fault[i]! > 0) return flagCode.surge;
	if (!(flow > limits.flowless)) return flagCode.flowless;
	if (outliers.log[k]! > limits.surge) return flagCode.surge;
	if (Math.abs(turnRate_rad_m[k]!) > limits.turning) return flagCode.turning;
	// Cut partly with the header up or standing: the flow cannot be attributed.
	const off = grain.cutting[k]! < WHOLE ? Infinity : hypotenuse(smeared.u_rel[k]!, MODEL * smeared.share[k]!);
	if (smeared.where[k]! < 0 && off > limits.filling) return flagCode.filling;
	if (smeared.where[k]! > 0 && off > limits.emptying) return flagCode.emptying;
	if (!(off <= limits.jolt)) return flagCode.jolt;
	if (outliers.log[k]! < -limits.dropout) return flagCode.dropout;
	if (outside[k]) return flagCode.outside;
	if (grain.width_m[k]! < limits.recut * grain.header_m[k]!) return flagCode.recut;
	if (grain.width_m[k]! < Math.min(limits.narrow, 0.93 * grain.header_m[k]!)) return flagCode.narrow;
	const m = moisture_pct[k]!;
	const sound = Number.isNaN(limits.moisture) || (m >= limits.moistureLow && m <= limits.moisture);
	return sound ? 0 : flagCode.moisture;
}
