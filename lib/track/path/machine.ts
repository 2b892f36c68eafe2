import type { FieldPlan, Records } from '../../model/index.ts';
import { followPath, type Path } from './motion.ts';
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

/** All combines of a field, in the order of `records.combines`; `x_m`, `y_m` are the records' UTM places. */
export function machinesOf(
	records: Records,
	plan: FieldPlan,
	grid: { x_m: Float64Array; y_m: Float64Array },
): Machine[] {
	return records.combines.map((name, combine) => {
		const path = followPath(records, combine, grid.x_m, grid.y_m);
		const given = plan.combines[name];
		return {
			name,
			path,
			...headerWidth(records, path, plan),
			row_m: given?.row_m ?? Number.NaN,
			ahead_m: given?.header_ahead_m ?? 0,
			antennaGiven: (given?.header_ahead_m ?? null) !== null,
		};
	});
}
