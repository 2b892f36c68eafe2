import type { Work } from './drive.ts';
import { type Random, wander } from './random.ts';
import type { CombineScenario, Scenario } from './scenario.ts';

/** A log as the monitor writes it: one value a record; NaN = an empty cell. */
export interface Log {
	time_s: number[];
	x_m: number[];
	y_m: number[];
	flow_kg_s: number[];
	interval_s: number[];
	distance_m: number[];
	moisture_pct: number[];
	header: number[];
	auger: number[];
	speed_m_s: number[];
	heading_rad: number[];
	load: number[];
	/** Truth beside it. */
	clean_kg: number[];
	fault: number[];
	factor: number[];
	/** True sensed mass of the record before any shift by the monitor. */
	true_kg: number[];
}

/** Moisture of the grain at the sensor, from what was cut and when. */
export function moistureAtHeader(work: Work, market_pct: number): Float64Array {
	const out = new Float64Array(work.t_s.length);
	let last = Number.NaN;
	for (let j = 0; j < out.length; j++) {
		const wet = work.cutWet_kg[j]!;
		if (wet > 1e-6) last = 100 - ((100 - market_pct) * work.cutDry_kg[j]!) / wet;
		out[j] = last;
	}
	const first = out.find((m) => !Number.isNaN(m)) ?? market_pct;
	for (let j = 0; j < out.length && Number.isNaN(out[j]!); j++) out[j] = first;
	return out;
}

