import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { zipSync } from 'fflate';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { IntakeReport, Result } from '../../lib/index.ts';
import { spawned, steelyard } from './call.ts';
import { littleField, writeField } from './little.ts';

let dir: string;
let files: Record<string, string>;
beforeAll(() => {
	dir = mkdtempSync(join(tmpdir(), 'steelyard-intake-'));
	files = littleField();
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

let fresh = 0;
const place = () => join(dir, `p${++fresh}`);

/** The little field's files as exports: no field.json; weights in pounds, a log that speaks US. */
function exports(name: string): string {
	const lb = (kg: string) => Math.round(Number(kg) / 0.45359237).toString();
	const log = (files['A.csv'] as string)
		.replace('flow_kg_s', 'Flow (lb/s)')
		.replace('distance_m', 'Distance (ft)')
		.split('\n')
		.map((line, i) => {
			const c = line.split(',');
			if (i === 0 || c.length < 6) return line;
			c[3] = (Number(c[3]) / 0.45359237).toFixed(4);
			c[5] = (Number(c[5]) / 0.3048).toFixed(3);
			return c.join(',');
		})
		.join('\r\n');
	const cart = (files['cart.csv'] as string)
		.replace('weight_kg', 'Net Weight (lb)')
		.replace(/(dump,A|offload,),(\d+)/g, (_, e: string, kg: string) => `${e},${lb(kg)}`);
	return writeField(join(place(), name), {
		'combine A.csv': log,
		'cart.csv': cart,
		'tickets.csv': files['tickets.csv'] as string,
		'notes.txt': 'call the elevator\n',
	});
}

describe('intake', () => {
	it('writes a field folder that is corrected as the hand-made one is, and says why', async () => {
		const out = place();
		const done = spawned(dir, 'intake', exports('Larkhill'), '--out', out, '--crop', 'corn');
		expect(done.status, done.err).toBe(0);
		expect(readdirSync(out).sort()).toEqual(['intake.json', 'larkhill']);
		expect(done.out).toMatch(/combine A: [\d,]+ records, [\d,]+ lb by the monitor, [\d.]+ ac,/);
		const metric = await steelyard(
			'intake',
			exports('Larkhill'),
			'--out',
			place(),
			'--crop',
			'corn',
			'--units',
			'metric',
		);
		expect(metric.out).toMatch(/combine A: [\d,]+ records, [\d,]+ kg by the monitor, [\d.]+ ha,/);
		const report = JSON.parse(readFileSync(join(out, 'intake.json'), 'utf8')) as IntakeReport;
		expect(report.schema).toBe('steelyard.intake/1');
		expect(report.sources.map((s) => s.use)).toEqual(['cart', 'log', 'none', 'tickets']);
		expect(report.sources.find((s) => s.use === 'none')?.why).not.toBe('');
		expect(report.sources.every((s) => /^[0-9a-f]{64}$/.test(s.sha256) && s.bytes > 0)).toBe(true);
		const distance = report.sources.find((s) => s.use === 'log')?.columns.find((c) => c.as === 'distance');
		expect(distance).toMatchObject({ column: 'Distance (ft)', unit: 'ft' });
		expect(distance?.because.join(' ')).toContain('positions are');

		const [mine, hand] = [place(), place()];
		expect((await steelyard('correct', join(out, 'larkhill'), '--out', mine)).status).toBe(0);
		expect(readFileSync(join(mine, 'report.html'), 'utf8')).toContain(
			'<td>Distance (ft)</td><td>distance</td><td>ft</td>',
		);
		expect(
			(
				await steelyard(
					'correct',
					writeField(place(), {
						...files,
						'field.json': (files['field.json'] as string).replace(/"combines":\{.*?\}\}/, '"combines":{}'),
					}),
					'--out',
					hand,
				)
			).status,
		).toBe(0);
		const [a, b] = [mine, hand].map((d) => JSON.parse(readFileSync(join(d, 'result.json'), 'utf8')) as Result);
		expect(a?.totals.monitor_kg).toBeCloseTo(b?.totals.monitor_kg as number, 0);
		const factor = (r: Result | undefined) => r?.combines.A?.factor?.value as number;
		// Weights and flows rounded to pounds.
		expect(Math.abs(factor(a) / factor(b) - 1)).toBeLessThan(0.001);
	}, 400_000);

	it('a zip corrects without a folder; with a question open it ends with status 1 and the question', async () => {
		const zip = join(place(), '..', 'larkhill corn.zip');
		const from = exports('Larkhill');
		writeFileSync(zip, zipSync(Object.fromEntries(readdirSync(from).map((f) => [f, readFileSync(join(from, f))]))));
		const out = place();
		expect((await steelyard('correct', zip, '--out', out)).status).toBe(0);
		expect(existsSync(join(out, 'result.json'))).toBe(true);
		const open = place();
		const log = join(from, 'combine A.csv');
		const asked = await steelyard('check', log);
		expect([asked.status, asked.err]).toEqual([1, expect.stringMatching(/crop.*corn, soybeans/s)]);
		expect((await steelyard('intake', log, '--out', open)).status).toBe(0);
		const folder = readdirSync(open).find((f) => f !== 'intake.json') as string;
		const correct = await steelyard('correct', join(open, folder), '--out', place());
		expect([correct.status, correct.err]).toEqual([1, expect.stringContaining('open question (crop)')]);
		// Answered by file, nothing is open.
		const answers = join(dir, 'answers.json');
		writeFileSync(answers, JSON.stringify({ 'combine A.csv': { crop: 'corn' } }));
		const done = place();
		expect((await steelyard('intake', log, '--out', done, '--answers', answers)).status).toBe(0);
		const report = JSON.parse(readFileSync(join(done, 'intake.json'), 'utf8')) as IntakeReport;
		expect(report.fields[0]).toMatchObject({ crop: 'corn', questions: [] });
	}, 400_000);

	it('--replace takes the place of what an intake wrote, and of nothing else', async () => {
		const out = place();
		const from = exports('Larkhill');
		const again = async (...more: string[]) =>
			(await steelyard('intake', from, '--out', out, '--crop', 'corn', ...more)).status;
		expect([await again(), await again(), await again('--replace')]).toEqual([0, 2, 0]);
		expect(readdirSync(out).sort()).toEqual(['intake.json', 'larkhill']);
		expect(readdirSync(join(out, '..')).filter((f) => f.includes('being') || f.startsWith('.'))).toEqual([]);
		// A note of the user's, or a field.json that was worked on, stays.
		writeFileSync(join(out, 'larkhill', 'note.txt'), 'mine');
		const refused = await steelyard('intake', from, '--out', out, '--crop', 'corn', '--replace');
		expect([refused.status, refused.err]).toEqual([2, expect.stringContaining('larkhill/note.txt')]);
		rmSync(join(out, 'larkhill', 'note.txt'));
		writeFileSync(join(out, 'larkhill', 'field.json'), '{}');
		expect(await again('--replace')).toBe(2);
		expect(readFileSync(join(out, 'larkhill', 'field.json'), 'utf8')).toBe('{}');
	}, 400_000);

	it('where nothing can be read: status 1, every file with its reason, no folder', async () => {
		const out = place();
		const from = writeField(place(), { 'a.csv': 'name,phone\nX,1\nY,2\n', 'b.bin': '\u0000\u0001\u0002', 'c.csv': '' });
		const done = await steelyard('intake', from, '--out', out);
		expect(done.status).toBe(1);
		for (const name of ['a.csv', 'b.bin', 'c.csv']) expect(done.err).toContain(name);
		expect(existsSync(out)).toBe(false);
	});

	it('a wrong call is status 2: no source, an unknown crop or zone, a folder in use', async () => {
		const from = exports('Larkhill');
		expect((await steelyard('intake', '--out', place())).status).toBe(2);
		expect((await steelyard('intake', from, '--out', place(), '--crop', 'triffids')).status).toBe(2);
		expect((await steelyard('intake', from, '--out', place(), '--time-zone', 'Mars/Olympus')).status).toBe(2);
		expect((await steelyard('intake', from, '--out', dir)).status).toBe(2);
		expect((await steelyard('intake', join(dir, 'nowhere.csv'), '--out', place())).status).toBe(1);
	});
});
