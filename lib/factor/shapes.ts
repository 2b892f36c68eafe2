import type { Account, FieldPlan, Match, Records } from '../model/index.ts';
import { quantile } from '../stats/index.ts';
import { type Choice, chooseForm } from './choose.ts';
import type { FlowSlope } from './flow.ts';
import type { Timeline } from './segments.ts';
import { bestStep, type Series } from './series.ts';
import { CONSTANT, type Shape } from './shape.ts';
import { TAU_LONG_S } from './slow.ts';
import { type System, slowCovariance } from './system.ts';

/** Weights that cover one combine alone, in order of time. */
export function seriesOf(system: System, time: Timeline, match: Match, combine: number): Series {
	const rows = system.weighings
		.map((w, i) => ({ w, i }))
		.filter(({ w }) => w.kind === 'dump' || w.kind === 'ticket')
		.filter(({ w }) => w.unloadings.length > 0 && w.unloadings.every((u) => match.unloadings[u]!.combine === combine))
		.map(({ i }) => {
			const segments = system.covers[i]!.map((s) => time.segments[s]!);
			const mass = segments.reduce((sum, s) => sum + s.account_kg, 0);
			const moment = segments.reduce((sum, s) => sum + s.account_kg * s.time_s, 0);
			return { i, mass, time: moment / mass, start: Math.min(...segments.map((s) => s.start_s)) };
		})
		.filter((r) => r.mass > 0)
		.sort((a, b) => a.time - b.time);
	return {
		n: rows.length,
		row: rows.map((r) => r.i),
		ratio: Float64Array.from(rows, (r) => system.y[r.i]! / r.mass),
		account_kg: Float64Array.from(rows, (r) => r.mass),
		time_s: Float64Array.from(rows, (r) => r.time),
		start_s: Float64Array.from(rows, (r) => r.start),
	};
}

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
	sigma: number;
	rests: number;
}

/** Chooses the form of one combine's factor and sets its bases up. */
export function shapeOf(input: ShapeInput, combine: number): { shape: Shape; choice: Choice; series: Series } {
	const { records, match, plan, time, system, slope } = input;
	const series = seriesOf(system, time, match, combine);
	const name = records.combines[combine]!;
	const known = plan.events
		.filter((e) => (e.combine === null || e.combine === name) && ['calibrated', 'header', 'variety'].includes(e.kind))
		.map((e) => e.time_s)
		.sort((a, b) => a - b);
	const events = known.map((t) => {
		let first = series.n;
		for (let i = series.n - 1; i >= 0; i--) if (series.time_s[i]! > t) first = i;
		return first;
	});
	const choice = chooseForm(series, nullCovariance(input, series), slope, events, 1 + combine);
	const pinned = plan.pins.factors?.[name]?.form;
	if (pinned) choice.form = pinned;
	if (pinned === 'step') choice.event = known.length > 0 ? 0 : -1;
	return { shape: build(input, combine, series, choice, known), choice, series };
}

/** Covariance of a combine's weights in a constant field with slow errors of the worst kind. */
function nullCovariance(input: ShapeInput, series: Series): Float64Array {
	const { system, time, rough } = input;
	const n = series.n;
	const N = system.weighings.length;
	const V = new Float64Array(n * n);
	for (let a = 0; a < n; a++) {
		for (let b = 0; b < n; b++) {
			const i = series.row[a]!;
			const j = series.row[b]!;
			V[a * n + b] =
				system.reading[i * N + j]! +
				input.rests * system.rest[i * N + j]! +
				input.sigma ** 2 * slowCovariance(time.segments, system.covers[i]!, system.covers[j]!, rough, TAU_LONG_S) +
				(a === b ? 25 : 0);
		}
	}
	return V;
}

function build(input: ShapeInput, combine: number, series: Series, choice: Choice, events: readonly number[]): Shape {
	if (choice.form === 'step') {
		const at =
			choice.event >= 0 ? events[choice.event]! : series.n > 2 ? bestStep(series, within(input, series)) : null;
		if (at !== null) return { ...CONSTANT, form: 'step', changes_s: [at] };
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

/** Times at the account-mass tenths of each fill of a series. */
function within(input: ShapeInput, series: Series): Float64Array[] {
	const { records, account, time, system } = input;
	return series.row.map((row) => {
		const out = new Float64Array(11).fill(Number.NaN);
		const segments = system.covers[row]!.map((s) => time.segments[s]!);
		const total = segments.reduce((sum, s) => sum + s.account_kg, 0);
		let sum = 0;
		let next = 0;
		for (const s of segments) {
			for (let k = s.from; k < s.to; k++) {
				const i = time.orders[s.combine]![k]!;
				while (next < 11 && sum >= (next / 10) * total * (1 - 1e-12)) out[next++] = records.time_s[i]!;
				sum += account.account_kg[i]!;
			}
		}
		const end = segments.at(-1)!.end_s;
		while (next < 11) out[next++] = end;
		return out;
	});
}