/** Turns one combine's work into its log. */
export function record(scenario: Scenario, spec: CombineScenario, work: Work, rng: Random): Log {
	const dt = scenario.step_s;
	const every = scenario.stepsPerRecord;
	const steps = work.t_s.length;
	const log: Log = {
		time_s: [],
		x_m: [],
		y_m: [],
		flow_kg_s: [],
		interval_s: [],
		distance_m: [],
		moisture_pct: [],
		header: [],
		auger: [],
		speed_m_s: [],
		heading_rad: [],
		load: [],
		clean_kg: [],
		fault: [],
		factor: [],
		true_kg: [],
	};
	if (steps === 0) return log;

	// The factor in force, step by step: trend, step, curve in flow, slow error.
	const slow = wander(rng.stream('slow'), spec.slow.rel, spec.slow.time_s, dt);
	const start = work.t_s[0]!;
	const middle = (start + work.t_s[steps - 1]!) / 2;
	const totalSensed = work.sensed_kg.reduce((a, b) => a + b, 0);
	const flowing = work.sensed_kg.map((kg) => kg / dt).filter((f) => f > 3);
	const usual = flowing.length > 0 ? flowing.reduce((a, b) => a + b, 0) / flowing.length : 1;
	let run = 0;
	const factor = new Float64Array(steps);
	const read = new Float64Array(steps);
	const white = rng.stream('white');
	const tails = rng.stream('tails');
	const idle = new Float64Array(steps);
	// White noise is that of a record, however long: its worst part is not the mean's. Short ones are noisier still.
	const whiteSd = dt < 1 ? spec.white_rel * 1.5 : spec.white_rel * Math.sqrt(every);
	for (let j = 0; j < steps; j++) {
		const kg = work.sensed_kg[j]!;
		run += kg;
		const flow = kg / dt;
		let k = spec.factor * Math.exp((spec.trend_h * (work.t_s[j]! - middle)) / 3600);
		if (spec.step && run > spec.step.share * totalSensed) k *= 1 + spec.step.rel;
		k /= Math.max(0.3, 1 + spec.curve_per_kg_s * (flow - usual));
		k *= Math.exp(slow());
		factor[j] = k;
		const tail = tails.chance(scenario.log.tails) ? 5 : 1;
		read[j] = Math.max(0, (kg / k) * (1 + tail * white.normal(whiteSd)));
		// Sensors rest at a small flow that they do not show.
		if (read[j]! / dt < 0.08) read[j] = 0;
		idle[j] = read[j] === 0 && scenario.log.idle_kg_s > 0 ? Math.abs(tails.normal(scenario.log.idle_kg_s)) * dt : 0;
	}

	// Moisture: its own way to its own sensor, a mean over some seconds, an offset that wanders a little.
	const header = moistureAtHeader(work, scenario.crop.market_moisture_pct);
	const moist = new Float64Array(steps);
	const slowMoist = wander(rng.stream('moist'), 0.08, 1200, dt);
	const whiteMoist = rng.stream('moistwhite');
	const back = Math.round(spec.moistureDelay_s / dt);
	const keepMoist = Math.exp(-dt / 4);
	let mean = header[0]!;
	for (let j = 0; j < steps; j++) {
		mean = mean * keepMoist + header[Math.max(0, j - back)]! * (1 - keepMoist);
		moist[j] = mean - spec.moistureOffset_pct + slowMoist() + whiteMoist.normal(0.12);
	}

	// Receiver.
	const east = wander(rng.stream('east'), spec.receiver.wander_m, spec.receiver.time_s, dt);
	const north = wander(rng.stream('north'), spec.receiver.wander_m, spec.receiver.time_s, dt);
	const steer = wander(rng.stream('steer'), 0.04, 20, dt);
	const fine = rng.stream('fine');
	const px = new Float64Array(steps);
	const py = new Float64Array(steps);
	for (let j = 0; j < steps; j++) {
		const h = work.heading_rad[j]!;
		const right = spec.receiver.right_m + steer();
		const ahead = -spec.antennaAhead_m;
		px[j] =
			work.x_m[j]! + spec.receiver.east_m + east() + right * Math.sin(h) + ahead * Math.cos(h) + fine.normal(0.01);
		py[j] =
			work.y_m[j]! + spec.receiver.north_m + north() - right * Math.cos(h) + ahead * Math.sin(h) + fine.normal(0.01);
	}

	const auger = augerSignal(scenario, work, rng.stream('auger'));
	const shift = Math.round(spec.shifted_s / dt);
	const trouble = rng.stream('trouble');
	const press = rng.stream('press');
	const first = trouble.whole(every);
	let load = 1;
	let augerBefore = 0;
	let dropLeft = 0;
	for (let from = first; from + every <= steps; from += every) {
		const end = from + every - 1;
		const interval = every * dt;
		let kg = 0;
		let nothing = 0;
		let truly = 0;
		let weighted = 0;
		for (let j = from; j <= end; j++) {
			// A monitor that shifts writes the flow sensed later beside this place.
			const at = j + shift;
			if (at < steps) {
				kg += read[at]!;
				nothing += idle[at]!;
				truly += work.sensed_kg[at]!;
				weighted += work.sensed_kg[at]! / factor[at]!;
			}
		}
		const clean = kg;
		let fault = 0;
		if (dropLeft > 0) {
			dropLeft--;
			if (kg > 0) {
				kg = 0;
				fault = 1;
			}
		} else if (kg / interval > 3 && trouble.chance(scenario.trouble.spikes)) {
			kg *= trouble.between(2.5, 7);
			fault = 1;
		} else if (kg / interval > 3 && trouble.chance(scenario.trouble.dropouts)) {
			kg = 0;
			fault = 1;
			dropLeft = trouble.whole(3);
		}
		kg += nothing;
		let distance = 0;
		for (let j = from; j <= end; j++) distance += work.speed_m_s[j]! * dt;
		distance = Math.max(0, distance * (1 + trouble.normal(0.008)));
		if (work.speed_m_s[end]! < 0.01) distance = 0;
		// Somebody presses for a new load after most unloadings.
		if (work.auger[end] === 0 && augerBefore === 1 && press.chance(0.9)) load++;
		augerBefore = work.auger[end]!;
		let x = px[end]!;
		let y = py[end]!;
		if (trouble.chance(scenario.trouble.jumps)) {
			x += trouble.normal(12);
			y += trouble.normal(12);
		} else if (trouble.chance(scenario.trouble.repeats) && log.x_m.length > 0) {
			x = log.x_m.at(-1)!;
			y = log.y_m.at(-1)!;
		}
		log.time_s.push(work.t_s[end]! + (scenario.log.jitter_s > 0 ? press.normal(scenario.log.jitter_s) : 0));
		log.x_m.push(x);
		log.y_m.push(y);
		log.flow_kg_s.push(kg / interval);
		log.interval_s.push(interval);
		log.distance_m.push(distance);
		log.moisture_pct.push(moist[end]!);
		log.header.push(work.header[end]!);
		log.auger.push(auger[end]!);
		log.speed_m_s.push(work.speed_m_s[end]!);
		log.heading_rad.push(work.heading_rad[end]!);
		log.load.push(load);
		log.clean_kg.push(clean);
		log.fault.push(fault);
		log.factor.push(weighted > 0 ? truly / weighted : factor[end]!);
		log.true_kg.push(truly);
	}
	return log;
}

/** The auger's signal with its faults: whole unloadings missed, short false signals, a switch that sticks. */
function augerSignal(scenario: Scenario, work: Work, rng: Random): Uint8Array {
	const dt = scenario.step_s;
	const { missed, falsePerHour, sticks } = scenario.log.augerFaults;
	const signal = Uint8Array.from(work.auger);
	let j = 0;
	while (j < signal.length) {
		if (signal[j] === 0) {
			if (rng.chance((falsePerHour * dt) / 3600)) {
				const n = Math.round(rng.between(3, 40) / dt);
				for (let i = j; i < Math.min(j + n, signal.length) && work.auger[i] === 0; i++) signal[i] = 1;
				j += n;
			} else j++;
			continue;
		}
		let end = j;
		while (end < signal.length && work.auger[end] === 1) end++;
		if (rng.chance(missed)) signal.fill(0, j, end);
		j = Math.max(end, j + 1);
	}
	for (let i = 0; i < sticks; i++) {
		const from = rng.whole(Math.max(1, signal.length));
		signal.fill(1, from, Math.min(signal.length, from + Math.round(rng.between(120, 420) / dt)));
	}
	return signal;
}
