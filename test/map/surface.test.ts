import { area } from '@turf/turf';
import { describe, expect, it } from 'vitest';
import { utmProjection } from '../../lib/geo/utm.ts';
import { fieldContours } from '../../lib/map/index.ts';
import { yieldBands } from '../../lib/map/legend/bands.ts';
import type { Surface } from '../../lib/model/index.ts';
import { few } from '../campaign.ts';
import { type Plot, type PlotOptions, plot, surfaceOf, yieldsOf } from './plot.ts';

function mapped(options: PlotOptions): { p: Plot; s: Surface } {
	const p = plot(options);
	return { p, s: surfaceOf(p) };
}

/** Root mean square of relative misses, their mean, and the shares within one and two standard errors. */
function against(p: Plot, s: Surface) {
	let [n, squares, sum, one, two] = [0, 0, 0, 0, 0];
	for (let row = 0; row < s.rows; row++) {
		for (let column = 0; column < s.columns; column++) {
			const k = row * s.columns + column;
			const z = s.yield_kg_ha[k]!;
			if (!Number.isFinite(z)) continue;
			let mean = 0;
			for (let a = 0; a < 5; a++) {
				for (let b = 0; b < 5; b++) {
					mean += p.truth(s.west_m + (column + (a + 0.5) / 5) * 10, s.north_m - (row + (b + 0.5) / 5) * 10) / 25;
				}
			}
			n++;
			squares += (z / mean - 1) ** 2;
			sum += z / mean - 1;
			if (Math.abs(z - mean) <= s.se_kg_ha[k]!) one++;
			if (Math.abs(z - mean) <= 2 * s.se_kg_ha[k]!) two++;
		}
	}
	return { n, rms: Math.sqrt(squares / n), bias: sum / n, one: one / n, two: two / n };
}

