import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { some } from '../campaign.ts';
import { expectConserved } from './conserved.ts';
import { KINDS, simulate } from './index.ts';
import { SAMPLE, sampleField } from './sample.ts';

const sum = (values: ArrayLike<number>) => Array.from(values).reduce((a, b) => a + b, 0);

describe('the simulator', () => {
	test('draws the same bytes from the same options, and others from another seed', () => {
		const first = simulate({ seed: 5, kind: 'irregular' });
		const again = simulate({ seed: 5, kind: 'irregular' });
		const other = simulate({ seed: 6, kind: 'irregular' });
		expect([...again.files]).toEqual([...first.files]);
		expect(other.files.get('cart.csv')).not.toEqual(first.files.get('cart.csv'));
	});

	// Every kind in a campaign; kinds.test.ts asks the same of the fields that it runs.
	test.each(some(KINDS, 8))('%s: grain and ground are neither made nor lost', (kind) => {
		expectConserved(simulate({ seed: 11, kind }));
	});

	test('the cart reads certified mass over its ratio, to its reading error', () => {
		const { truth, files } = simulate({ seed: 12, kind: 'labeled' });
		const rows = files
			.get('cart.csv')!
			.trim()
			.split('\n')
			.slice(1)
			.map((line) => line.split(','));
		const weights = new Map(rows.map((row) => [row[0]!, Number(row[4])]));
		for (const dump of truth.dumps)
			expect(Math.abs(weights.get(dump.id)! * truth.ratio - dump.true_kg)).toBeLessThan(250);
		const all = sum(truth.dumps.map((d) => weights.get(d.id)!)) * truth.ratio;
		expect(all / sum(truth.dumps.map((d) => d.true_kg))).toBeCloseTo(1, 2);
	});

	test('perfect knowledge of lag, factor and ground comes near the true surface', () => {
		const { truth, files } = simulate({ seed: 5, kind: 'labeled' });
		const c = truth.combines[0]!;
		const lines = files.get(`combine-${c.name}.csv`)!.trim().split('\n');
		const head = lines[0]!.split(',');
		const cell = (i: number, name: string) => Number(lines[i + 1]!.split(',')[head.indexOf(name)]);
		let squares = 0;
		let n = 0;
		for (let i = 40; i < c.records.time_s.length; i++) {
			const area = c.records.area_m2[i]!;
			// Away from starts, ends and stops.
			if (c.records.area_m2.subarray(i - 15, i + 3).some((a) => Math.abs(a / area - 1) > 0.25)) continue;
			if (!(area > 5) || c.records.fault[i] === 1) continue;
			const moisture = cell(i, 'moisture_pct') + c.moistureOffset_pct;
			const dry =
				(cell(i, 'flow_kg_s') * cell(i, 'interval_s') * c.factor * (100 - moisture)) / (100 - truth.marketMoisture_pct);
			const e = ((dry / area) * 10_000) / truth.trueYield_kg_ha(c.records.cutX_m[i]!, c.records.cutY_m[i]!) - 1;
			squares += e * e;
			n++;
		}
		expect(n).toBeGreaterThan(3000);
		expect(100 * Math.sqrt(squares / n)).toBeLessThan(4.2);
		expect(100 * Math.sqrt(squares / n)).toBeGreaterThan(2.5);
	});
});

test('the sample field is the draw that its truth belongs to', () => {
	const { files, truth } = sampleField();
	for (const [name, text] of files)
		expect(readFileSync(new URL(`../../sample-fields/${SAMPLE}/${name}`, import.meta.url), 'utf8')).toBe(text);
	expect(truth.area_m2 / 10_000).toBeCloseTo(19.3, 1);
	expect(truth.dumps.filter((d) => d.accept.includes('aside'))).toHaveLength(1);
});
