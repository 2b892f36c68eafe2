import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type Run, runField, type Source } from '../../lib/index.ts';
import { OPEN_LOG, OPEN_LOG_COLUMNS, openLogThere } from '../open-log.ts';

/** The open log holds no weights: those below are made up, at a factor of our choice. */
const FACTOR = 1.06;
const LB = 0.45359237;
const START_S = Date.UTC(2011, 10, 5, 17, 38, 3) / 1000;

function source(name: string, text: string): [string, Source] {
	const bytes = new TextEncoder().encode(text);
	return [
		name,
		{
			name,
			bytes: bytes.length,
			async *chunks() {
				yield bytes;
			},
		},
	];
}

/** The log as rows of numbers: long, lat, mass, time, seconds, dist, swath, moist, elev. */
function rowsOf(text: string): number[][] {
	return text
		.trim()
		.split('\n')
		.slice(1)
		.map((line) => line.split(',').map(Number));
}

/** A cart that empties the tank whenever about so much was cut, its clock 95 s slow, nothing noted but the weights. */
function madeUpCart(rows: number[][]): string {
	const lines = ['id,time,event,combine,weight_kg,emptied'];
	const iso = (s: number) => new Date((START_S + s - 95) * 1000).toISOString().replace('.000', '');
	let kg = 0;
	let n = 0;
	let want = 7000;
	rows.forEach((r, i) => {
		kg += (r[2] as number) * LB * (r[4] as number);
		if (kg < want && i < rows.length - 1) return;
		n++;
		lines.push(`D${n},${iso(r[3] as number)},dump,A,${(kg * FACTOR).toFixed(1)},yes`);
		kg = 0;
		want = 6000 + 500 * ((n * 7) % 6);
	});
	return `${lines.join('\n')}\n`;
}

describe.skipIf(!openLogThere)('the open log with made-up weights (skipped without ../shared/data)', () => {
	const text = openLogThere ? readFileSync(OPEN_LOG, 'utf8') : '';
	const rows = rowsOf(text);
	const plan = {
		name: 'Open log',
		crop: 'corn',
		logs: [
			{
				file: 'x.csv',
				combine: 'A',
				columns: OPEN_LOG_COLUMNS,
			},
		],
		cartLog: { file: 'cart.csv' },
		scales: { cart: { limit_pct: 1 } },
	};
	let run: Run;
	it('runs', async () => {
		run = await runField(
			new Map([
				source('field.json', JSON.stringify(plan)),
				source('x.csv', text),
				source('cart.csv', madeUpCart(rows)),
			]),
		);
		expect(run.result.combines.A?.records).toBe(4949);
	});

	it('keeps the mass of the plain sum to 0.01 %', () => {
		const plain = rows.reduce((sum, r) => sum + (r[2] as number) * LB * (r[4] as number), 0);
		expect(Math.abs(run.result.totals.monitor_kg / plain - 1)).toBeLessThan(1e-4);
		// Every record is in one fill or after the last.
		const fills = run.match.unloadings.reduce((sum, u) => sum + u.account_kg, 0);
		expect(Math.abs(fills / (run.result.combines.A?.account_kg ?? 0) - 1)).toBeLessThan(0.01);
	});

	it("gives each record the yield of the log's own documentation over dist × swath", () => {
		const { records } = run.field;
		const { bushel_kg } = run.field.plan.crop;
		rows.forEach((r, i) => {
			const [, , mass, , seconds, dist, swath, moist] = r as [
				number,
				number,
				number,
				number,
				number,
				number,
				number,
				number,
			];
			const bushels = (mass * seconds * (100 - moist)) / (100 - 15.5) / 56;
			const acres = (dist * swath) / 6_272_640;
			const kg = (run.account.monitor_kg[i] as number) * ((100 - (records.moisture_pct[i] as number)) / (100 - 15.5));
			const ha = ((records.distance_m[i] as number) * (records.swath_m[i] as number)) / 10_000;
			// 25.401 kg is 56 lb to five digits; an acre is 0.40468564224 ha (NIST Handbook 44, App. C).
			const ours = ((kg / bushel_kg) * 0.404_685_642_24) / ha;
			if (mass === 0 || dist === 0) expect(run.account.monitor_kg[i] === 0 || ha === 0, `row ${i + 2}`).toBe(true);
			else expect(Math.abs(ours / (bushels / acres) - 1), `row ${i + 2}`).toBeLessThan(2e-5);
		});
	});

	it('finds the factor and the clock', () => {
		const factor = run.result.combines.A?.factor;
		expect(Math.abs((factor?.value ?? 0) / FACTOR - 1)).toBeLessThan(0.003);
		expect(factor?.interval[0]).toBeLessThan(FACTOR);
		expect(factor?.interval[1]).toBeGreaterThan(FACTOR);
		expect(Math.abs((run.result.clock.offset_s ?? 0) - 95)).toBeLessThan(60);
		expect(run.result.dumps.every((d) => d.status !== 'aside')).toBe(true);
	});
});
