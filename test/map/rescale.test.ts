import { describe, expect, it } from 'vitest';
import { FLAGS } from '../../lib/model/index.ts';
import { plot, yieldsOf } from './plot.ts';

const LONE = FLAGS.indexOf('lone');
const off = (combine: number, offset_pct: number, u_pct: number) => ({
	combine,
	offset_pct,
	u_pct,
	n: 3,
	source: 'tickets' as const,
});

describe('rescale', () => {
	it('is mass × factor over ground, brought to market moisture, record by record', () => {
		const p = plot({ seed: 1, passes: 8, length_m: 100 });
		const moisture = [off(0, 0.5, 0.2), off(1, -1, 0.2)];
		const y = yieldsOf(p, moisture);
		for (const i of [0, 17, 333, p.records.n - 1]) {
			const c = p.records.combine[i]!;
			const wet_kg = p.account.account_kg[i]!;
			const per_ha = 10_000 / (9.144 * 2);
			// At 17 % as sensed; 17.5 and 16 with the offsets; to 15.5.
			expect(y.monitor_kg_ha[i]).toBeCloseTo((wet_kg * per_ha * 83) / 84.5, 6);
			expect(y.corrected_kg_ha[i]).toBeCloseTo((wet_kg * [0.94, 1.06][c]! * per_ha * [82.5, 84][c]!) / 84.5, 6);
			expect(y.moisture_pct[i]).toBe([17.5, 16][c]);
		}
	});

	it('scales and never smooths: doubling one record moves no other', () => {
		const p = plot({ seed: 2, passes: 8, length_m: 100 });
		const before = yieldsOf(p);
		p.account.account_kg[123]! *= 2;
		const after = yieldsOf(p);
		const moved = [...before.corrected_kg_ha.keys()].filter(
			(i) => before.corrected_kg_ha[i] !== after.corrected_kg_ha[i],
		);
		expect(moved).toEqual([123]);
		expect(after.corrected_kg_ha[123]! / before.corrected_kg_ha[123]!).toBeCloseTo(2, 12);
		expect(after.monitor_kg_ha[123]).toBe(before.monitor_kg_ha[123]);
	});

	it('joins factor, moisture, area and local scatter in the uncertainty', () => {
		const p = plot({ seed: 3, white: 0.06 });
		const y = yieldsOf(p, [off(0, 0, 0.6), off(1, 0, 0.6)]);
		// 0.003 of the factor with 0.6 points of 83: 0.0072.
		expect(y.common_rel![50]).toBeCloseTo(Math.hypot(0.003, 0.6 / 83), 9);
		// A decimeter of 9.144 m is 0.0109; the scatter is what was put in.
		const scatter = Math.sqrt(y.u_rel[50]! ** 2 - y.common_rel![50]! ** 2 - (0.1 / 9.144) ** 2);
		expect(scatter).toBeGreaterThan(0.055);
		expect(scatter).toBeLessThan(0.065);
	});

	it('keeps what a combine errs by all over the field apart from what differs from place to place', () => {
		const p = plot({ seed: 3, passes: 8, length_m: 100 });
		// A field's level known to 0.2 %, slow errors of the monitor besides, and a drift whose end is less sure.
		p.factors.factors = [0, 1].map((combine) => ({ combine, u_rel: 0.002 }) as (typeof p.factors.factors)[0]);
		p.factors.u_rel.fill(0.006);
		p.factors.u_rel[40] = 0.01;
		const y = yieldsOf(p, [off(0, 0, 0), off(1, 0, 0)]);
		expect(y.common_rel![39]).toBeCloseTo(0.002, 12);
		expect(y.common_rel![40]).toBeCloseTo(Math.sqrt(0.002 ** 2 + 0.01 ** 2 - 0.006 ** 2), 12);
		expect(y.u_rel[40]! ** 2 - y.u_rel[39]! ** 2).toBeCloseTo(0.01 ** 2 - 0.006 ** 2, 12);
	});

	it('covers the truth of its records two times in three', () => {
		const p = plot({ seed: 4 });
		const y = yieldsOf(p, [off(0, 0, 0.1), off(1, 0, 0.1)]);
		let inside = 0;
		for (let i = 0; i < p.records.n; i++) {
			if (Math.abs(y.corrected_kg_ha[i]! / p.truthOf[i]! - 1) < y.u_rel[i]!) inside++;
		}
		expect(inside / p.records.n).toBeGreaterThan(0.6);
		expect(inside / p.records.n).toBeLessThan(0.76);
	});

	it('leaves yields as recorded where no factor is known, and blank where there is no ground or mass', () => {
		const p = plot({ seed: 5, passes: 8, length_m: 100 });
		p.factors.factor.fill(Number.NaN);
		p.track.area_m2[3] = 0;
		p.records.flow_kg_s[4] = Number.NaN;
		p.track.moisture_pct[5] = Number.NaN;
		const y = yieldsOf(p);
		expect(y.corrected_kg_ha[50]).toBe(y.monitor_kg_ha[50]);
		expect(y.corrected_kg_ha[3]).toBeNaN();
		expect(y.corrected_kg_ha[4]).toBeNaN();
		expect(y.moisture_pct[5]).toBeNaN();
		// It dries like the mean of its field: 17 %.
		expect(y.corrected_kg_ha[5]).toBeCloseTo((p.account.account_kg[5]! * 10_000 * 83) / 84.5 / (9.144 * 2), 6);
	});
});

