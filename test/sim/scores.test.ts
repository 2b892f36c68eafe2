import { beforeAll, describe, expect, test } from 'vitest';
import { pointsCsv } from '../../lib/write/index.ts';
import { few } from '../campaign.ts';
import { sampleRun } from '../viewer/sample.ts';
import { pointsOf, trial } from './run.ts';
import { sampleField } from './sample.ts';
import { readPoints, type Scores, score } from './score.ts';

/** Seeds that nothing was tuned on; two combines each. */
const SEEDS = few(
	Array.from({ length: 20 }, (_, i) => 701 + i),
	4,
);

const median = (values: number[]) => {
	const sorted = [...values].sort((a, b) => a - b);
	return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2;
};

describe('fields whose dumps name their combine', () => {
	const all: Scores[] = [];
	beforeAll(async () => {
		for (const seed of SEEDS) all.push((await trial({ seed, kind: 'labeled' }, { grid: false })).scores);
	}, 600_000);
	const factors = () => all.flatMap((s) => s.factors);

	test('factors: each within 0.6 %, the median within 0.2 %', () => {
		const errors = factors().map((f) => Math.abs(f.error_pct));
		expect(errors).toHaveLength(2 * SEEDS.length);
		expect(median(errors)).toBeLessThan(0.2);
		expect(Math.max(...errors)).toBeLessThan(0.6);
	});

	test('95 % intervals cover the truth in at least seven of eight', () => {
		expect(factors().filter((f) => f.covered).length).toBeGreaterThanOrEqual((7 / 8) * factors().length);
	});

	test('a constant factor is called constant', () => {
		expect(factors().filter((f) => f.formRight).length).toBeGreaterThanOrEqual(0.95 * factors().length);
	});

	test('lags within 1 s', () => {
		for (const lag of all.flatMap((s) => s.lags)) expect(Math.abs(lag.error_s)).toBeLessThan(1);
	});

	test('corrected records within 5 % of the true surface, bias under 1 %, 85 % of the ground kept', () => {
		for (const { records } of all) {
			expect(records.rmse_pct).toBeLessThan(5);
			expect(Math.abs(records.bias_pct)).toBeLessThan(1);
			expect(records.kept_pct).toBeGreaterThan(85);
			// The monitors' own maps are far from it.
			expect(records.raw_pct).toBeGreaterThan(2 * records.rmse_pct);
		}
	});

	test('area within 1 %', () => {
		for (const { area_pct } of all) expect(Math.abs(area_pct)).toBeLessThan(1);
	});

	test('every dump has its combine and is rightly believed; nothing unweighed is invented', () => {
		const n = all.reduce((sum, s) => sum + s.dumps.n, 0);
		const right = all.reduce((sum, s) => sum + s.dumps.right, 0);
		expect(right / n).toBeGreaterThan(0.97);
		for (const { unweighed } of all) expect(unweighed.invented).toBe(0);
	});
});

test('one weight read too early does no harm and is named', async () => {
	for (const seed of few([731, 732, 733], 1)) {
		const { scores, sim } = await trial({ seed, kind: 'wrong-weight' }, { grid: false });
		for (const f of scores.factors) expect(Math.abs(f.error_pct)).toBeLessThan(0.6);
		const bad = sim.truth.dumps.find((d) => d.accept[0] === 'aside')!;
		expect(scores.dumps.wrong.map((w) => w.id)).not.toContain(bad.id);
	}
});

test('the files written score as the run in memory does', async () => {
	const { sim, run, scores } = await trial({ seed: 741, kind: 'slow-log' });
	const decoder = new TextDecoder();
	let csv = '';
	for (const chunk of pointsCsv(run)) csv += decoder.decode(chunk, { stream: true });
	const again = score(sim, run.result, readPoints(csv), run.surface);
	expect(again.records.rmse_pct).toBeCloseTo(scores.records.rmse_pct, 2);
	expect(again.records.kept_pct).toBeCloseTo(scores.records.kept_pct, 2);
	expect(again.area_pct).toBeCloseTo(scores.area_pct, 2);
	expect(again.place_m).toBeCloseTo(scores.place_m, 1);
});

test('the sample field: both factors, the weight to distrust, the clock', async () => {
	const sim = sampleField();
	const { run } = await sampleRun();
	const scores = score(sim, run.result, pointsOf(run), run.surface);
	for (const f of scores.factors) {
		expect(Math.abs(f.error_pct)).toBeLessThan(0.6);
		expect(f.covered).toBe(true);
	}
	expect(scores.dumps.wrong).toEqual([]);
	expect(scores.unweighed.invented).toBe(0);
	expect(Math.abs(scores.clock.error_s)).toBeLessThan(30);
	expect(Math.abs(scores.area_pct)).toBeLessThan(1);
	expect(scores.records.rmse_pct).toBeLessThan(5);
});
