import { ASSUMED_HEADER_M, type FieldPlan, type Records } from '../../model/index.ts';
import { columnOf, quantileOf } from '../../stats/index.ts';
import type { Path } from './follow-path.ts';

/** Header width of a combine, and the width in use by record: operators enter less where part of the header is used. */
export function headerWidth(
	records: Records,
	path: Path,
	plan: FieldPlan,
): { header_m: number; inUse_m: Float64Array } {
	const planned = plan.combines[records.combines[path.combine]!]?.swath_m ?? Number.NaN;
	const logged: number[] = [];
	for (let k = 0; k < path.n; k++) {
		const w = records.swath_m[path.index[k]!]!;
		if (w > 0) logged.push(w);
	}
	const usual = logged.length > 0 ? quantileOf(logged, 0.9) : planned > 0 ? planned : ASSUMED_HEADER_M;
	// A planned width far above all of the log is of another header; use it only if slightly wider.
	const header_m = planned > usual && planned < 1.1 * usual ? planned : usual;
	const inUse_m = columnOf(path.index, (i) => {
		const w = records.swath_m[i]!;
		return w > 0 && w < 0.95 * header_m ? w : Infinity;
	});
	return { header_m, inUse_m };
}
