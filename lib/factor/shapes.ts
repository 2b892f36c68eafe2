import type { Account, FieldPlan, Match, Records } from '../model/index.ts';
import { quantile } from '../stats/index.ts';
import { type Choice, chooseForm } from './choose.ts';
import type { FlowSlope } from './flow.ts';
import type { Segment, Timeline } from './segments.ts';
import type { Series } from './series.ts';
import { CONSTANT, type Shape } from './shape.ts';
import { TAU_LONG_S, TAU_S } from './slow.ts';
import { type System, slowCovariance } from './system.ts';

/** What is needed to choose the shape of one combine's factor. */
export interface ShapeInput {
	records: Records;
	account: Account;
	match: Match;
	plan: FieldPlan;
	time: Timeline;
	/** Built with constant shapes. */
	system: System;
	flow: Float64Array;
	slope: FlowSlope;
	rough: readonly number[];
	/** Size of the slow error that all scatter about constants would make, and of the rests. */
	sigma: number;
	rests: number;
}

/** Chooses the form of one combine's factor and sets its bases up. */
export function shapeOf(input: ShapeInput, combine: number): { shape: Shape; choice: Choice } {
	const { records, plan, slope } = input;
	const series = seriesOf(input, combine);
	const name = records.combines[combine]!;
	const events = plan.events
		.filter((e) => (e.combine === null || e.combine === name) && ['calibrated', 'header', 'variety'].includes(e.kind))
		.map((e) => e.time_s)
		.sort((a, b) => a - b);
	const V = covariance(input, series, Math.min(input.sigma, USED_SIGMA), TAU_S);
	const nullV = covariance(input, series, NULL_SIGMA, TAU_LONG_S);
	const choice = chooseForm(series, V, nullV, slope, events, 1 + combine);
	const pinned = plan.pins.factors?.[name]?.form;
	if (pinned) {
		choice.form = pinned;
		if (pinned === 'step' && !Number.isFinite(choice.change_s)) {
			choice.change_s = events[0] ?? series.moments_s[Math.floor(series.moments_s.length / 2)] ?? Number.NaN;
		}
	}
	return { shape: build(input, combine, series, choice), choice };
}

/** Slow errors as they are reckoned with in the prediction, and as large as the null holds: about a per cent. */
const USED_SIGMA = 0.01;
const NULL_SIGMA = 0.011;

/** A step may fall at each of so many parts of a fill. */
const PARTS = 4;

/** Weights that cover one combine alone, in order of time. */
function seriesOf(input: ShapeInput, combine: number): Series {
	const { system, time, match, records, account } = input;
	const rows = system.weighings
		.map((w, i) => ({ w, i }))
		.filter(({ w }) => w.kind === 'dump' || w.kind === 'ticket')
		.filter(({ w }) => w.unloadings.length > 0 && w.unloadings.every((u) => match.unloadings[u]!.combine === combine))
		.map(({ i }) => {
			const segments = system.covers[i]!.map((s) => time.segments[s]!);
			const mass = segments.reduce((sum, s) => sum + s.account_kg, 0);
			const moment = segments.reduce((sum, s) => sum + s.account_kg * s.time_s, 0);
			return { i, mass, time: moment / mass, segments };
		})
		.filter((r) => r.mass > 0)
		.sort((a, b) => a.time - b.time);
	const n = rows.length;
	const moments: { at: number; fill: number; after: Float64Array }[] = [];
	rows.forEach((r, f) => {
		let sum = 0;
		let next = 0;
		for (const s of r.segments) {
			for (let k = s.from; k < s.to && next < PARTS; k++) {
				const i = time.orders[s.combine]![k]!;
				while (next < PARTS && sum >= (next / PARTS) * r.mass) {
					const left = r.mass - sum;
					const after = Float64Array.from(rows, (q, j) => (j < f ? 0 : j > f ? q.mass : left));
					moments.push({ at: records.time_s[i]! - records.interval_s[i]!, fill: f, after });
					next++;
				}
				sum += account.account_kg[i]!;
			}
		}
	});
	const flow_kg = flowMass(input, rows);
	return {
		n,
		flow_kg,
		row: rows.map((r) => r.i),
		y: Float64Array.from(rows, (r) => system.y[r.i]!),
		account_kg: Float64Array.from(rows, (r) => r.mass),
		time_s: Float64Array.from(rows, (r) => r.time),
		moments_s: Float64Array.from(moments, (m) => m.at),
		after_kg: moments.map((m) => m.after),
		fill: Int32Array.from(moments, (m) => m.fill),
	};
}

/** Account mass × (flow − the weighed grain's mean flow) over each weight. */
function flowMass(input: ShapeInput, rows: readonly { mass: number; segments: readonly Segment[] }[]): Float64Array {
	const { time, account, flow } = input;
	const moment = rows.map((r) => {
		let sum = 0;
		for (const s of r.segments) {
			for (let k = s.from; k < s.to; k++) {
				const i = time.orders[s.combine]![k]!;
				if (account.account_kg[i]! > 0 && flow[i]! > 0) sum += account.account_kg[i]! * flow[i]!;
			}
		}
		return sum;
	});
	const mass = rows.reduce((sum, r) => sum + r.mass, 0);
	const mean = moment.reduce((a, b) => a + b, 0) / (mass || 1);
	return Float64Array.from(rows, (r, i) => moment[i]! - mean * r.mass);
}

/** Covariance of a combine's weights in a constant field. */
function covariance(input: ShapeInput, series: Series, sigma: number, tau_s: number): Float64Array {
	const { system, time, rough } = input;
	const n = series.n;
	const N = system.weighings.length;
	const V = new Float64Array(n * n);
	for (let a = 0; a < n; a++) {
		for (let b = 0; b <= a; b++) {
			const i = series.row[a]!;
			const j = series.row[b]!;
			const slow = slowCovariance(time.segments, system.covers[i]!, system.covers[j]!, rough, tau_s);
			const v = system.reading[i * N + j]! + input.rests * system.rest[i * N + j]! + sigma ** 2 * slow;
			V[a * n + b] = v + (a === b ? system.own[i]! : 0);
			V[b * n + a] = V[a * n + b]!;
		}
	}
	return V;
}

function build(input: ShapeInput, combine: number, series: Series, choice: Choice): Shape {
	if (choice.form === 'step' && Number.isFinite(choice.change_s)) {
		return { ...CONSTANT, form: 'step', changes_s: [choice.change_s] };
	}
	if (choice.form === 'trend' && series.n > 1) {
		const segments = series.row.flatMap((i) => input.system.covers[i]!).map((s) => input.time.segments[s]!);
		const start = Math.min(...segments.map((s) => s.start_s));
		const end = Math.max(...segments.map((s) => s.end_s));
		return { ...CONSTANT, form: 'trend', middle_s: (start + end) / 2, half_s: Math.max(1, (end - start) / 2) };
	}
	if (choice.form === 'flow') {
		const { account, flow, time } = input;
		let mass = 0;
		let moment = 0;
		const flows: number[] = [];
		for (const i of time.orders[combine]!) {
			const m = account.account_kg[i]!;
			if (!(m > 0) || !(flow[i]! > 0)) continue;
			mass += m;
			moment += m * flow[i]!;
			flows.push(flow[i]!);
		}
		const sorted = Float64Array.from(flows).sort();
		const range: [number, number] = [quantile(sorted, 0.02), quantile(sorted, 0.98)];
		return { ...CONSTANT, form: 'flow', flow_kg_s: moment / mass, flowRange_kg_s: range };
	}
	return CONSTANT;
}