describe('surface', () => {
	it('is near each cell’s true mean, and says how near', () => {
		const kinds: Omit<PlotOptions, 'seed'>[] = [
			{},
			{ spikes: 0.01 },
			{ white: 0.03, smear_s: 5 },
			{ slow: 0.02 },
			{ smear_s: 0 },
		];
		// A bias is seen over several seeds alone: each kind on ground of its own, in a campaign on four.
		const all = kinds.flatMap((kind, k) =>
			few([101, 102, 201, 202], 1).map((from) => {
				const seed = from + 10 * k;
				const { p, s } = mapped({ ...kind, seed });
				return against(p, s);
			}),
		);
		const mean = (f: (a: (typeof all)[number]) => number) => all.reduce((sum, a) => sum + f(a), 0) / all.length;
		for (const a of all) expect(a.rms).toBeLessThan(0.032);
		expect(mean((a) => a.rms)).toBeLessThan(0.026);
		expect(Math.abs(mean((a) => a.bias))).toBeLessThan(0.008);
		expect(mean((a) => a.one)).toBeGreaterThan(0.58);
		expect(mean((a) => a.one)).toBeLessThan(0.82);
		expect(mean((a) => a.two)).toBeGreaterThan(0.9);
	});

	it('undoes a strong smear where that helps, and says by how much', () => {
		const smeared = mapped({ seed: 104, white: 0.02, smear_s: 6, slow: 0.005 });
		const { p } = smeared;
		expect(smeared.s.deblur_gain_pct).toBeGreaterThan(0.5);
		const left = { ...p.track, lags: p.track.lags.map((l) => ({ ...l, smear_s: Number.NaN })) };
		const plain = surfaceOf({ ...p, track: left });
		expect(plain.deblur_gain_pct).toBe(0);
		expect(against(p, smeared.s).rms).toBeLessThan(against(p, plain).rms);
	});

	it('does not tell a smear where there is none', () => {
		expect(mapped({ seed: 105, smear_s: 0 }).s.deblur_gain_pct).toBe(0);
	});

	it('joins the common part into every cell’s error', () => {
		const p = plot({ seed: 106, passes: 12, length_m: 150 });
		const sharp = surfaceOf(p);
		p.factors.u_rel.fill(0.05);
		const vague = surfaceOf(p);
		sharp.yield_kg_ha.forEach((z, k) => {
			if (!Number.isFinite(z)) return;
			expect(vague.yield_kg_ha[k]).toBe(z);
			const own = Math.sqrt(sharp.se_kg_ha[k]! ** 2 - sharp.common_kg_ha![k]! ** 2);
			expect(vague.se_kg_ha[k]! / Math.hypot(own, 0.05 * z)).toBeCloseTo(1, 4);
		});
	});

	it('closes with the records’ mass and ground, and leaves ground that was not cut empty', () => {
		const { p, s } = mapped({ seed: 107, passes: 35, length_m: 320 });
		// 320.04 × 320 m: 32 × 32 cells.
		const kept = s.yield_kg_ha.filter(Number.isFinite).length;
		expect(kept).toBe(1024);
		expect(s.closure.area_pct).toBeCloseTo(
			100 * ((1024 * 100) / (p.track.areas.cut_m2 * utmProjection(p.track.zone).scale(500_160, 4_900_160) ** 2) - 1),
			3,
		);
		expect(Math.abs(s.closure.area_pct)).toBeLessThan(0.2);
		expect(Math.abs(s.closure.mass_pct)).toBeLessThan(0.4);
		expect(s.west_m % 10).toBe(0);
		expect(s.north_m % 10).toBe(0);
	});

	it('counts grain without ground in what the map is held against', () => {
		const p = plot({ seed: 107, passes: 12, length_m: 200 });
		const before = surfaceOf(p).closure.mass_pct;
		// A twentieth of the records: grain that ran out with the header up.
		for (let i = 0; i < p.records.n; i += 20) {
			p.track.flag[i] = 1;
			p.track.area_m2[i] = 0;
		}
		const after = surfaceOf(p).closure;
		expect(Math.abs(after.mass_pct - before)).toBeLessThan(0.5);
	});

	it('is empty, not wrong, without records', () => {
		const p = plot({ seed: 1, passes: 2, length_m: 40 });
		p.track.flag.fill(1);
		const s = surfaceOf(p);
		expect(s.columns * s.rows).toBe(0);
		expect(fieldContours({ surface: s, track: p.track })).toEqual([]);
	});

	it('tells the change from its uncertainty', () => {
		const p = plot({ seed: 108, passes: 12, length_m: 150 });
		const s = surfaceOf(p);
		// ± 6 % against 0.3 %: clear, save where a cell is half of the one and half of the other combine.
		expect(s.changedShare).toBeGreaterThan(0.85);
		p.factors.u_rel.fill(0.05);
		expect(surfaceOf(p).changedShare).toBe(0);
	});

	it('gives the same bytes twice', () => {
		const once = mapped({ seed: 109, passes: 12, length_m: 150 });
		const twice = mapped({ seed: 109, passes: 12, length_m: 150 });
		expect(Buffer.from(once.s.yield_kg_ha.buffer).equals(Buffer.from(twice.s.yield_kg_ha.buffer))).toBe(true);
		const contours = ({ p, s }: typeof once) => JSON.stringify(fieldContours({ surface: s, track: p.track }));
		expect(contours(once)).toBe(contours(twice));
	});
});

