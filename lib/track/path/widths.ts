import type { FieldPlan, Records } from '../../model/index.ts';
import { quantile } from '../../stats/median.ts';
import type { Path } from './motion.ts';

/** Header width of a combine, and by record what the log claims of it: operators set less where a part is used. */
export function headerWidth(
	records: Records,
	path: Path,
	plan: FieldPlan,
): { header_m: number; claimed_m: Float64Array } {
	const planned = plan.combines[records.combines[path.combine]!]?.swath_m ?? Number.NaN;
	const claims: number[] = [];
	for (let k = 0; k < path.n; k++) {
		const w = records.swath_m[path.index[k]!]!;
		if (w > 0) claims.push(w);
	}
	const usual =
		claims.length > 0
			? quantile(
					claims.sort((a, b) => a - b),
					0.9,
				)
			: planned > 0
				? planned
				: 6;
	// A plan that says more than the log ever does is of another header; one that says a little more is not.
	const header_m = planned > usual && planned < 1.1 * usual ? planned : usual;
	const claimed_m = Float64Array.from(path.index, (i) => {
		const w = records.swath_m[i]!;
		return w > 0 && w < 0.95 * header_m ? w : Number.POSITIVE_INFINITY;
	});
	return { header_m, claimed_m };
}
