import { utmProjection } from '../../geo/utm.ts';
import type { FieldPlan, Records, Zone } from '../../model/index.ts';
import { followPath, type Path } from './follow-path.ts';
import { headerWidth } from './widths.ts';

/** One combine: its track, header and antenna. */
export interface Machine {
	name: string;
	path: Path;
	header_m: number;
	/** Width that the log gives as in use, where less than the header; Infinity elsewhere. In order of the path. */
	inUse_m: Float64Array;
	/** Row spacing; NaN where the header does not take rows. */
	row_m: number;
	/** From the antenna forward to the cutter. */
	ahead_m: number;
	/** True where the user gave the antenna's place. */
	antennaGiven: boolean;
}

/** What a combine's machine is known from. */
interface MachineInput {
	records: Records;
	plan: FieldPlan;
	zone: Zone;
	combine: number;
}

/** One combine's track over the field, in meters of the zone, with its header and antenna. */
export function machineOf({ records, plan, zone, combine }: MachineInput): Machine {
	const { forward } = utmProjection(zone);
	const name = records.combines[combine]!;
	const x_m = new Float64Array(records.n).fill(Number.NaN);
	const y_m = new Float64Array(records.n).fill(Number.NaN);
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== combine) continue;
		[x_m[i], y_m[i]] = forward(records.lon_deg[i]!, records.lat_deg[i]!);
	}
	const path = followPath(records, combine, x_m, y_m);
	const given = plan.combines[name];
	return {
		name,
		path,
		...headerWidth(records, path, plan),
		row_m: given?.row_m ?? Number.NaN,
		ahead_m: given?.header_ahead_m ?? 0,
		antennaGiven: (given?.header_ahead_m ?? null) !== null,
	};
}
