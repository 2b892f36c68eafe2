import { beforeAll, describe, expect, it } from 'vitest';
import { type Result, runField } from '../../lib/index.ts';
import { folder } from '../read/folder.ts';
import { sampleFiles, sampleRun } from '../viewer/sample.ts';

/** A day of dumps in another scale: the factors scale, and nothing else changes. */

const base = Object.fromEntries(
	[...sampleFiles()].map(([name, bytes]) => [name, new TextDecoder().decode(bytes)] as const),
);
const run = async (files: Record<string, string>): Promise<Result> =>
	(await runField(folder(files), { grid: false })).result;

/** A table with some of its columns multiplied. */
function scaled(text: string, columns: readonly string[], by: number): string {
	const [head, ...rows] = text.trimEnd().split('\n') as [string, ...string[]];
	const names = head.split(',');
	const cell = (value: string, k: number) =>
		columns.includes(names[k]!) && value !== '' ? String(Number(value) * by) : value;
	return [head, ...rows.map((row) => row.split(',').map(cell).join(',')), ''].join('\n');
}
const weighed = (by: number) => ({
	...base,
	'cart.csv': scaled(base['cart.csv']!, ['weight_kg'], by),
	'tickets.csv': scaled(base['tickets.csv']!, ['net_kg'], by),
});
const shape = (r: Result) => r.dumps.map(({ id, combine, status, fill }) => [id, combine, status, fill]);

describe('a day of dumps in another scale', () => {
	let was: Result;
	beforeAll(async () => {
		was = (await sampleRun()).run.result;
	});
	const expectScaled = (now: Result, by: number) => {
		expect(shape(now)).toEqual(shape(was));
		for (const [name, { factor }] of Object.entries(now.combines)) {
			expect(factor!.value / was.combines[name]!.factor!.value / by).toBeCloseTo(1, 3);
		}
	};
	const named = (r: Result, column: string) =>
		r.notes.some((n) => n.level === 'caution' && n.text.includes(column) && /\bunit/.test(n.text));

	it.each([0.5, 2.2046])('weights × %f: the factors scale, and a caution names the column and its unit', async (by) => {
		const now = await run(weighed(by));
		expectScaled(now, by);
		expect(named(now, 'weight_kg')).toBe(true);
	});

	it('flow of both logs in lb/s read as kg/s: the factors make up for it, and a caution names the column', async () => {
		const files = { ...base };
		for (const name of ['combine-Heron.csv', 'combine-Marten.csv']) {
			files[name] = scaled(base[name]!, ['flow_kg_s'], 1 / 0.45359237);
		}
		const now = await run(files);
		expectScaled(now, 0.45359237);
		expect(named(now, 'flow_kg_s')).toBe(true);
	});
});
