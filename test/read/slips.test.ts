import { describe, expect, test } from 'vitest';
import { type Field, faultText } from '../../lib/model/index.ts';
import { faultsOf, fieldFolder, logText, read } from './folder.ts';

const cautions = (field: Field) => field.notes.filter((n) => n.level === 'caution').map((n) => n.text);
const minute = (i: number) => `2026-10-03T14:${String(i).padStart(2, '0')}:00Z`;

/** A cart log from its rows, `dump` weights positive and offloads negative, a minute apart. */
const cart = (weights_kg: number[]) =>
	`id,time,event,combine,weight_kg\n${weights_kg
		.map((kg, i) => `D${i + 1},${minute(i)},${kg > 0 ? 'dump' : 'offload'},,${Math.abs(kg)}`)
		.join('\n')}\n`;
const withCart = (weights_kg: number[]) => read({ cartLog: { file: 'cart.csv' } }, { 'cart.csv': cart(weights_kg) });
const weights = (field: Field) => field.book.dumps.map((d) => d.weight_kg);

describe("the cart's running display in place of what each dump added", () => {
	test('offloads tell, and the differences are used', async () => {
		const field = await withCart([5000, 9000, -9010, 4000, -4000, 6000, 10_500, 13_000, -12_990]);
		expect(weights(field)).toEqual([5000, 4000, 4000, 6000, 4500, 2500]);
		expect(cautions(field).join('\n')).toMatch(
			/cart\.csv: column weight_kg of dumps D1 to D8 holds what was in the cart/,
		);
	});

	test('also for a part of the day, and for what is still in the cart at its end', async () => {
		const morning = [5000, 4000, -9000, 5100, 4100, -9200];
		const field = await withCart([...morning, 5000, 9000, -9000, 4500, 9500, -9500, 5200, 9900]);
		expect(weights(field)).toEqual([5000, 4000, 5100, 4100, 5000, 4000, 4500, 5000, 5200, 4700]);
		expect(cautions(field).join('\n')).toMatch(/dumps D7 to D14/);
	});

	test('a rest that the truck did not take stands in the next figures', async () => {
		const field = await withCart([5000, 9000, -9000, 4000, 9000, -7000, 6500, -6480, 5000, 8000, -8000]);
		expect(weights(field)).toEqual([5000, 4000, 4000, 5000, 4500, 5000, 3000]);
	});

	test.each<[string, number[], number[]]>([
		[
			'an offload mistyped',
			[5000, 9000, -9010, 4000, 9000, -90_000, 6000, 10_500, -10_480],
			[5000, 4000, 4000, 5000, 6000, 4500],
		],
		[
			'an offload missing',
			[5000, 9000, -9010, 4000, 9000, 6000, 10_500, -10_480, 5000, 8000, -8000],
			[5000, 4000, 4000, 5000, 6000, 4500, 5000, 3000],
		],
		['a figure missing', [5000, 9000, -9010, 4000, -9000, 6000, 10_500, -10_480], [5000, 4000, 4000, 6000, 4500]],
	])('with %s', async (_, rows, added_kg) => {
		expect(weights(await withCart(rows))).toEqual(added_kg);
	});

	test.each<[string, number[]]>([
		['as it should be', [5000, 6000, -11_000, 4000, 7000, -11_000]],
		['one load that looks so', [4000, 7000, -7000, 4000, 5000, -9000]],
		['loads of one dump', [4000, -4000, 5000, -5000, 6000, -6000]],
		['weights that fall', [7000, 4000, -4000, 6000, 5000, -5000]],
	])('%s: nothing is changed', async (_, rows) => {
		const field = await withCart(rows);
		expect(weights(field)).toEqual(rows.filter((kg) => kg > 0));
		expect(cautions(field).filter((text) => /was in the cart/.test(text))).toEqual([]);
	});
});

