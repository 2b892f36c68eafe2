import { CART, type Factor, type FieldPlan, type Match, MONITOR, type Records } from '../../model/index.ts';
import { lbFromKg } from '../../units/index.ts';

/** What the advice draws on beside the factor. */
export interface AdviceInput {
	factor: Factor;
	name: string;
	records: Records;
	match: Match;
	plan: FieldPlan;
	/** The common part that no number of dumps makes smaller, expanded, relative. */
	common: number;
	/** Why no flow curve could be told; null where it could. */
	noCurve: string | null;
	/** Indices into match.weighings of this combine alone. */
	weighings: readonly number[];
	/** Moisture of the grain over the combine's records, lowest and highest tenth, percent. */
	moisture_pct: [number, number];
}

/**
 * What to do, in words and numbers. Loads of 3,000 to 6,000 lb over the range of flow: Purdue and Iowa State University
 * extension. About 3 % when well calibrated, again when moisture has moved by about 4 points: Iowa State University, in
 * the farm press, 2015.
 */
export function adviceFor(input: AdviceInput): string[] {
	const { factor, name } = input;
	const out: string[] = [];
	if (factor.source === null) {
		return [`Nothing was weighed that tells the level of combine ${name}: its yields stand as recorded.`];
	}
	const error = 100 * (1 / factor.value - 1);
	const half = 50 * (1 / factor.interval[0] - 1 / factor.interval[1]);
	const low = error < 0 ? 'low' : 'high';
	const shows = `Combine ${name} shows ${Math.abs(error).toFixed(1)} % ${low} (± ${half.toFixed(1)})`;
	if (Math.abs(error) <= half) out.push(`${shows}: no more than the weights can tell. Leave it.`);
	else if (Math.abs(error) <= MONITOR.well_pct) {
		out.push(
			`${shows}: within the ${MONITOR.well_pct} % of a well calibrated monitor (Iowa State University). The map is corrected; ` +
				'the cab may stay as it is.',
		);
	} else {
		out.push(
			`${shows}. Calibrate it by the maker's procedure: monitors differ in what they take (a factor, load points, a ` +
				'curve), and some change past data when calibrated, so export first.',
		);
	}
	if (factor.source === 'seams') {
		out.push(
			`Combine ${name} has no weight of its own: its factor was carried over the seams. Weigh a few of its dumps.`,
		);
	}
	if (Math.abs(error) > half && factor.source === 'dumps') {
		const loads = loadPoints(input);
		if (loads.length > 0) out.push(`Loads to key in (time, monitor, scale): ${loads.join('; ')}.`);
	}
	out.push(...formAdvice(input));
	out.push(howMany(input));
	const [dry, wet] = input.moisture_pct;
	if (wet - dry >= MONITOR.recalibrate_points) {
		out.push(
			`Moisture ran from ${dry.toFixed(0)} to ${wet.toFixed(0)} %: calibrate again when it has moved by about ` +
				`${MONITOR.recalibrate_points} points (Iowa State University), and after a change of variety or header.`,
		);
	}
	// As many loads again as a quick check takes.
	out.push(
		`Look again at dump ${factor.n + CART.checkAfter} of combine ${name}, and after a change of variety, header or moisture.`,
	);
	return out;
}

/** A load this near to the factor holds no rest worth speaking of. */
const CLEAN_LOAD = 0.08;
/** Most loads that are listed for the cab. */
const LISTED = 6;

/** Loads of one weight each, spread over the range of flow as calibration loads should be, in order of time. */
function loadPoints(input: AdviceInput): string[] {
	const { match } = input;
	const own = input.weighings
		.filter((w) => match.weighings[w]!.used && match.weighings[w]!.unloadings.length === 1)
		// A load beside a tank that was not emptied is no load to calibrate by.
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
			const at = Number.isFinite(unloading.end_s) ? clockOf(input.plan, unloading.end_s) : '?';
			return `${at}, ${mass(unloading.account_kg)}, ${mass(match.weighings[w]!.reference_kg)}`;
		});
}

export function clockOf(plan: FieldPlan, time_s: number): string {
	const timeZone = plan.timeZone ?? 'UTC';
	const format = new Intl.DateTimeFormat('en-GB', { timeZone, hour: '2-digit', minute: '2-digit', hour12: false });
	return format.format(new Date(1000 * time_s));
}

/** For the cab: pounds first, kilograms beside, to the ten. */
function mass(kg: number): string {
	const ten = (v: number) => String(10 * Math.round(v / 10));
	return `${ten(lbFromKg(kg))} lb (${ten(kg)} kg)`;
}

function formAdvice(input: AdviceInput): string[] {
	const { factor, name, plan } = input;
	if (factor.form === 'step' && factor.changes.length > 1) {
		const change = factor.changes.at(-1)!;
		const by = 100 * (change.value / factor.changes.at(-2)!.value - 1);
		return [
			`Its factor changed by ${by.toFixed(1)} % at ${clockOf(plan, change.time_s)}: recalibrated, or a ` +
				'sensor moved? Note such things under events.',
		];
	}
	if (factor.form === 'trend' && factor.knots.length > 1) {
		const a = factor.knots[0]!;
		const b = factor.knots.at(-1)!;
		const perHour = (100 * Math.log(b.value / a.value)) / ((b.time_s - a.time_s) / 3600);
		return [
			`Its factor drifted by ${perHour.toFixed(1)} % an hour: look at the sensor plate (wear, build-up), its zero and ` +
				'the elevator chain, and weigh a dump every hour.',
		];
	}
	if (factor.form === 'flow' && factor.curve.length > 1) {
		const a = factor.curve[0]!;
		const b = factor.curve.at(-1)!;
		const slope = (100 * Math.log(b.value / a.value)) / (b.flow_kg_s - a.flow_kg_s);
		return [
			`Its factor moves by ${slope.toFixed(2)} % per kg/s of flow: calibrate with loads of 3,000 to 6,000 lb each at low, ` +
				'middle and high flow (Purdue and Iowa State University extension).',
		];
	}
	if (input.noCurve !== null && factor.n > 0) {
		return [
			`Whether combine ${name} reads differently at low flow cannot be told: ${input.noCurve}. A few neighbouring passes ` +
				'at different speeds would show it.',
		];
	}
	return [];
}

function howMany(input: AdviceInput): string {
	const { factor } = input;
	if (factor.moreDumps === 0) return 'Enough dumps were weighed for ± 1 %.';
	if (Number.isFinite(factor.moreDumps)) {
		return `Weigh ${factor.moreDumps} more dump${factor.moreDumps === 1 ? '' : 's'} for ± 1 %.`;
	}
	return (
		`No number of dumps reaches ± 1 %: the cart's own scale is known to ± ${(100 * input.common).toFixed(1)} % only. ` +
		'Weigh truck loads at a certified scale, three to five.'
	);
}