describe('bands', () => {
	const projection = utmProjection({ number: 15, south: false, epsg: 32615 });
	const frame = (columns: number, rows: number) => ({ west_m: 500_000, north_m: 4_900_000, cell_m: 10, columns, rows });

	it('cover exactly the cells that hold a value, each ground once', () => {
		const { s, p } = mapped({ seed: 110, passes: 20, length_m: 200 });
		// A hole in the map.
		for (let r = 6; r < 10; r++) for (let c = 6; c < 9; c++) s.yield_kg_ha[r * s.columns + c] = Number.NaN;
		const bands = yieldBands(
			s,
			s.yield_kg_ha,
			[8000, 9000, 9500, 10_000, 10_500, 11_000, 12_000],
			utmProjection(p.track.zone),
		);
		const cells = s.yield_kg_ha.filter(Number.isFinite).length;
		const total = bands.reduce((sum, b) => sum + area(b), 0);
		// turf's areas are the sphere's: 0.3 % off the ellipsoid's at most.
		expect(total / (cells * 100)).toBeGreaterThan(0.995);
		expect(total / (cells * 100)).toBeLessThan(1.005);
		expect(bands.map((b) => b.properties.from_kg_ha)).toEqual([8000, 9000, 9500, 10_000, 10_500, 11_000]);
	});

	it('put a peak into a ring of its own, and a hole into the band around it', () => {
		const values = new Float32Array(25).fill(5);
		values[12] = 15;
		const bands = yieldBands(frame(5, 5), values, [0, 10, 20], projection);
		expect(bands).toHaveLength(2);
		const [low, high] = bands as [(typeof bands)[0], (typeof bands)[0]];
		expect(low.geometry.coordinates).toHaveLength(1);
		expect(low.geometry.coordinates[0]).toHaveLength(2);
		expect(high.geometry.coordinates).toHaveLength(1);
		expect(high.geometry.coordinates[0]).toHaveLength(1);
		// The level 10 lies 4/3 of the way … from center 15 to the side's corners (7.5): at 2/3, a square of side 6.67 m.
		expect(Math.abs(area(high) - (10 * (2 / 3)) ** 2)).toBeLessThan(0.3);
		expect(Math.abs(area(low) + area(high) - 2500)).toBeLessThan(10);
	});

	it('turn outer rings counter-clockwise, holes clockwise (RFC 7946)', () => {
		const values = new Float32Array(25).fill(5);
		values[12] = 15;
		const [low] = yieldBands(frame(5, 5), values, [0, 10, 20], projection);
		const signed = low!.geometry.coordinates[0]!.map((ring) =>
			ring.slice(1).reduce((s, p, k) => s + ring[k]![0]! * p[1]! - p[0]! * ring[k]![1]!, 0),
		);
		expect(signed[0]).toBeGreaterThan(0);
		expect(signed[1]).toBeLessThan(0);
	});

	it('split where cells meet at a corner only, and stand a value on a level', () => {
		const values = Float32Array.from([10, Number.NaN, Number.NaN, 10]);
		const bands = yieldBands(frame(2, 2), values, [0, 10, 20], projection);
		const polygons = bands.flatMap((b) => b.geometry.coordinates);
		expect(polygons).toHaveLength(2);
		for (const rings of polygons) expect(rings[0]).toHaveLength(5);
	});
});

describe('odd logs', () => {
	const run = (p: Plot) => {
		const s = surfaceOf(p);
		return {
			lone: yieldsOf(p).flag.filter((f) => f > 0).length,
			s,
			cells: s.yield_kg_ha.filter(Number.isFinite).length,
		};
	};

	it('of one and the same value are flat, with no outliers', () => {
		const p = plot({ seed: 1, passes: 10, length_m: 100, factors: [1, 1] });
		for (let i = 0; i < p.records.n; i++) p.account.account_kg[i] = p.account.monitor_kg[i] = 15;
		const { lone, s, cells } = run(p);
		expect(lone).toBe(0);
		expect(cells).toBe(90);
		const values = s.yield_kg_ha.filter(Number.isFinite);
		expect(Math.max(...values) / Math.min(...values)).toBeCloseTo(1, 6);
	});

	it('without times or speeds, without passes, or with a receiver that leaps, are mapped all the same', () => {
		const untimed = plot({ seed: 1, passes: 20, length_m: 200 });
		untimed.track.speed_m_s.fill(Number.NaN);
		untimed.records.time_s.fill(Number.NaN);
		expect(run(untimed).cells).toBe(360);
		const loose = plot({ seed: 1, passes: 20, length_m: 200 });
		loose.track.passes = [];
		loose.track.pass.fill(-1);
		expect(run(loose).cells).toBe(360);
		const leaping = plot({ seed: 1, passes: 20, length_m: 200 });
		leaping.track.cutX_m[5] = 900_000;
		leaping.track.cutY_m[6] = 9e6;
		expect(run(leaping).cells).toBe(360);
	});

	it('of no grain at all give no map, and no fault', () => {
		const p = plot({ seed: 1, passes: 10, length_m: 100 });
		for (let i = 0; i < p.records.n; i++) p.account.account_kg[i] = p.account.monitor_kg[i] = 0;
		expect(run(p).cells).toBe(0);
	});
});