test.each<[string, number[], RegExp | null]>([
	[
		'filled down',
		[5000, 6120, 6120, 6120, 5500, 4990, 6230],
		/dumps D2 to D4 \(rows 3 to 5\) all have the same weight/,
	],
	['all the same', [6120, 6120, 6120], /dumps D1 to D3/],
	['two in a row', [5000, 6120, 6120, 5500, 4990, 6230], null],
	['rounded to a ton', [5000, 6000, 6000, 6000, 5000, 6000, 6000, 5000, 5000], null],
])('one weight in several rows: %s', async (_, rows, says) => {
	const found = cautions(await withCart(rows)).filter((text) => /same weight/.test(text));
	if (says === null) expect(found).toEqual([]);
	else expect(found.join()).toMatch(says);
});

test('a ticket whose tare is the heavier weight says so', async () => {
	const files = { 'tickets.csv': 'ticket,time,gross_lb,tare_lb\n1,,30000,73000\n' };
	const faults = await faultsOf(fieldFolder({ tickets: { file: 'tickets.csv' } }, files));
	expect(faults.map(faultText).join('\n')).toMatch(
		/tickets\.csv, row 2, column gross_lb: the gross is less than the tare.*30000 less 73000/,
	);
});

describe('a log that stands in the folder a second time under another clock', () => {
	const later = (text: string, s: number, change: (row: string[], k: number) => void = () => {}) =>
		text.replace(/^2026[^,]*.*/gm, (line) => {
			const row = line.split(',');
			row[0] = new Date(Date.parse(row[0]!) + 1000 * s).toISOString();
			change(row, Number(row[3]));
			return row.join(',');
		});
	const stops = logText(80, (row, k) => {
		if (k % 10 === 9) row[3] = '0';
	});

	test.each(['A', 'B'])('counts once, under combine %s too', async (combine) => {
		const logs = [
			{ file: 'a.csv', combine: 'A' },
			{ file: 'b.csv', combine },
		];
		const field = await read({ logs }, { 'a.csv': stops, 'b.csv': later(stops, 3600) });
		expect(field.records.n).toBe(80);
		expect(field.setAside).toHaveLength(80);
		expect(cautions(field).join('\n')).toMatch(
			/b\.csv: 80 records are equal in position and flow to records of a\.csv, but 3600 s later; each counts once/,
		);
	});

	test('an overlap of two exports in one file', async () => {
		const rows = stops.trim().split('\n');
		const file = [...rows, ...later(stops, 20).trim().split('\n').slice(30)].join('\n');
		const field = await read({}, { 'a.csv': file });
		expect(field.records.n).toBe(80);
		expect(cautions(field).join('\n')).toMatch(
			/51 records are equal in position and flow to earlier rows, but 20 s later/,
		);
	});

	test('the same way driven again is none', async () => {
		const again = later(stops, 3600, (row) => {
			row[3] = String(Number(row[3]) + 0.01);
		});
		const logs = ['a', 'b'].map((name) => ({ file: `${name}.csv`, combine: 'A' }));
		const field = await read({ logs }, { 'a.csv': stops, 'b.csv': again });
		expect(field.records.n).toBe(160);
	});
});

describe('a clock set back while the combine drives on', () => {
	const at = (k: number) => new Date(Date.UTC(2026, 9, 3, 14, 0, k)).toISOString();
	const setBack = (from: number, s: number, change: (row: string[], k: number) => void = () => {}) =>
		logText(80, (row, k) => {
			if (k >= from) row[0] = at(k - s);
			change(row, k);
		});

	test('later rows follow on those before', async () => {
		const field = await read({}, { 'a.csv': setBack(50, 3600) });
		expect([...field.records.time_s]).toEqual(Array.from({ length: 80 }, (_, k) => Date.parse(at(k)) / 1000));
		expect(cautions(field).join()).toMatch(/a\.csv: at row 52 the time goes back by 1 h while the combine drives on/);
	});

	test.each<[string, string]>([
		['from another place', setBack(50, 3600, (row, k) => k >= 50 && (row[1] = String(41.61 + k * 1e-5)))],
		['more than once', setBack(50, 3600, (row, k) => k >= 70 && (row[0] = at(k - 7200)))],
		['and on again', setBack(50, 3600, (row, k) => k >= 55 && (row[0] = at(k)))],
		['by less than rows may be out of order', setBack(50, 100)],
	])('rows in another order are none: back %s', async (_, text) => {
		const field = await read({}, { 'a.csv': text });
		expect(field.records.time_s[60]).toBe(Date.parse(text.split('\n')[61]!.split(',')[0]!) / 1000);
		expect(cautions(field).join()).not.toMatch(/set back/);
	});
});

