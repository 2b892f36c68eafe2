import { CART, type Dump, type Factor, type FieldPlan, isPlausible, type Match, MONITOR } from '../../model/index.ts';
import { FieldClock, formatSigned, massInBoth, POUND_KG, rangeText } from '../../units/index.ts';
import { isByTruck } from '../chain/weights.ts';

/** The factor and what else the advice is based on. */
export interface AdviceInput {
	factor: Factor;
	name: string;
	match: Match;
	plan: FieldPlan;
	/** Dumps of the load book, indexed by `Weighing.dumps`. */
	dumps: readonly Dump[];
	/** Expanded uncertainty that all dumps share, relative. */
	common: number;
	/** Why no flow curve could be estimated; null where it could. */
	noCurve: string | null;
	/** Indices into match.weighings of this combine alone. */
	weighings: readonly number[];
	/** 10th and 90th percentile of moisture over the combine's records, percent. */
	moisture_pct: [number, number];
}

/**
 * Advice on one combine's monitor, in sentences. Loads of 3,000 to 6,000 lb over the range of flow: Purdue and Iowa State University
 * extension. About 3 % when well calibrated, again when moisture has moved by about 4 points: Iowa State University, in
 * the farm press, 2015.
 */
export function adviceFor(input: AdviceInput): string[] {
	const { factor, name } = input;
	const out: string[] = [];
	if (factor.source === null) {
		return [`Combine ${name} has no weights and no seam with a weighed combine. Its yields are as recorded.`];
	}
	const error = 100 * (1 / factor.value - 1);
	const half = halfOf(factor);
	out.push(calibrationAdvice(name, factor));
	if (factor.source === 'seams') {
		out.push(`Weigh a few dumps of ${name}: it has no weight of its own, and its factor comes from the seams.`);
	}
	// Loads that the sensor did not record in full are no calibration loads.
	const full = input.match.under?.saturation?.combine !== factor.combine;
	if (full && Math.abs(error) > half && factor.source === 'dumps' && isPlausible(factor.value)) {
		const loads = loadPoints(input);
		if (loads.length > 0)
			out.push(`To enter on ${name}’s monitor (dump: monitor weight, reference weight): ${loads.join('; ')}.`);
	}
	out.push(...formAdvice(input));
	out.push(howMany(input));
	const [dry, wet] = input.moisture_pct;
	if (wet - dry >= MONITOR.recalibrate_points) {
		out.push(
			`Moisture ran from ${dry.toFixed(0)} to ${wet.toFixed(0)}%. Check the calibration again when it has changed by about ` +
				`${MONITOR.recalibrate_points} points (Iowa State University), and after a change of variety or header.`,
		);
	}
	out.push(
		`Check again after ${CART.checkAfter} more dumps of ${name}, and after a change of variety, header or moisture.`,
	);
	return out;
}

/** Half-width of the monitor's error, percent. */
const halfOf = ({ interval }: Factor): number => 50 * (1 / interval[0] - 1 / interval[1]);

/**
 * Whether to calibrate a monitor, by its factor and interval.
 *
 * @param applied - the factor of the map, where another one was set by hand
 */
export function calibrationAdvice(name: string, factor: Factor, applied: number = factor.value): string {
	const error = 100 * (1 / factor.value - 1);
	const half = halfOf(factor);
	const low = error < 0 ? 'low' : 'high';
	const [from, to] = [100 * (1 / factor.interval[1] - 1), 100 * (1 / factor.interval[0] - 1)];
	const sign = from <= 0 && to >= 0;
	const ends: [number, number] = sign || from > 0 ? [from, to] : [-to, -from];
	const range = `95% interval ${rangeText(ends, 1, { unit: '%', sign })}`;
	if (from <= 0 && to >= 0) {
		return half <= MONITOR.well_pct
			? `No need to recalibrate ${name} on these weights: no error shown, within ±${half.toFixed(1)}% (${range}).`
			: `Weigh more dumps of ${name}: no error shown, but only to ±${half.toFixed(1)}% (${range}).`;
	}
	if (Math.max(Math.abs(from), Math.abs(to)) <= MONITOR.well_pct) {
		return (
			`No need to recalibrate ${name}: it reads ${Math.abs(error).toFixed(1)}% ${low} (${range}), and ${MONITOR.well_pct}% is normal ` +
			'for a well-calibrated monitor (Iowa State University). The map is already corrected.'
		);
	}
	if (!isPlausible(factor.value)) {
		return (
			`Do not calibrate ${name} with these weights: no monitor is off by a factor of ${factor.value.toFixed(3)}. Check the units ` +
			'of the weights and of the log, and which dumps belong to it.'
		);
	}
	return (
		`Calibrate ${name} by the manufacturer’s procedure: it reads ${Math.abs(error).toFixed(1)}% ${low} (${range}). Monitors ` +
		'differ in what they take (a factor, load points, a curve), and some change past data when calibrated: export first. ' +
		`This map is already corrected: records are multiplied by ${applied.toFixed(3)}, and dry yields change with the ` +
		'moisture offset as well.'
	);
}

