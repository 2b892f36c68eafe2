import { type Field, type Records, type SetAside, wholeFile } from '../../model/index.ts';
import { upperMedian } from '../../stats/index.ts';

/** The largest machines take some 40 kg/s; in pounds read as kilograms that would be 90. */
const MOST_KG_S = 200;
/** No crop has yielded 50 t/ha; feet read as meters, the worst common error, give 65. */
const MOST_KG_HA = 120_000;
const LEAST = 30;
/** A monitor may be off by a unit, not by this. */
const MOST_TIMES = 10;

/** Faults of logs, and of the field's total, beyond what any machine or field can give, whatever unit was confused. */
export function beyond({ records, plan }: Field, faults: SetAside[]): void {
	plan.logs.forEach((log, index) => {
		const column = log.columns?.flow?.column ?? log.columns?.yield?.column ?? 'flow_kg_s';
		const { flow_kg_s, yield_kg_ha } = middles(records, index);
		const report = (found: string, why: string) => faults.push(wholeFile(log.file, found, why, column));
		if (flow_kg_s > MOST_KG_S) {
			report(
				`${Math.round(flow_kg_s)} kg/s (median)`,
				'more grain than any machine takes: check the unit of this column',
			);
		} else if (yield_kg_ha > MOST_KG_HA) {
			report(
				`${Math.round(yield_kg_ha)} kg/ha (median)`,
				'more than any crop has ever yielded: check the units of flow, width, distance and interval',
			);
		}
	});
	const recorded_kg = recorded(records);
	const { total } = plan;
	if (total !== null && recorded_kg > 0 && !(Math.abs(Math.log(total.wet_kg / recorded_kg)) < Math.log(MOST_TIMES))) {
		const why = `the logs hold ${Number(recorded_kg.toPrecision(3))} kg: check the unit of this number; expected kilograms`;
		faults.push(wholeFile('field.json', `${total.wet_kg} kg`, why, 'total.wet_kg'));
	}
}

function recorded(r: Records): number {
	let sum_kg = 0;
	for (let i = 0; i < r.n; i++) {
		const kg = r.flow_kg_s[i]! * r.interval_s[i]!;
		if (kg > 0) sum_kg += kg;
	}
	return sum_kg;
}

function middles(r: Records, log: number): { flow_kg_s: number; yield_kg_ha: number } {
	const flows = new Float64Array(r.n);
	const yields = new Float64Array(r.n);
	let [flowing, cutting] = [0, 0];
	for (let i = 0; i < r.n; i++) {
		if (r.log[i] !== log || !(r.flow_kg_s[i]! > 0)) continue;
		flows[flowing++] = r.flow_kg_s[i]!;
		const area_ha = (r.distance_m[i]! * r.swath_m[i]!) / 1e4;
		if (area_ha > 0) yields[cutting++] = (r.flow_kg_s[i]! * r.interval_s[i]!) / area_ha;
	}
	const middle = (values: Float64Array, n: number) => (n < LEAST ? Number.NaN : upperMedian(values.subarray(0, n)));
	return { flow_kg_s: middle(flows, flowing), yield_kg_ha: middle(yields, cutting) };
}
