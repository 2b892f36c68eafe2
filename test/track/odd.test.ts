import { describe, expect, it } from 'vitest';
import { emptyRecords, FLAGS, type Records, silent } from '../../lib/model/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { plainAccount, plainPlan } from '../plain.ts';
import { plotRecords, trackPlot, upAndDown } from './plot.ts';

const run = (records: Records) =>
	trackField({ records, plan: plainPlan(), boundary: null, varieties: null, account: plainAccount(records) }, silent);

describe('odd logs', () => {
	it('of no records, one record, no position at all, or a combine that never drove', () => {
		const none = emptyRecords(0);
		expect(run(none).areas.cut_m2).toBe(0);
		const one = emptyRecords(1);
		one.combines = ['A', 'B'];
		one.time_s[0] = 1.6e9;
		one.lat_deg[0] = 42;
		one.lon_deg[0] = -93;
		one.flow_kg_s[0] = 5;
		one.interval_s[0] = 1;
		const track = run(one);
		expect(track.lags.map((l) => l.source)).toEqual(['assumed', 'assumed']);
		expect(track.flag[0]).not.toBe(0);
		expect(track.remarks?.some((r) => r.level === 'caution' && r.text.includes('assumed'))).toBe(true);
		const lost = plotRecords({ lanes: upAndDown(3, 9) });
		lost.lat_deg.fill(Number.NaN);
		expect(run(lost).flag.every((f) => FLAGS[f] === 'unplaced')).toBe(true);
	});

	it('with stamps in whole seconds at five a second lose no ground', () => {
		const lanes = upAndDown(8, 9);
		const exact = trackPlot({ lanes, step_s: 0.2 }).track;
		const rounded = trackPlot({
			lanes,
			step_s: 0.2,
			spoil: (r) => {
				for (let i = 0; i < r.n; i++) r.time_s[i] = Math.floor(r.time_s[i]!);
			},
		}).track;
		expect(Math.abs(rounded.areas.cut_m2 / exact.areas.cut_m2 - 1)).toBeLessThan(0.01);
		const sum = rounded.area_m2.reduce((s, a) => s + a, 0);
		expect(Math.abs(sum / exact.areas.cut_m2 - 1)).toBeLessThan(0.01);
	});

	it('with stamps that jitter keep the area of each record', () => {
		const lanes = upAndDown(8, 9);
		let s = 17;
		const { track } = trackPlot({
			lanes,
			spoil: (r) => {
				for (let i = 0; i < r.n; i++) {
					s = (s * 48_271) % 2_147_483_647;
					r.time_s[i]! += 0.12 * (s / 2_147_483_647 - 0.5);
				}
			},
		});
		const kept = Array.from(track.area_m2).filter((_, i) => track.flag[i] === 0);
		const mean = kept.reduce((a, b) => a + b, 0) / kept.length;
		const spread = Math.sqrt(kept.reduce((a, b) => a + (b - mean) ** 2, 0) / kept.length);
		expect(spread / mean).toBeLessThan(0.03);
		expect(Math.abs(track.area_m2.reduce((a, b) => a + b, 0) / track.areas.cut_m2 - 1)).toBeLessThan(0.005);
	});

	it('that step back in time or stand twice with one time keep every record', () => {
		const records = plotRecords({ lanes: upAndDown(6, 9) });
		const swap = (a: Float64Array, i: number) => {
			[a[i], a[i + 1]] = [a[i + 1]!, a[i]!];
		};
		for (const a of [records.time_s, records.lat_deg, records.lon_deg, records.flow_kg_s]) swap(a, 400);
		records.time_s[700] = records.time_s[699]!;
		const track = run(records);
		expect(track.area_m2.length).toBe(records.n);
		// Two records side by side, put right by their times.
		expect(track.cutX_m[400]).toBeCloseTo(track.cutX_m[401]!, 0);
		const whole = run(plotRecords({ lanes: upAndDown(6, 9) })).areas.cut_m2;
		expect(Math.abs(track.areas.cut_m2 / whole - 1)).toBeLessThan(0.003);
	});

	it('that stop over night and go on next morning are one field', () => {
		const { track } = trackPlot({ lanes: upAndDown(8, 9).map((l, k) => (k === 4 ? { ...l, pause: 40_000 } : l)) });
		expect(Math.abs(track.areas.cut_m2 / trackPlot({ lanes: upAndDown(8, 9) }).track.areas.cut_m2 - 1)).toBeLessThan(
			0.003,
		);
	});
});
