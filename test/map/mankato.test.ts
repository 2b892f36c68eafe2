import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type Folder, runField } from '../../lib/index.ts';
import { OPEN_LOG, OPEN_LOG_COLUMNS, openLogThere } from '../open-log.ts';

const PLAN = {
	crop: 'corn',
	logs: [
		{
			file: 'log.csv',
			combine: 'A',
			columns: OPEN_LOG_COLUMNS,
		},
	],
};

describe.skipIf(!openLogThere)('the open Mankato log', () => {
	it('becomes a map that looks like a field', async () => {
		const file = (bytes: Uint8Array) => ({
			name: '',
			chunks: async function* () {
				yield bytes;
			},
		});
		const folder: Folder = new Map([
			['field.json', file(new TextEncoder().encode(JSON.stringify(PLAN)))],
			['log.csv', file(new Uint8Array(readFileSync(OPEN_LOG)))],
		]);
		const { surface, track, yields, result } = await runField(folder);
		const values = [...surface.yield_kg_ha].filter(Number.isFinite);
		const mean = values.reduce((s, v) => s + v, 0) / values.length;
		const sd = Math.sqrt(values.reduce((s, v) => s + (v - mean) ** 2, 0) / values.length);
		// Ground by distance × swath is 26.96 ha.
		expect(values.length / 100).toBeGreaterThan(25.5);
		expect(values.length / 100).toBeLessThan(28);
		expect(Math.abs(surface.closure.mass_pct)).toBeLessThan(2);
		expect(mean).toBeGreaterThan(8000);
		expect(mean).toBeLessThan(9200);
		expect(sd / mean).toBeGreaterThan(0.04);
		expect(sd / mean).toBeLessThan(0.2);
		// Structure, not noise: cells side by side are alike, those half a field apart are not.
		const alike = (dc: number, dr: number) => {
			let [sum, n] = [0, 0];
			for (let r = 0; r + dr < surface.rows; r++) {
				for (let c = 0; c + dc < surface.columns; c++) {
					const a = surface.yield_kg_ha[r * surface.columns + c]!;
					const b = surface.yield_kg_ha[(r + dr) * surface.columns + c + dc]!;
					if (!Number.isFinite(a + b)) continue;
					sum += (a - mean) * (b - mean);
					n++;
				}
			}
			return sum / n / (sd * sd);
		};
		expect(alike(1, 0)).toBeGreaterThan(0.85);
		expect(alike(0, 1)).toBeGreaterThan(0.85);
		expect(alike(0, 35)).toBeLessThan(0.4);
		for (const se of surface.se_kg_ha) if (Number.isFinite(se)) expect(se / mean).toBeLessThan(0.15);
		let kept = 0;
		for (let i = 0; i < yields.flag.length; i++) if (yields.flag[i] === 0) kept += track.area_m2[i]!;
		expect(kept / 10_000 / result.totals.area_ha).toBeGreaterThan(0.86);
		expect(result.combines.A!.factor).toBeNull();
	});
});
