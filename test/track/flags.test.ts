import { describe, expect, it } from 'vitest';
import { FLAGS, type Flag, type Records, silent } from '../../lib/model/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { plainAccount, plainPlan } from '../plain.ts';
import { plotRecords, trackPlot, upAndDown } from './plot.ts';

const lanes = upAndDown(12, 9);
const flagOf = (track: { flag: Uint8Array }, i: number): Flag => FLAGS[track.flag[i]!]!;
/** Records of the middle of pass 5, found by the header and the time. */
function middleOf(records: Records, lane: number): number {
	let seen = -1;
	for (let i = 0; i < records.n; i++) {
		if (records.headerDown[i] === 1 && (i === 0 || records.headerDown[i - 1] !== 1)) seen++;
		if (seen === lane) return i + 75;
	}
	throw new Error('no such pass');
}

describe('flags', () => {
	it('leave the middles of plain passes alone and take ramps, turns and what comes before the log', () => {
		const { track, records } = trackPlot({ lanes, lag_s: 9, smear_s: 2 });
		const m = middleOf(records, 5);
		for (let i = m - 40; i < m + 40; i++) expect(flagOf(track, i)).toBe('');
		expect(flagOf(track, 0)).toBe('unplaced');
		const words = new Set(Array.from(track.flag, (f) => FLAGS[f]));
		for (const word of ['raised', 'filling', 'emptying', 'unplaced'] as const) expect(words).toContain(word);
		// What is kept is right to a few per cent, though the crop is even and the sensor smears over pass ends.
		for (let i = 0; i < records.n; i++) {
			if (track.flag[i] !== 0) continue;
			expect(Math.abs(records.flow_kg_s[i]! / track.area_m2[i]! / 0.9 - 1)).toBeLessThan(0.08);
		}
		const kept = track.area_m2.reduce((s, a, i) => s + (track.flag[i] === 0 ? a : 0), 0);
		expect(kept / track.areas.cut_m2).toBeGreaterThan(0.9);
	});

	it('name what is wrong with a record', () => {
		let m = 0;
		const { track } = trackPlot({
			lanes,
			lag_s: 0,
			smear_s: 1,
			spoil: (r) => {
				m = middleOf(r, 5);
				r.flow_kg_s[m]! *= 3;
				r.flow_kg_s[m + 10]! *= 0.3;
				r.flow_kg_s[m + 20] = Number.NaN;
				r.flow_kg_s[m + 22] = 0;
				r.interval_s[m + 24] = Number.NaN;
				r.moisture_pct[m + 30] = 99;
				r.moisture_pct[m + 33] = Number.NaN;
				// One place 60 m off, and one repeated three times.
				r.lon_deg[m - 20]! += 0.0008;
				for (const k of [29, 30, 31]) {
					r.lon_deg[m - k] = r.lon_deg[m - 32]!;
					r.lat_deg[m - k] = r.lat_deg[m - 32]!;
				}
				r.lat_deg[m - 40] = Number.NaN;
			},
		});
		expect(flagOf(track, m)).toBe('surge');
		expect(flagOf(track, m + 10)).toBe('dropout');
		expect(flagOf(track, m + 20)).toBe('flowless');
		expect(flagOf(track, m + 22)).toBe('flowless');
		expect(flagOf(track, m + 24)).toBe('flowless');
		expect(flagOf(track, m + 30)).toBe('moisture');
		expect(flagOf(track, m + 33)).toBe('moisture');
		const jumps = [m - 20, m - 30, m - 40].map((i) => [i - 1, i, i + 1].some((k) => flagOf(track, k) === 'jump'));
		expect(jumps).toEqual([true, true, true]);
		// A wild position does not cost the ground of the records around it.
		expect(flagOf(track, m - 24)).toBe('');
	});

	it('tell a standing machine from one whose receiver repeats itself, and find the lag in spite of the stop', () => {
		const { track, records } = trackPlot({
			lanes: lanes.map((l, k) => (k === 5 ? { ...l, stand: 40 } : l)),
			lag_s: 0,
			smear_s: 1,
		});
		const m = middleOf(records, 5);
		const words = Array.from({ length: 30 }, (_, k) => flagOf(track, m + 5 + k));
		expect(words.every((w) => w === 'standing' || w === 'raised')).toBe(true);
		expect(words.includes('jump' as Flag)).toBe(false);
		expect(Math.abs(track.areas.cut_m2 / trackPlot({ lanes }).track.areas.cut_m2 - 1)).toBeLessThan(0.001);
	});

	it('take thresholds from field.json, and work without header column or distance', () => {
		const strict = trackPlot({ lanes, lag_s: 9, smear_s: 2, flags: { filling: 0.5, emptying: 0.5 } }).track;
		const usual = trackPlot({ lanes, lag_s: 9, smear_s: 2 }).track;
		const count = (t: { flag: Uint8Array }, word: Flag) => t.flag.reduce((n, f) => n + (FLAGS[f] === word ? 1 : 0), 0);
		expect(count(strict, 'filling')).toBeLessThan(count(usual, 'filling'));
		expect(strict.thresholds['A.filling']).toBe(0.5);
		const bare = trackPlot({ lanes, lag_s: 9, smear_s: 2, header: false }).track;
		expect(Math.abs(bare.areas.cut_m2 / usual.areas.cut_m2 - 1)).toBeLessThan(0.02);
		expect(count(bare, '')).toBeGreaterThan(0.85 * count(usual, ''));
	});

	it('limit ground and records to the boundary, unless the boundary is plainly wrong', () => {
		const records = plotRecords({ lanes, lag_s: 0, smear_s: 0 });
		const account = plainAccount(records);
		const box = (x0: number, y0: number, x1: number, y1: number) => {
			const corner = (lonTo: number, latTo: number) => [lon(records, lonTo), lat(records, latTo)];
			return {
				type: 'Polygon' as const,
				coordinates: [[corner(x0, y0), corner(x1, y0), corner(x1, y1), corner(x0, y1), corner(x0, y0)]],
			};
		};
		// Meters to degrees at the plot, near enough for a fence.
		const lon = (r: Records, x: number) =>
			Math.min(...r.lon_deg) + x / (111_320 * Math.cos((r.lat_deg[0]! * Math.PI) / 180));
		const lat = (r: Records, y: number) => r.lat_deg[0]! + y / 111_200;
		const run = (boundary: ReturnType<typeof box>) =>
			trackField({ records, plan: plainPlan(), boundary, varieties: null, account }, silent);
		const whole = run(box(-200, -200, 400, 500));
		const cut = run(box(-200, -200, 400, 285));
		expect(whole.flag.some((f) => FLAGS[f] === 'outside')).toBe(false);
		expect(cut.flag.some((f) => FLAGS[f] === 'outside' || FLAGS[f] === 'recut')).toBe(true);
		const lost = 1 - cut.areas.cut_m2 / whole.areas.cut_m2;
		expect(lost).toBeGreaterThan(0.03);
		expect(lost).toBeLessThan(0.06);
		const wrong = run(box(-200, -200, 400, 150));
		expect(Math.abs(wrong.areas.cut_m2 / whole.areas.cut_m2 - 1)).toBeLessThan(1e-6);
	});

	it('never change the sums: every record keeps its place in the columns', () => {
		const { track, records } = trackPlot({ lanes });
		for (const column of [track.area_m2, track.cutX_m, track.width_m, track.flag, track.pass, track.moisture_pct]) {
			expect(column.length).toBe(records.n);
		}
		expect(track.corners_m.length).toBe(8 * records.n);
		expect(track.area_m2.every((a) => a >= 0)).toBe(true);
	});
});