describe('lone values', () => {
	it('finds planted spikes and hardly anything else', () => {
		const p = plot({ seed: 6, spikes: 0.01 });
		const y = yieldsOf(p);
		let planted = 0;
		let found = 0;
		let wrong = 0;
		for (let i = 0; i < p.records.n; i++) {
			const bad = Math.abs(y.corrected_kg_ha[i]! / p.truthOf[i]! - 1) > 0.35;
			if (bad) planted++;
			if (y.flag[i] === LONE) bad ? found++ : wrong++;
		}
		expect(planted).toBeGreaterThan(20);
		expect(found / planted).toBeGreaterThan(0.9);
		expect(wrong / p.records.n).toBeLessThan(0.003);
	});

	it('finds a stretch where the header was two thirds full', () => {
		const p = plot({ seed: 7 });
		const run = p.track.passes[10]!.records.slice(40, 75);
		for (const i of run) p.account.account_kg[i]! *= 0.67;
		const y = yieldsOf(p);
		const found = [...run].filter((i) => y.flag[i] === LONE).length;
		expect(found / run.length).toBeGreaterThan(0.8);
	});

	it('keeps a wet hole that several passes saw', () => {
		const p = plot({ seed: 8 });
		const inHole = (i: number) => Math.hypot(p.track.cutX_m[i]! - 500_110, p.track.cutY_m[i]! - 4_900_150) < 30;
		for (let i = 0; i < p.records.n; i++) if (inHole(i)) p.account.account_kg[i]! *= 0.4;
		const y = yieldsOf(p);
		const hole = Array.from({ length: p.records.n }, (_, i) => i).filter(inHole);
		const lost = hole.filter((i) => y.flag[i] === LONE).length;
		expect(hole.length).toBeGreaterThan(100);
		expect(lost / hole.length).toBeLessThan(0.12);
	});

	it('keeps a strip trial: one pass that is lower all along', () => {
		const p = plot({ seed: 8 });
		const strip = p.track.passes[14]!.records;
		for (const i of strip) p.account.account_kg[i]! *= 0.8;
		const y = yieldsOf(p);
		const lost = [...strip].filter((i) => y.flag[i] === LONE).length;
		expect(lost / strip.length).toBeLessThan(0.1);
	});

	it('takes its threshold from field.json where one stands there', () => {
		const p = plot({ seed: 9 });
		const count = (flags: Record<string, number>) =>
			yieldsOf({ ...p, plan: { ...p.plan, flags } }).flag.filter((f) => f === LONE).length;
		expect(count({ lone: 2 })).toBeGreaterThan(5 * count({}));
		expect(count({ lone: 50 })).toBe(0);
	});

	it('stays off where there are no neighbors to ask', () => {
		const p = plot({ seed: 10, passes: 1, spikes: 0.05 });
		expect(yieldsOf(p).flag.filter((f) => f === LONE).length).toBe(0);
	});
});
