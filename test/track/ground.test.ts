import { describe, expect, it } from 'vitest';
import { type FieldPlan, FLAGS, type Records, silent } from '../../lib/model/index.ts';
import { SEAM_SHARE, type Sides } from '../../lib/track/ground/find-sides.ts';
import { newGround } from '../../lib/track/ground/new-ground.ts';
import { trackField } from '../../lib/track/index.ts';
import type { Pieces } from '../../lib/track/path/cut-pieces.ts';
import { plainAccount, plainPlan } from '../plain.ts';
import { GROUND, plotRecords, trackPlot, upAndDown } from './plot.ts';

const sum = (values: Float64Array) => values.reduce((s, v) => s + v, 0);

describe('ground really cut', () => {
	it('is width × length for passes side by side, whatever the receiver wanders', () => {
		const wander = (_: number, t: number): [number, number] => [
			0.25 * Math.sin(t / 170) + 0.1 * Math.sin(t / 41),
			0.2 * Math.cos(t / 130),
		];
		const still = trackPlot({ lanes: upAndDown(16, 9) });
		const wandering = trackPlot({ lanes: upAndDown(16, 9), receiver: wander });
		const truth = 16 * 9 * 300 * GROUND;
		expect(Math.abs(still.track.areas.cut_m2 / truth - 1)).toBeLessThan(0.003);
		expect(Math.abs(wandering.track.areas.cut_m2 / truth - 1)).toBeLessThan(0.006);
		// What the receiver adds comes and goes with time, whichever way it drives: seams tell most of it.
		expect(wandering.track.thresholds.seam_spread_m).toBeLessThan(0.1);
		// The records share it out among themselves (the last grain may come after the log's end).
		expect(Math.abs(sum(still.track.area_m2) / still.track.areas.cut_m2 - 1)).toBeLessThan(1e-3);
	});

	it.each([
		[
			'right',
			'the offset of the receiver',
			(c: number, _t: number, _ux: number, uy: number): [number, number] => [1.8 * c * uy, 0],
		],
		['off those of combine A', 'correction signal', (c: number): [number, number] => [-1.8 * c, 0]],
	] as const)('is all there where a receiver is 1.8 m to the %s, and that is said', (where, what, receiver) => {
		const lanes = upAndDown(16, 9).map((lane, k) => ({ ...lane, combine: Math.floor(k / 2) % 2 }));
		const { track } = trackPlot({ lanes, receiver });
		expect(Math.abs(track.areas.cut_m2 / (16 * 9 * 300 * GROUND) - 1)).toBeLessThan(0.01);
		const said = track.remarks?.filter((r) => r.text.includes('positions lie')).map((r) => r.text) ?? [];
		expect(said).toHaveLength(1);
		for (const word of ['Combine B', where, what, '(1.8 m)']) expect(said[0]).toContain(word);
		// Nothing is said of receivers that agree.
		expect(trackPlot({ lanes }).track.remarks?.some((r) => r.text.includes('positions lie'))).toBe(false);
	});

	it.each([1, -1])('is all there where the log stops while the header is up (header column %s)', (column) => {
		const all = plotRecords({ lanes: upAndDown(16, 9), lag_s: 12 });
		const kept = Array.from({ length: all.n }, (_, i) => i).filter((i) => all.headerDown[i] === 1);
		const records = Object.fromEntries(
			Object.entries(all).map(([name, values]) => {
				if (!ArrayBuffer.isView(values) || values instanceof DataView) return [name, values];
				const Kind = values.constructor as Float64ArrayConstructor;
				return [name, Kind.from(kept, (i) => (values as Float64Array)[i]!)];
			}),
		) as unknown as Records;
		records.n = kept.length;
		records.headerDown.fill(column);
		const input = { records, plan: plainPlan(), boundary: null, varieties: null, account: plainAccount(records) };
		const track = trackField(input, silent);
		// The grain of each pass's last seconds comes in while nothing is written, and an even crop shows no lag.
		expect(Math.abs(track.areas.cut_m2 / (16 * 9 * 300 * GROUND) - 1)).toBeLessThan(0.02);
	});

	it('takes the width that passes show where a header is set a row too wide or too narrow, and says so', () => {
		const truth = 16 * 9 * 300 * GROUND;
		for (const row_m of [0.75, Number.NaN]) {
			for (const off_m of [0.75, -0.75]) {
				const combines = { A: { row_m } } as unknown as FieldPlan['combines'];
				const { track } = trackPlot({
					lanes: upAndDown(16, 9),
					combines,
					spoil: (r) => r.swath_m.set(r.swath_m.map((w) => w + off_m)),
				});
				expect(Math.abs(track.areas.cut_m2 / truth - 1)).toBeLessThan(0.005);
				expect(track.remarks!.map((n) => n.text).join()).toMatch(/29\.5 ft \(9\.0 m\) is used.*Check the header width/);
			}
		}
		// One that is set right is let alone.
		expect(
			trackPlot({ lanes: upAndDown(16, 9) })
				.track.remarks!.map((n) => n.text)
				.join(),
		).not.toMatch(/width/);
	});

	it('does not believe a narrower width from noon on while passes lie a header apart', () => {
		const truth = 16 * 9 * 300 * GROUND;
		const { track } = trackPlot({
			lanes: upAndDown(16, 9),
			spoil: (r) => r.swath_m.set(r.swath_m.map((w, i) => (i > r.n / 2 ? w - 0.75 : w))),
		});
		expect(Math.abs(track.areas.cut_m2 / truth - 1)).toBeLessThan(0.005);
		expect(track.remarks!.map((n) => n.text).join()).toMatch(/gives a width of 27\.1 ft .*29\.5 ft \(9\.0 m\) is used/);
	});

	it('tells a header of two from the passes of each, and neither where they only meet each other', () => {
		const lanes = (own: boolean) =>
			upAndDown(16, 9).map((lane, k) => ({ ...lane, combine: own ? (k < 8 ? 0 : 1) : k % 2 }));
		const wide = (r: Records) => r.swath_m.set(r.swath_m.map((w, i) => w + 0.9 * r.combine[i]!));
		const own = trackPlot({ lanes: lanes(true), spoil: wide }).track;
		expect(own.remarks!.map((n) => n.text).join()).toMatch(/Combine B: .*29\.5 ft \(9\.0 m\) is used/);
		// What is left is how people drive where no rows lead.
		expect(own.width_u_rel![0]).toBe(0);
		expect(own.width_u_rel![1]! * 9.9).toBeCloseTo(0.25 / Math.sqrt(3), 12);
		const shared = trackPlot({ lanes: lanes(false), spoil: wide }).track;
		expect(shared.remarks!.map((n) => n.text).join()).toMatch(/Check both header widths/);
		// A row of 0.9 m in one of the two is within twice what is said.
		expect(2 * (shared.width_u_rel![0]! + shared.width_u_rel![1]!)).toBeGreaterThan(0.9 / 9);
	});

	it('lets a small gap and a small overlap cancel, rows known or not, and halves only what is plainly narrow', () => {
		const overlaps = [0.3, -0.3, 0.2, -0.2, Number.NaN, 3.1];
		const n = overlaps.length;
		const all = (v: number) => new Float64Array(n).fill(v);
		const pieces: Pieces = {
			n,
			combine: new Uint8Array(n),
			pass: Int32Array.from({ length: n }, (_, i) => i),
			from_s: all(0),
			to_s: all(1),
			x_m: all(0),
			y_m: all(0),
			ux: all(0),
			uy: all(1),
			length_m: all(2),
			width_m: all(9),
			inUse_m: all(Infinity),
			way_m: all(0),
		};
		const left = Float64Array.from(overlaps);
		const sides: Sides = {
			overlap_m: [left, all(Number.NaN)],
			piece: [new Int32Array(n).fill(0), new Int32Array(n).fill(-1)],
			share: SEAM_SHARE,
			crossed: new Map(),
		};
		const smoothed = [left, all(Number.NaN)] as const;
		const ground = (seams: { overlap_m: number; spread_m: number }, row_m: number) =>
			newGround({ pieces, sides, overlaps: smoothed, seams, row_m: [row_m], reassigned: null, refuted: null });
		const free = ground({ overlap_m: 0, spread_m: 0.1 }, Number.NaN);
		expect([...free.new_m].map((w) => Math.round(100 * w))).toEqual([900, 900, 900, 900, 900, 590]);
		const rows = ground({ overlap_m: 0, spread_m: 0.1 }, 0.75);
		expect([...rows.new_m].map((w) => Math.round(100 * w))).toEqual([900, 900, 900, 900, 900, 600]);
		// A usual overlap of 0.2 m is lost at every seam, not at every second one.
		const usual = ground({ overlap_m: 0.2, spread_m: 0.2 }, Number.NaN);
		expect([...usual.new_m].slice(0, 4).map((w) => Math.round(100 * w))).toEqual([880, 880, 880, 880]);
	});

	it('takes a steady overlap for what it is', () => {
		const { track } = trackPlot({ lanes: upAndDown(16, 8.6) });
		const truth = (9 + 15 * 8.6) * 300 * GROUND;
		expect(Math.abs(track.areas.cut_m2 / truth - 1)).toBeLessThan(0.003);
		expect(Math.abs(track.areas.distanceTimesSwath_m2 / (16 * 9 * 300 * GROUND) - 1)).toBeLessThan(0.005);
	});

	it('finds receivers that stand apart, sideways on the machine or on the ground, and loses no ground to it', () => {
		const lanes = upAndDown(20, 9).map((lane, k) => ({ ...lane, combine: k % 4 < 2 ? 0 : 1 }));
		const truth = 20 * 9 * 300 * GROUND;
		const side = trackPlot({ lanes, receiver: (c, _t, ux, uy) => (c === 1 ? [0.4 * uy, -0.4 * ux] : [0, 0]) });
		expect(side.track.receiverOffset_m[1]).toBeGreaterThan(0.3);
		expect(side.track.receiverOffset_m[1]).toBeLessThan(0.5);
		expect(Math.abs(side.track.areas.cut_m2 / truth - 1)).toBeLessThan(0.008);
		const apart = trackPlot({ lanes, receiver: (c) => (c === 1 ? [0.5, 0.1] : [0, 0]) });
		expect(Math.abs(apart.track.receiverOffset_m[1]!)).toBeLessThan(0.15);
		expect(Math.abs(apart.track.areas.cut_m2 / truth - 1)).toBeLessThan(0.008);
	});

	it('halves a header that is half used, and takes whole rows where rows are known', () => {
		// The last pass finds 4.6 m standing between its neighbors.
		const lanes = [
			...upAndDown(9, 9),
			{ x: 8 * 9 + 13.6, from: 300, to: 0 },
			{ x: 8 * 9 + 6.8, from: 0, to: 300, share: 4.6 / 9 },
		];
		const { track, records } = trackPlot({ lanes });
		const last = track.passes.at(-1)!;
		const middle = [...last.records].slice(20, -20).map((i) => track.width_m[i]!);
		for (const w of middle) expect(Math.abs(w - 4.6)).toBeLessThan(0.3);
		expect(records.n).toBeGreaterThan(1000);
		const rows = trackPlot({
			lanes,
			combines: { A: { swath_m: 9, row_m: 0.75, tank_kg: null, header_ahead_m: null, display_total: null } },
		});
		const rowed = [...rows.track.passes.at(-1)!.records].slice(20, -20).map((i) => rows.track.width_m[i]!);
		for (const w of rowed) expect(Math.abs(w - 4.5)).toBeLessThan(1e-6);
	});

	it('does not count a headland twice that is crossed with the header down', () => {
		const headland = [0, 9, 18].map((y, k) => ({
			crosswise: true,
			x: y,
			from: k % 2 ? 162 : -4.5,
			to: k % 2 ? -4.5 : 162,
		}));
		const lanes = [...headland, ...upAndDown(18, 9).map((l) => ({ ...l, share: 1 }))].map((l) => l);
		const { track } = trackPlot({ lanes });
		// Three strips of 27 m in all; the passes begin or end at y = 0, 22.5 m of them lie on the headland.
		const truth = (166.5 * 27 + 162 * (300 - 22.5)) * GROUND;
		expect(Math.abs(track.areas.cut_m2 / truth - 1)).toBeLessThan(0.006);
		const recut = track.flag.reduce((n, f) => n + (FLAGS[f] === 'recut' ? 1 : 0), 0);
		expect(recut).toBeGreaterThan(50);
	});

	it('gives a strip to the later pass where the grain says so', () => {
		// Pass 4 drives as if it took 9 m, but the grain of the half beyond comes with pass 5.
		const lanes = upAndDown(9, 9).map((l, k) => (k === 4 ? { ...l, share: 0.5 } : k > 4 ? { ...l, x: l.x - 4.5 } : l));
		const { track } = trackPlot({ lanes });
		const width = (pass: number) => {
			const list = [...track.passes[pass]!.records].slice(20, -20).map((i) => track.width_m[i]!);
			return list.reduce((s, v) => s + v, 0) / list.length;
		};
		expect(Math.abs(width(4) - 4.5)).toBeLessThan(0.4);
		expect(Math.abs(width(5) - 9)).toBeLessThan(0.4);
		const taken = trackPlot({ lanes: lanes.map((l, k) => ({ ...l, share: k === 5 ? 0.5 : 1 })) });
		const fifth = [...taken.track.passes[5]!.records].slice(20, -20).map((i) => taken.track.width_m[i]!);
		expect(Math.abs(fifth[50]! - 4.5)).toBeLessThan(0.4);
	});

	it('keeps a row that only the receiver took away, and gives up one that the grain lacks too', () => {
		const lanes = upAndDown(9, 9);
		const combines = { A: { swath_m: 9, row_m: 0.75, tank_kg: null, header_ahead_m: null, display_total: null } };
		// On the sixth pass, between two places 130 m apart, the receiver steps 0.6 m toward the pass before.
		const pass = [...trackPlot({ lanes, combines }).track.passes[5]!.records];
		const [from, to] = [pass[Math.round(0.3 * pass.length)]!, pass[Math.round(0.7 * pass.length)]!];
		const step = (records: Records) => {
			for (let i = from; i < to; i++) records.lon_deg[i]! -= 0.6 / 82_600;
		};
		const least = (field: ReturnType<typeof trackPlot>) =>
			Math.min(...Array.from({ length: to - from - 40 }, (_, k) => field.track.width_m[from + 20 + k]!));
		expect(least(trackPlot({ lanes, combines, spoil: step }))).toBeCloseTo(9, 6);
		const lacking = (records: Records) => {
			step(records);
			for (let i = from; i < to + 12; i++) records.flow_kg_s[i]! *= i < from + 12 ? 1 : 8.25 / 9;
		};
		expect(least(trackPlot({ lanes, combines, spoil: lacking }))).toBeCloseTo(8.25, 6);
	});

	it('draws an outline where no boundary is given', () => {
		const { track } = trackPlot({ lanes: upAndDown(12, 9) });
		expect(track.outline?.type).toBe('MultiPolygon');
		expect(track.areas.boundary_m2).toBeNaN();
	});
});
