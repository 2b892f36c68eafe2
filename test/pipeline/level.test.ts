import { describe, expect, test } from 'vitest';
import type { FactorInput } from '../../lib/factor/index.ts';
import { runField } from '../../lib/index.ts';
import type { Factor, Factors, SeamJump } from '../../lib/model/index.ts';
import { leveledBySeams } from '../../lib/pipeline/level.ts';
import { tinyField } from '../fuzz/tiny.ts';
import { folder } from '../read/folder.ts';

const none = (combine: number): Factor => ({
	combine,
	form: 'constant',
	value: Number.NaN,
	u_rel: Number.NaN,
	interval: [Number.NaN, Number.NaN],
	next_interval: [Number.NaN, Number.NaN],
	n: 0,
	source: null,
	changes: [],
	knots: [],
	curve: [],
	budget: [],
	scatter_rel: Number.NaN,
	moreDumps: Infinity,
	advice: [],
	tried: [],
});
const bare = (m: number): Factors => ({
	factors: Array.from({ length: m }, (_, c) => none(c)),
	factor: new Float64Array(m).fill(Number.NaN),
	u_rel: new Float64Array(m).fill(Number.NaN),
	covariance: new Float64Array(m * m),
});
const jump = (combineA: number, combineB: number, ratio: number, u_log: number) =>
	({ combineA, combineB, log_jump: Math.log(ratio), u_log }) as SeamJump;

/** One record a combine, with all of its grain. */
const input = (kg: number[], jumps: SeamJump[], level?: 'seams') =>
	({
		records: { n: kg.length, combines: kg.map((_, c) => 'ABC'[c]), combine: Uint8Array.from(kg, (_, c) => c) },
		account: { account_kg: Float64Array.from(kg) },
		plan: { pins: { level } },
		jumps,
	}) as unknown as FactorInput;

describe('combines leveled by seams where nothing was weighed', () => {
	test('their seams close, and their grain stays what was recorded', () => {
		const made = leveledBySeams(input([60_000, 40_000], [jump(0, 1, 1.08, 0.01)], 'seams'), bare(2));
		// k_B = 1.08 k_A and 60 k_A + 40 k_B = 100.
		expect(made.factors.map((f) => f.value)).toEqual([expect.closeTo(100 / 103.2, 9), expect.closeTo(108 / 103.2, 9)]);
		expect(made.factors.every((f) => f.source === 'seams')).toBe(true);
		const [aa, ab, , bb] = made.covariance as unknown as [number, number, number, number];
		// What they have in common is the level, unknown as before any weight; apart they are as sure as the seam.
		expect(Math.sqrt(aa + bb - 2 * ab)).toBeCloseTo(0.01, 9);
		for (const f of made.factors) expect(f.interval[1] / f.value - 1).toBeGreaterThan(0.23);
		expect(made.cautions?.join()).toMatch(/A and B.*level itself is unknown/);
	});

	test('a combine without a seam stands as recorded; not asked for, all do', () => {
		const jumps = [jump(0, 1, 0.9, 0.02), jump(1, 1, 1.01, 0.01)];
		const made = leveledBySeams(input([50_000, 50_000, 10_000], jumps, 'seams'), bare(3));
		expect(made.factors.map((f) => f.source)).toEqual(['seams', 'seams', null]);
		expect(made.factor[2]).toBeNaN();
		const plain = bare(3);
		expect(leveledBySeams(input([5, 5, 1], jumps), plain)).toBe(plain);
	});

	test('weights, or no seam: it is said why it is not done', () => {
		const weighed = bare(2);
		weighed.factors[0] = { ...none(0), value: 1, source: 'dumps' };
		expect(leveledBySeams(input([5, 5], [jump(0, 1, 1, 0.1)], 'seams'), weighed).cautions?.join()).toMatch(/not done/);
		expect(leveledBySeams(input([5, 5], [], 'seams'), bare(2)).cautions?.join()).toMatch(/no seam compares/);
	});

	test('a whole run says that the level is unknown, and so does the scale that nothing was weighed on', async () => {
		const files = tinyField();
		const { cartLog, tickets, total, ...plan } = JSON.parse(files['field.json'] as string) as Record<string, unknown>;
		const run = async (pins: object) =>
			(await runField(folder({ ...files, 'field.json': JSON.stringify({ ...plan, pins }) }), { grid: false })).result;
		const [without, asked] = [await run({}), await run({ level: 'seams' })];
		expect(Object.values(without.combines).map((c) => c.factor)).toEqual([null, null]);
		// Limits of 1 % are given: nothing compared it with anything.
		expect(without.reference).toMatchObject({ ratio: 1, n: 0, source: 'none', interval: [0.9905, 1.0095] });
		const cautions = asked.notes.filter((n) => n.level === 'caution').map((n) => n.text);
		expect(cautions.join()).toMatch(/level itself is unknown|no seam compares/);
	});
});