test('a display total far from what the log adds up to is told', async () => {
	const total = (wet_kg: number) => ({ combines: { A: { display_total: { wet_kg } } } });
	// 20 records of 12 to 13.9 kg.
	expect(cautions(await read(total(259)))).toEqual([]);
	expect(cautions(await read(total(320))).join()).toMatch(/Combine A: its log adds up to .*19% less than its display/);
});

test('files that field.json does not name are listed', async () => {
	const field = await read(
		{},
		{
			'combine-C.csv': logText(),
			'README.md': 'x',
			'.DS_Store': 'x',
			'old/report.html': 'x',
			'results/report.html': 'x',
			'results/result.json': '{}',
		},
	);
	expect(field.notes.map((n) => n.text)).toContain(
		'In the folder but not named in field.json, so not used: combine-C.csv, old/report.html.',
	);
	expect((await read()).notes).toEqual([]);
});

test('a log far from the first one, and one without seconds per record', async () => {
	const logs = ['a', 'b'].map((name) => ({ file: `${name}.csv`, combine: name.toUpperCase() }));
	const exchanged = logText(20, (row) => {
		[row[1], row[2]] = ['-33.5', '41.6'];
		row[4] = '';
	});
	const found = cautions(await read({ logs }, { 'b.csv': exchanged })).join('\n');
	expect(found).toMatch(/b\.csv lies far from a\.csv .*-33\.50, 41\.60 against 41\.60, -93\.50.*exchanged\?/);
	expect(found).toMatch(
		/b\.csv: column interval_s is never above 0: each row is taken to stand for the usual time between rows, 1 s/,
	);
});

test('a moisture that no grain has is listed', async () => {
	const files = { 'tickets.csv': 'ticket,time,net_kg,moisture_pct\n1,,20000,1.56\n2,,20000,15.6\n' };
	const field = await read({ tickets: { file: 'tickets.csv' } }, files);
	expect(field.book.tickets.map((t) => t.moisture_pct)).toEqual([Number.NaN, 15.6]);
	expect(field.setAside.map(({ row, column, found }) => [row, column, found])).toEqual([[2, 'moisture_pct', '1.56']]);
});

test('a ticket in the table twice counts once; another weight under its number is kept', async () => {
	const rows =
		'ticket,time,truck_load,net_kg\n1,,T1,20000\n1,,T1,20000\n2,,T2,21000\n2,,T2,9000\n,,T3,8000\n,,T3,8000\n';
	const field = await read({ tickets: { file: 'tickets.csv' } }, { 'tickets.csv': rows });
	expect(field.book.tickets.map((t) => t.net_kg)).toEqual([20000, 21000, 9000, 8000, 8000]);
	expect(field.setAside).toMatchObject([{ row: 3, column: 'ticket', found: '1', why: /row 2/ }]);
	expect(cautions(field).join(' ')).toMatch(/row 3 repeats a ticket/);
	expect(cautions(field).join(' ')).toMatch(/ticket 2 is in rows 4 and 5; both/);
});

test('a limit that no cart scale has is not used', async () => {
	const of = (limit_pct: number) => read({ scales: { cart: { limit_pct } } });
	const fraction = await of(0.01);
	expect(fraction.plan.scales.cart!.limit_pct).toBeNull();
	expect(fraction.notes.map((n) => n.text).join(' ')).toMatch(/limit_pct is 0\.01.*Is it a fraction/);
	expect((await of(0.2)).plan.scales.cart!.limit_pct).toBe(0.2);
});

test('a tank that no combine has is not used', async () => {
	const of = (tank_kg: number) => read({ combines: { A: { tank_kg } } });
	const bushels = await of(350);
	expect(bushels.plan.combines.A!.tank_kg).toBeNull();
	expect(cautions(bushels).join(' ')).toMatch(/A\.tank_kg is 350.*another unit, such as bushels.*not used/);
	const given = await of(9500);
	expect(given.plan.combines.A!.tank_kg).toBe(9500);
	expect(cautions(given).join(' ')).not.toMatch(/tank_kg/);
});