/** A load whose ratio is this near to the factor, relative, has no notable grain left in the tank before or after. */
const CLEAN_LOAD = 0.08;
/** Most loads listed. */
const LISTED = 6;

/** Lists loads of one dump each, spread over the range of flow as calibration loads should be, in order of time. */
function loadPoints(input: AdviceInput): string[] {
	const { match } = input;
	const own = input.weighings
		.filter((w) => match.weighings[w]!.used && match.weighings[w]!.unloadings.length === 1 && !isByTruck(match, w))
		// A load before or after which grain was left in the tank is not suited for calibration.
		.filter((w) => {
			const account = match.unloadings[match.weighings[w]!.unloadings[0]!]!.account_kg;
			return Math.abs(match.weighings[w]!.reference_kg / account / input.factor.value - 1) < CLEAN_LOAD;
		})
		.map((w) => {
			const unloading = match.unloadings[match.weighings[w]!.unloadings[0]!]!;
			const seconds = unloading.end_s - (match.unloadings[match.weighings[w]!.unloadings[0]! - 1]?.end_s ?? Number.NaN);
			return { w, unloading, flow: unloading.account_kg / seconds };
		})
		.sort((a, b) => (Number.isFinite(a.flow - b.flow) ? a.flow - b.flow : 0));
	const step = Math.max(1, (own.length - 1) / (LISTED - 1));
	const picked = own.length <= LISTED ? own : Array.from({ length: LISTED }, (_, i) => own[Math.round(i * step)]!);
	return picked
		.sort((a, b) => a.unloading.end_s - b.unloading.end_s)
		.map(({ w, unloading }) => {
			const dump = input.dumps[match.weighings[w]!.dumps[0]!]?.id ?? clockOf(input.plan, unloading.end_s);
			return `${dump}: ${massInBoth(unloading.account_kg)}, ${massInBoth(match.weighings[w]!.reference_kg)}`;
		});
}

/** Day and minute in the field's time zone. */
export function clockOf(plan: FieldPlan, time_s: number): string {
	return new FieldClock(plan.timeZone).dayAndMinute(time_s);
}

const signed = (pct: number): string => formatSigned(pct, 1);

function formAdvice(input: AdviceInput): string[] {
	const { factor, name, plan } = input;
	if (factor.form === 'step' && factor.changes.length > 1) {
		const change = factor.changes.at(-1)!;
		const by = 100 * (change.value / factor.changes.at(-2)!.value - 1);
		return [
			`Its factor changed by ${signed(by)}% at ${clockOf(plan, change.time_s)}. Possible causes: it was recalibrated, or a ` +
				'sensor moved. Enter such things as events.',
		];
	}
	if (factor.form === 'trend' && factor.knots.length > 1) {
		const a = factor.knots[0]!;
		const b = factor.knots.at(-1)!;
		const perHour = (100 * Math.log(b.value / a.value)) / ((b.time_s - a.time_s) / 3600);
		return [
			`Check the sensor plate (wear, build-up), its zero and the elevator chain, and weigh a dump every hour: the factor ` +
				`drifted by ${signed(perHour)}% per hour.`,
		];
	}
	if (factor.form === 'flow' && factor.curve.length > 1) {
		const a = factor.curve[0]!;
		const b = factor.curve.at(-1)!;
		const slope = (100 * Math.log(b.value / a.value)) / (b.flow_kg_s - a.flow_kg_s);
		return [
			`Calibrate with dumps of ${massInBoth(3000 * POUND_KG)} to ${massInBoth(6000 * POUND_KG)} at low, middle and high flow (Purdue and Iowa ` +
				`State University extension): the factor changes by ${signed(slope * (b.flow_kg_s - a.flow_kg_s))}% from the lowest to the ` +
				'highest flow.',
		];
	}
	if (input.noCurve !== null && factor.n > 0) {
		return [
			`Not enough data to see whether ${name} reads differently at low flow: ${input.noCurve}. A few neighboring passes at ` +
				'different speeds would show it.',
		];
	}
	return [];
}

function howMany(input: AdviceInput): string {
	const { factor } = input;
	if (factor.moreDumps === 0) return 'The factor is within ±1% (95%); more dumps are not needed for that.';
	if (Number.isFinite(factor.moreDumps)) {
		return `About ${factor.moreDumps} more dump${factor.moreDumps === 1 ? '' : 's'} would bring it within ±1%, if they scatter like these.`;
	}
	return (
		`Get tickets for three to five truckloads: more dumps cannot bring the factor within ±1%, since the cart scale itself ` +
		`is known only to ±${(100 * input.common).toFixed(1)}%.`
	);
}
