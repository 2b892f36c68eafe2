import { describe, expect, it } from 'vitest';
import { plainPlan } from '../plain.ts';
import { trackPlot, upAndDown } from './plot.ts';

/** Waves across and along the plot, strong enough to be told from 3 % of noise. */
const crop = (x: number, y: number) =>
	0.9 *
	(1 +
		0.07 * Math.sin(x / 31 + y / 19) +
		0.08 * Math.sin(y / 37 - x / 53) +
		0.05 * Math.sin(y / 11 + x / 90) +
		0.05 * Math.cos(x / 17 - y / 61));

function noisy(seed: number): (records: { n: number; flow_kg_s: Float64Array }) => void {
	return (records) => {
		let s = seed;
		for (let i = 0; i < records.n; i++) {
			// Park and Miller's generator: any fixed noise will do.
			s = (s * 48_271) % 2_147_483_647;
			records.flow_kg_s[i]! *= 1 + 0.1 * (s / 2_147_483_647 - 0.5);
		}
	};
}

describe('lag', () => {
	it.each([
		[9, 1, true],
		[13.4, 1, true],
		[9, 3, true],
		[10, 5, true],
		[8, 0.2, true],
		[9, 1, false],
		// The log's own shift has taken it out, or too much of it.
		[0, 1, true],
		[-3, 1, true],
	])('of %s s is found within 0.6 s at one record in %s s (header column: %s)', (lag_s, step_s, header) => {
		const { track } = trackPlot({
			lanes: upAndDown(14, 9, 360),
			yieldAt: crop,
			lag_s,
			step_s,
			header,
			spoil: noisy(11),
		});
		const lag = track.lags[0]!;
		expect(lag.source).toBe('estimated');
		expect(Math.abs(lag.lag_s - lag_s)).toBeLessThan(0.6);
		expect(lag.u_s).toBeGreaterThan(0.05);
		expect(lag.u_s).toBeLessThan(1);
	});

	it('is found for combines that never lie beside themselves', () => {
		const lanes = upAndDown(16, 9, 360).map((l, k) => ({ ...l, combine: k % 2 }));
		const { track } = trackPlot({ lanes, yieldAt: crop, lag_s: 11, spoil: noisy(5) });
		for (const lag of track.lags) expect(Math.abs(lag.lag_s - 11)).toBeLessThan(0.6);
	});

	it('stands spikes, stops and silence of the sensor', () => {
		const { track } = trackPlot({
			lanes: upAndDown(14, 9, 360),
			yieldAt: crop,
			lag_s: 12,
			spoil: (records) => {
				noisy(3)(records);
				for (let i = 0; i < records.n; i += 61) records.flow_kg_s[i]! *= 4;
				for (let i = 30; i < records.n; i += 83) records.flow_kg_s[i] = 0;
				for (let i = 50; i < records.n; i += 97) records.flow_kg_s[i] = Number.NaN;
			},
		});
		expect(Math.abs(track.lags[0]!.lag_s - 12)).toBeLessThan(0.8);
	});

	it('takes the antenna where field.json has it: told, the lag is that of the grain; not told, the effective one', () => {
		// The antenna sits 4 m behind the cutter; the machine drives 2 m/s.
		const behind = (_c: number, _t: number, ux: number, uy: number): [number, number] => [-4 * ux, -4 * uy];
		const plot = { lanes: upAndDown(14, 9, 360), yieldAt: crop, lag_s: 11, receiver: behind, spoil: noisy(7) };
		const told = trackPlot({
			...plot,
			combines: { A: { swath_m: 9, row_m: null, tank_kg: null, header_ahead_m: 4, display_total: null } },
		}).track;
		const silent = trackPlot(plot).track;
		expect(Math.abs(told.lags[0]!.lag_s - 11)).toBeLessThan(0.6);
		expect(Math.abs(silent.lags[0]!.lag_s - 9)).toBeLessThan(0.8);
		// Both lay the grain on the same ground.
		const at = told.passes[3]!.records[60]!;
		expect(Math.abs(told.cutY_m[at]! - silent.cutY_m[at]!)).toBeLessThan(1.5);
	});

	it('is assumed, and said to be, where nothing tells it; and is what the user has pinned', () => {
		const lone = trackPlot({ lanes: [{ x: 0, from: 0, to: 60 }], header: false }).track;
		expect(lone.lags[0]!.source).toBe('assumed');
		expect(lone.lags[0]!.u_s).toBeGreaterThan(2);
		expect(plainPlan().pins.lags).toBeUndefined();
	});
});

describe('place', () => {
	it('is the middle of the ground half a record behind its end, the lag applied', () => {
		const { records, track } = trackPlot({ lanes: upAndDown(14, 9, 360), yieldAt: crop, lag_s: 9, spoil: noisy(2) });
		const lag = track.lags[0]!.lag_s;
		const pass = track.passes[4]!;
		const i = pass.records[80]!;
		// It drives north at 2 m/s: the record's own place is lag + half an interval ahead.
		expect(Math.sin(pass.heading_rad)).toBeCloseTo(0, 1);
		expect(Math.cos(pass.heading_rad)).toBeGreaterThan(0.99);
		expect(track.y_m[i]! - track.cutY_m[i]!).toBeCloseTo(2 * (lag + records.interval_s[i]! / 2), 1);
		expect(track.pass[i]).toBe(pass.id);
		// Corners: rear-left, front-left, front-right, rear-right.
		const c = track.corners_m.subarray(8 * i, 8 * i + 8);
		expect(c[2]! - c[4]!).toBeCloseTo(-9, 1);
		expect(c[3]! - c[1]!).toBeCloseTo(2, 1);
		expect(track.width_m[i]).toBeCloseTo(9, 1);
	});
});
