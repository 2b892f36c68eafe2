/** Mechanical flags: why a record is kept out of the map. Thresholds come from the field and may be overruled. */
import { type Account, flagCode, type Records } from '../../model/index.ts';
import type { Grain } from '../ground/grain.ts';
import type { Path } from '../path/motion.ts';
import type { Odd } from './odd.ts';

/** Share of a record's window that must have been cut. */
const WHOLE = 0.85;

export interface Limits {
	/** Slower than this share of the usual speed is crawling. */
	standing: number;
	/** Turn rate over which there is no steady heading, radians a meter. */
	turning: number;
	/** Grain from other ground in a record through the smear, share: at starts, ends and elsewhere. */
	filling: number;
	emptying: number;
	jolt: number;
	/** A record that differs from its neighbors in the pass by more than this, as a log ratio. */
	surge: number;
	dropout: number;
	/** Flow below this, kg/s, is none. */
	flowless: number;
	/** Moisture outside these, percent. */
	moistureLow: number;
	moisture: number;
	/** A part of the header narrower than this, meters: its width is not known well enough for a yield. */
	narrow: number;
	recut: number;
}

/**
 * @param blend - share by which the smear makes each record's flow differ from its own ground's: see `smearBlend`
 * @param outside - 1 where the middle of the ground lies outside the boundary
 */
export function flagRecords(
	records: Records,
	path: Path,
	grain: Grain,
	account: Account,
	blend: { share: Float64Array; where: Int8Array },
	odd: Odd,
	moisture_pct: Float64Array,
	outside: Uint8Array,
	bend: Float64Array,
	limits: Limits,
	flag: Uint8Array,
): void {
	const slow = limits.standing * path.pace_m_s;
	for (let k = 0; k < path.n; k++) {
		const i = path.index[k]!;
		const flow = records.flow_kg_s[i]!;
		const span = path.end_s[k]! - path.from_s[k]!;
		const speed = span > 0 ? grain.way_m[k]! / span : 0;
		const code = (() => {
			if (Number.isNaN(grain.x_m[k]!)) return flagCode.unplaced;
			if (grain.bad[k]) return flagCode.jump;
			if (!(records.interval_s[i]! > 0) || Number.isNaN(flow)) return flagCode.flowless;
			if (!(grain.way_m[k]! > 0)) return flagCode.raised;
			if (span <= 0 || speed < slow) return flagCode.standing;
			if (account.fault[i] === 3) return flagCode.dropout;
			if (account.fault[i]! > 0) return flagCode.surge;
			if (!(flow > limits.flowless)) return flagCode.flowless;
			if (odd.log[k]! > limits.surge) return flagCode.surge;
			if (Math.abs(bend[k]!) > limits.turning) return flagCode.turning;
			// Partly cut with the header up, or standing: the flow cannot be told apart.
			const share = grain.cutting[k]! < WHOLE ? Number.POSITIVE_INFINITY : Math.abs(blend.share[k]!);
			if (blend.where[k]! < 0 && share > limits.filling) return flagCode.filling;
			if (blend.where[k]! > 0 && share > limits.emptying) return flagCode.emptying;
			if (!(share <= limits.jolt)) return flagCode.jolt;
			if (odd.log[k]! < -limits.dropout) return flagCode.dropout;
			if (outside[k]) return flagCode.outside;
			if (grain.width_m[k]! < limits.recut * grain.header_m[k]!) return flagCode.recut;
			if (grain.width_m[k]! < Math.min(limits.narrow, 0.93 * grain.header_m[k]!)) return flagCode.narrow;
			const m = moisture_pct[k]!;
			if (!(m >= limits.moistureLow && m <= limits.moisture)) return flagCode.moisture;
			return 0;
		})();
		flag[i] = code;
	}
}
