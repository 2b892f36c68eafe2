import { utmProjection } from '../../lib/geo/utm.ts';
import { emptyRecords, type FieldPlan, type Records, silent, type Track } from '../../lib/model/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { plainAccount, plainPlan } from '../plain.ts';

const projection = utmProjection({ number: 15, south: false, epsg: 32615 });
export const X0 = 450_000;
export const Y0 = 4_650_000;

/** One straight pass in meters from the plot's corner: driven from (x, from) to (x, to). */
export interface Lane {
	combine?: number;
	x: number;
	from: number;
	to: number;
	speed?: number;
	/** Seconds to wait before it. */
	pause?: number;
	/** Grain that the pass really takes in, as a share of its header; 1 where not said. */
	share?: number;
	/** Seconds to stand at its middle, header down. */
	stand?: number;
	/** Drive along x instead, at y = `x`. */
	crosswise?: boolean;
}

export interface PlotOptions {
	lanes: Lane[];
	width_m?: number;
	step_s?: number;
	lag_s?: number;
	smear_s?: number;
	/** Yield, kg/m² wet, at a place of the plot. */
	yieldAt?: (x: number, y: number) => number;
	/** What a receiver adds to the true place of combine c heading (ux, uy) at time t. */
	receiver?: (c: number, t: number, ux: number, uy: number) => [number, number];
	header?: boolean;
	/** Changes records after they are made. */
	spoil?: (records: Records) => void;
	combines?: FieldPlan['combines'];
	flags?: Record<string, number>;
}

interface Step {
	c: number;
	t: number;
	x: number;
	y: number;
	ux: number;
	uy: number;
	down: number;
	kg_s: number;
}

const FINE_S = 0.1;

/** Records of combines that drive lanes one after the other, with turns of 24 s and the header up between them. */
export function plotRecords(options: PlotOptions): Records {
	const { width_m = 9, step_s = 1, lag_s = 9, smear_s = 2 } = options;
	const yieldAt = options.yieldAt ?? (() => 0.9);
	const steps: Step[][] = [];
	for (const lane of options.lanes) {
		const c = lane.combine ?? 0;
		const list = (steps[c] ??= []);
		const speed = lane.speed ?? 2;
		const sign = Math.sign(lane.to - lane.from);
		const [ux, uy] = lane.crosswise ? [sign, 0] : [0, sign];
		const place = (s: number): [number, number] => (lane.crosswise ? [s, lane.x] : [lane.x, s]);
		const [x0, y0] = place(lane.from);
		const last = list.at(-1);
		let t = last?.t ?? 0;
		const turn_s = last ? 24 + (lane.pause ?? 0) : 0;
		for (let q = 1; last && q * FINE_S <= turn_s; q++) {
			t += FINE_S;
			const f = (q * FINE_S) / turn_s;
			const bow = 12 * Math.sin(f * Math.PI);
			list.push({
				...last,
				t,
				x: last.x + f * (x0 - last.x) + bow * last.ux,
				y: last.y + f * (y0 - last.y) + bow * last.uy,
				down: 0,
				kg_s: 0,
			});
		}
		const count = Math.round(Math.abs(lane.to - lane.from) / (speed * FINE_S));
		for (let q = 0; q < count; q++) {
			t += FINE_S;
			const [x, y] = place(lane.from + sign * (q + 1) * speed * FINE_S);
			list.push({ c, t, x, y, ux, uy, down: 1, kg_s: yieldAt(x, y) * width_m * (lane.share ?? 1) * speed });
			if (q !== count >> 1) continue;
			for (let w = 0; w * FINE_S < (lane.stand ?? 0); w++) {
				t += FINE_S;
				list.push({ ...list.at(-1)!, t, kg_s: 0 });
			}
		}
		// The pass's grain runs out.
		for (let q = 0; q < 300 && lane === options.lanes.filter((l) => (l.combine ?? 0) === c).at(-1); q++) {
			t += FINE_S;
			const end = list.at(-1)!;
			list.push({ ...end, t, x: end.x + end.ux * 0.1, y: end.y + end.uy * 0.1, down: 0, kg_s: 0 });
		}
	}
	const rows: { step: Step; flow: number }[] = [];
	for (const list of steps) {
		const delay = Math.round((lag_s - smear_s) / FINE_S);
		const keep = smear_s > 0 ? Math.exp(-FINE_S / smear_s) : 0;
		const flow: number[] = [];
		let held = 0;
		for (let i = 0; i < list.length; i++) {
			held = keep * held + (1 - keep) * (list[i - delay]?.kg_s ?? 0);
			flow.push(held);
		}
		const per = Math.round(step_s / FINE_S);
		for (let i = per - 1; i < list.length; i += per) {
			const mean = flow.slice(i - per + 1, i + 1).reduce((s, v) => s + v, 0) / per;
			rows.push({ step: list[i]!, flow: mean });
		}
	}
	const records = emptyRecords(rows.length);
	records.combines = steps.map((_, c) => 'ABC'[c]!);
	rows.forEach(({ step, flow }, i) => {
		const [ex, ey] = options.receiver?.(step.c, step.t, step.ux, step.uy) ?? [0, 0];
		const [lon, lat] = projection.inverse(X0 + step.x + ex, Y0 + step.y + ey);
		records.combine[i] = step.c;
		records.time_s[i] = 1.6e9 + step.t;
		records.lon_deg[i] = lon;
		records.lat_deg[i] = lat;
		records.flow_kg_s[i] = flow;
		records.interval_s[i] = step_s;
		records.swath_m[i] = width_m;
		records.moisture_pct[i] = 18;
		if (options.header !== false) records.headerDown[i] = step.down;
		records.line[i] = i + 2;
	});
	options.spoil?.(records);
	return records;
}

export function trackPlot(options: PlotOptions): { records: Records; track: Track } {
	const records = plotRecords(options);
	const track = trackField(
		{
			records,
			plan: plainPlan({ combines: options.combines ?? {}, flags: options.flags ?? {} }),
			boundary: null,
			varieties: null,
			account: plainAccount(records),
		},
		silent,
	);
	return { records, track };
}

/** Passes up and down side by side, `spacing_m` apart. */
export function upAndDown(count: number, spacing_m: number, length_m = 300): Lane[] {
	return Array.from({ length: count }, (_, k) => ({
		x: k * spacing_m,
		from: k % 2 === 0 ? 0 : length_m,
		to: k % 2 === 0 ? length_m : 0,
	}));
}

/** Grid m² → ground m² at the plot. */
export const GROUND = 1 / projection.scale(X0, Y0) ** 2;
