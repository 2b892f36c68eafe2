import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type { Records } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { fieldFolder, folder, HEADER, logText, read } from './folder.ts';

const utc = (text: string) => Date.parse(text) / 1000;

describe('a log by its own headers', () => {
	test('every column in its unit, in the file’s order', async () => {
		const header = `load,${HEADER},combine,header_down,auger_on,speed_m_s,heading_deg,elevation_m,variety,own`;
		const text = `${header}
7,2026-10-03T14:00:00Z,41.6,-93.5,12.5,1,1.8,9.144,18.5,B,1,0,1.9,270,300.5,early,x
7,2026-10-03T13:59:58.5Z,41.7,-93.6,,1,,9.144,,,0,1,,,,,y
,2026-10-03T14:00:00Z,,,1,1,1,1,1,B,,,,,,late,
`;
		const { records, setAside } = await read({}, { 'a.csv': text });
		expect(setAside).toEqual([]);
		expect(records.n).toBe(3);
		expect(records.combines).toEqual(['A', 'B']);
		expect([...records.combine]).toEqual([1, 0, 1]);
		expect([...records.line]).toEqual([2, 3, 4]);
		expect([...records.time_s]).toEqual([
			utc('2026-10-03T14:00:00Z'),
			utc('2026-10-03T13:59:58.5Z'),
			utc('2026-10-03T14:00:00Z'),
		]);
		expect([...records.lat_deg]).toEqual([41.6, 41.7, Number.NaN]);
		expect([...records.flow_kg_s]).toEqual([12.5, Number.NaN, 1]);
		expect([...records.distance_m]).toEqual([1.8, Number.NaN, 1]);
		expect([...records.moisture_pct]).toEqual([18.5, Number.NaN, 1]);
		expect([...records.headerDown]).toEqual([1, 0, -1]);
		expect([...records.augerOn]).toEqual([0, 1, -1]);
		expect([...records.speed_m_s]).toEqual([1.9, Number.NaN, Number.NaN]);
		expect(records.heading_deg[0]).toBe(270);
		expect(records.elevation_m[0]).toBe(300.5);
		expect(records.varieties).toEqual(['early', 'late']);
		expect([...records.variety]).toEqual([0, -1, 1]);
		expect(records.loads).toEqual(['7']);
		expect([...records.load]).toEqual([0, 0, -1]);
	});

	test('texts that differ in one letter are told apart', async () => {
		const loads = ['L10', 'L11', 'L11', 'L1', 'L10', '', 'M10'];
		const text = logText(7, (row, k) => row.push(loads[k] as string), `${HEADER},load`);
		const { records } = await read({}, { 'a.csv': text });
		expect([...records.load].map((k) => records.loads[k] ?? '')).toEqual(loads);
	});

	test('several logs are one after another; what grew is exact', async () => {
		const flows = (lon: string) => (row: string[], k: number) => {
			row[3] = String(9 + (k % 7));
			row[2] = lon;
		};
		const files = { 'a.csv': logText(40_000, flows('-93.5')), 'b.csv': logText(30_001, flows('-93.4')) };
		const logs = [
			{ file: 'a.csv', combine: 'A' },
			{ file: './b.csv', combine: 'B' },
		];
		const { records, inputs } = await readField(fieldFolder({ logs }, files, 100_000));
		expect(records.n).toBe(70_001);
		expect(records.time_s.length).toBe(70_001);
		expect(records.combine[39_999]).toBe(0);
		expect([records.combine[40_000], records.log[40_000], records.line[40_000]]).toEqual([1, 1, 2]);
		expect(records.lat_deg.every((lat) => lat > 41)).toBe(true);
		expect(inputs.map(({ file, rows }) => [file, rows])).toEqual([
			['field.json', 0],
			['a.csv', 40_000],
			['b.csv', 30_001],
		]);
		const text = files['a.csv'];
		expect(inputs[1]?.sha256).toBe(createHash('sha256').update(text).digest('hex'));
		expect(inputs[1]?.bytes).toBe(text.length);
	});

	test('quotes, semicolons with decimal commas, tabs, CRLF, a byte order mark and any chunks change nothing', async () => {
		const plain = logText(50, (row, k) => {
			if (k % 7 === 0) row[7] = '';
		});
		const wanted = (await read({}, { 'a.csv': plain })).records;
		const cells = (change: (cell: string) => string, separator: string, end: string) =>
			plain
				.trimEnd()
				.split('\n')
				.map((line) => line.split(',').map(change).join(separator))
				.join(end);
		const variants: Record<string, string> = {
			quoted: cells((c) => `"${c}"`, ',', '\n'),
			semicolons: cells((c) => c.replace('.', ','), ';', '\n'),
			tabs: cells((c) => c, '\t', '\r\n'),
			marked: `\ufeff${plain.replaceAll('\n', '\r\n')}`,
			'one quote late': plain.replace(/18\.5\n$/, '"18.5"\n'),
		};
		for (const [name, text] of Object.entries(variants)) {
			for (const size of [1, 13, 100_000]) {
				const { records, setAside } = await readField(fieldFolder({}, { 'a.csv': text }, size));
				expect(setAside, name).toEqual([]);
				expect(records, name).toEqual(wanted);
			}
		}
	});

	test('times without an offset are the zone’s', async () => {
		const text = logText(3, (row) => {
			row[0] = (row[0] as string).replace('Z', '');
		});
		const { records } = await read({ timeZone: 'America/Chicago' }, { 'a.csv': text });
		expect(records.time_s[0]).toBe(utc('2026-10-03T19:00:00Z'));
	});

	test('rows out of time order or with a repeated time are records all the same', async () => {
		const text = logText(10, (row, k) => {
			if (k === 5) row[0] = '2026-10-03T13:59:00Z';
			if (k === 6) row[0] = '2026-10-03T14:00:04Z';
		});
		const { records, setAside } = await read({}, { 'a.csv': text });
		expect([records.n, setAside.length]).toEqual([10, 0]);
		expect(records.time_s[5]).toBe(utc('2026-10-03T13:59:00Z'));
	});

	test('a record without a time keeps its place, and it is said', async () => {
		const text = logText(10, (row, k) => {
			if (k === 0 || k === 5 || k === 6) row[0] = '';
		});
		const { records, notes } = await read({}, { 'a.csv': text });
		expect([...records.time_s].map((t) => t - utc('2026-10-03T14:00:00Z'))).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
		expect([...(records.untimed as Uint8Array)]).toEqual([1, 0, 0, 0, 0, 1, 1, 0, 0, 0]);
		expect(notes.map((n) => n.text).join()).toMatch(/3 records have no time/);
	});

	test('rows of nothing but separators are no records', async () => {
		const { records, setAside } = await read({}, { 'a.csv': `${logText(3)},,,,,,,\n1,,\n,,,,,,,\n` });
		expect(records.n).toBe(3);
		expect(setAside.map((s) => s.found)).toEqual(['3 cells']);
	});

	test('a log that names no combine is called after its file; widths may come from field.json; distance may lack', async () => {
		const header = 'time,lat,lon,flow_kg_s,interval_s,moisture_pct';
		const text = `${header}\n2026-10-03T14:00:00Z,41.6,-93.5,12,1,18\n`;
		const named = await read(
			{ logs: [{ file: 'a.csv', combine: 'A' }], combines: { A: { swath_m: 9 } } },
			{ 'a.csv': text },
		);
		expect(named.records.swath_m[0]).toBe(9);
		expect(named.records.distance_m[0]).toBeNaN();
		expect(named.notes.map((n) => n.text).join()).toMatch(/no distance_m/);
		const bare = await read({ logs: [{ file: 'a.csv' }] }, { 'a.csv': logText() });
		expect(bare.records.combines).toEqual(['a']);
	});
});

describe('a log by a mapping', () => {
	const row = (mapping: Record<string, unknown>, columns: Record<string, string | number>) => {
		const base = {
			time: '2026-10-03T14:00:00Z',
			lat: 41.6,
			lon: -93.5,
			interval_s: 2,
			distance_m: 4,
			swath_m: 9,
			moisture_pct: 20,
		};
		const all = { flow_kg_s: 10, ...base, ...columns };
		const text = `${Object.keys(all).join(',')}\n${Object.values(all).join(',')}\n`;
		return read({ logs: [{ file: 'a.csv', combine: 'A', columns: mapping }] }, { 'a.csv': text });
	};

	// One of each unit in the library's own, by the exact pound, foot and mile; corn's bushel is 25.401 kg.
	test.each<[string, keyof Records, string, number]>([
		['flow', 'flow_kg_s', 'kg/s', 1],
		['flow', 'flow_kg_s', 'lb/s', 0.45359237],
		['flow', 'flow_kg_s', 't/h', 1 / 3.6],
		['flow', 'flow_kg_s', 'bu/h', 25.401 / 3600],
		['interval', 'interval_s', 's', 1],
		['interval', 'interval_s', 'min', 60],
		['interval', 'interval_s', 'h', 3600],
		['distance', 'distance_m', 'm', 1],
		['distance', 'distance_m', 'km', 1000],
		['distance', 'distance_m', 'ft', 0.3048],
		['swath', 'swath_m', 'in', 0.0254],
		['distance', 'distance_m', 'mi', 1609.344],
		['speed', 'speed_m_s', 'm/s', 1],
		['speed', 'speed_m_s', 'km/h', 1 / 3.6],
		['speed', 'speed_m_s', 'mph', 0.44704],
		['moisture', 'moisture_pct', '%', 1],
		['elevation', 'elevation_m', 'ft', 0.3048],
	])('%s in %s', async (key, column, unit, one) => {
		const given = await row({ [key]: { column: 'theirs', unit } }, { theirs: 3 });
		expect((given.records[column] as Float64Array)[0]).toBeCloseTo(3 * one, 10);
		const constant = await row({ [key]: { value: 3, unit } }, {});
		expect((constant.records[column] as Float64Array)[0]).toBeCloseTo(3 * one, 10);
	});

	// Over 4 m × 9 m in 2 s one kg/ha is 0.0018 kg/s; dry at 15.5 % it is 84.5 / 80 of that wet at 20 %.
	test.each([
		['kg/ha', 1],
		['t/ha', 1000],
		['lb/ac', 0.45359237 / 0.40468564224],
		['bu/ac', 25.401 / 0.40468564224],
	])('yield in %s, wet and dry', async (unit, one) => {
		const mapped = async (extra: object, moisture: string | number = 20) => {
			const text = `time,lat,lon,interval_s,distance_m,swath_m,moisture_pct,theirs\n2026-10-03T14:00:00Z,41.6,-93.5,2,4,9,${moisture},100\n`;
			const columns = { yield: { column: 'theirs', unit, ...extra } };
			return (await read({ logs: [{ file: 'a.csv', columns }] }, { 'a.csv': text })).records.flow_kg_s[0] as number;
		};
		expect(await mapped({ basis: 'wet' })).toBeCloseTo(0.18 * one, 9);
		expect(await mapped({ basis: 'dry', at_pct: 15.5 })).toBeCloseTo((0.18 * one * 84.5) / 80, 9);
		expect(await mapped({ basis: 'dry', at_pct: 15.5 }, '')).toBeNaN();
	});

	test('a yield in the mapping stands in place of a flow column of the contract’s name', async () => {
		const { records } = await row({ yield: { column: 'theirs', unit: 't/ha', basis: 'wet' } }, { theirs: 10 });
		expect(records.flow_kg_s[0]).toBeCloseTo(18, 10);
	});

	test('seconds since a moment, local or not; constants for texts; odd names', async () => {
		const time = (extra: object) => ({ time: { column: 'time', unit: 's', ...extra } });
		const text =
			'time,Latitude,LON,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct\n90.5,41.6,-93.5,12,1,1.8,9,18\n';
		const get = async (columns: object) =>
			(
				await read(
					{
						timeZone: 'America/Chicago',
						logs: [{ file: 'a.csv', columns: { lat: { column: 'latitude' }, ...columns } }],
					},
					{ 'a.csv': text },
				)
			).records;
		expect((await get(time({ since: '2011-11-05T17:38:03Z' }))).time_s[0]).toBe(utc('2011-11-05T17:39:33.5Z'));
		expect((await get(time({ since: '2011-11-05T12:38:03' }))).time_s[0]).toBe(utc('2011-11-05T17:39:33.5Z'));
		const minutes = await get({
			time: { column: 'time', unit: 'min', since: '2026-10-03T00:00:00Z' },
			combine: { value: 'North' },
			header: { value: 1 },
			variety: { value: 'early' },
		});
		expect(minutes.time_s[0]).toBe(utc('2026-10-03T01:30:30Z'));
		expect([minutes.combines, [...minutes.headerDown], minutes.varieties]).toEqual([['North'], [1], ['early']]);
	});

	test('a unit left out is said, an entry not known is said', async () => {
		const { records, notes } = await row({ flow: { column: 'theirs' }, flaw: { column: 'x' } }, { theirs: 11 });
		expect(records.flow_kg_s[0]).toBe(11);
		const said = notes.map((n) => n.text).join('\n');
		expect(said).toMatch(/theirs .*no unit: it is read as kg\/s/);
		expect(said).toMatch(/not known and not used: flaw/);
	});
});

describe('cart log and tickets', () => {
	const cart = `id,time,event,combine,weight_kg,emptied,truck_load,scale,field,moisture_pct,test_weight_kg_hl,variety,destination,lat,lon,note
D01,2026-10-03T14:10:00Z,dump,A,6235,yes,,cart,Home,18.2,72.1,early,,41.6,-93.5,"first, and ""good"""
D02,2026-10-03T14:20Z,Dump,a + B,8000.5,no,,,,,,,,,,
D03,2026-10-03,dump,,7000,,,,,,,,,,,
O01,,offload,,21000,,T1,,,,,,North elevator,,,
`;
	const plan = {
		timeZone: 'America/Chicago',
		logs: [
			{ file: 'a.csv', combine: 'A' },
			{ file: 'b.csv', combine: 'B' },
		],
		cartLog: { file: 'cart.csv' },
	};
	const files = {
		'b.csv': logText(20, (row) => {
			row[2] = '-93.4';
		}),
	};

	test('every column, times to whatever they are known to, row order', async () => {
		const { book, setAside } = await read(plan, { ...files, 'cart.csv': cart });
		expect(setAside).toEqual([]);
		expect(book.dumps.map((d) => d.id)).toEqual(['D01', 'D02', 'D03']);
		expect(book.dumps[0]).toEqual({
			id: 'D01',
			origin: { file: 'cart.csv', row: 2 },
			order: 0,
			time_s: utc('2026-10-03T14:10:00Z'),
			timeGrain: 'second',
			weight_kg: 6235,
			u_kg: Number.NaN,
			truckLoad: null,
			scale: 'cart',
			field: 'Home',
			moisture_pct: 18.2,
			testWeight_kg_hl: 72.1,
			variety: 'early',
			destination: null,
			lat_deg: 41.6,
			lon_deg: -93.5,
			note: 'first, and "good"',
			combines: ['A'],
			emptied: 1,
			settled: true,
		});
		expect(book.dumps.map((d) => d.combines)).toEqual([['A'], ['A', 'B'], []]);
		expect(book.dumps.map((d) => d.emptied)).toEqual([1, 0, -1]);
		expect(book.dumps.map((d) => d.timeGrain)).toEqual(['second', 'minute', 'day']);
		// The day starts at midnight of the field's time zone.
		expect(book.dumps[2]?.time_s).toBe(utc('2026-10-03T05:00:00Z'));
		expect(book.offloads[0]).toMatchObject({
			id: 'O01',
			order: 3,
			timeGrain: 'none',
			truckLoad: 'T1',
			destination: 'North elevator',
		});
		expect(book.offloads[0]?.time_s).toBeNaN();
	});

	test('pounds, by name or by a mapping', async () => {
		const lb = 'id,time,event,combine,weight_lb\nD1,,dump,A,10000\n';
		expect((await read(plan, { ...files, 'cart.csv': lb })).book.dumps[0]?.weight_kg).toBeCloseTo(4535.9237, 9);
		const mapped = 'no,when,what,weight\n1,,dump,100\n';
		const columns = {
			id: { column: 'no' },
			time: { column: 'when' },
			event: { column: 'what' },
			weight: { column: 'weight', unit: 'bu' },
		};
		const { book } = await read({ ...plan, cartLog: { file: 'cart.csv', columns } }, { ...files, 'cart.csv': mapped });
		expect(book.dumps[0]).toMatchObject({ id: '1', combines: [] });
		expect(book.dumps[0]?.weight_kg).toBeCloseTo(2540.1, 9);
	});

	test('a combine of no log, an id that stands twice: kept and said', async () => {
		const text = 'id,time,event,combine,weight_kg\nD1,,dump,C,100\nD1,,dump,A,100\n';
		const { book, notes } = await read(plan, { ...files, 'cart.csv': text });
		expect(book.dumps.map((d) => d.combines)).toEqual([['C'], ['A']]);
		const said = notes.map((n) => n.text).join('\n');
		expect(said).toMatch(/combine C, but there is no log of it/);
		expect(said).toMatch(/id D1 is in rows 2 and 3/);
	});

	test('what an optional cell holds wrongly is left out and listed, the weight stays', async () => {
		const text =
			'id,time,event,combine,weight_kg,emptied,moisture_pct,lat\nD1,,dump,A,100,perhaps,wet,412\nD2,,dump,A,90,,,\n';
		const { book, setAside } = await read(plan, { ...files, 'cart.csv': text });
		expect(book.dumps.length).toBe(2);
		expect(setAside.map(({ row, column, found }) => [row, column, found])).toEqual([
			[2, 'lat', '412'],
			[2, 'moisture_pct', 'wet'],
			[2, 'emptied', 'perhaps'],
		]);
	});

	test('tickets: net, pounds, gross and tare', async () => {
		const get = async (text: string) =>
			(await read({ ...plan, cartLog: null, tickets: { file: 't.csv' } }, { ...files, 't.csv': text })).book.tickets;
		const full =
			'ticket,time,truck_load,net_kg,combine,moisture_pct,test_weight_kg_hl,destination,note\nK1,2026-10-03T16:00:00Z,T1,21000,b,18,72,East,x\n';
		expect((await get(full))[0]).toEqual({
			ticket: 'K1',
			origin: { file: 't.csv', row: 2 },
			order: 0,
			time_s: utc('2026-10-03T16:00:00Z'),
			timeGrain: 'second',
			truckLoad: 'T1',
			net_kg: 21000,
			combine: 'B',
			moisture_pct: 18,
			testWeight_kg_hl: 72,
			destination: 'East',
			note: 'x',
		});
		expect((await get('ticket,net_lb\nK,1000\n'))[0]?.net_kg).toBeCloseTo(453.59237, 9);
		expect((await get('ticket,gross_lb,tare_lb\nK,30000,20000\n'))[0]?.net_kg).toBeCloseTo(4535.9237, 9);
		// Test weight in pounds a bushel: 56 lb/bu is 72.08 kg/hl (extension conversion tables, from memory).
		expect((await get('ticket,net_kg,test_weight_lb_bu\nK,1000,56\n'))[0]?.testWeight_kg_hl).toBeCloseTo(72.08, 2);
	});

	test('a cart log without rows is said', async () => {
		const { book, notes } = await read(plan, { ...files, 'cart.csv': 'id,time,event,combine,weight_kg\n' });
		expect(book.dumps).toEqual([]);
		expect(notes.map((n) => n.text)).toContain('cart.csv holds a header and no rows.');
	});

	test('a weight trace as it stands, below nothing too', async () => {
		const text =
			'time,weight_lb,moving\n2026-10-03T14:00:00Z,-20,0\n2026-10-03T14:00:01Z,,1\n2026-10-03T14:00:02Z,1000,\n';
		const { trace } = await read({ cartTrace: { file: 'trace.csv' } }, { 'trace.csv': text });
		expect(trace?.n).toBe(3);
		expect([...(trace?.line ?? [])]).toEqual([2, 3, 4]);
		expect(trace?.weight_kg[0]).toBeCloseTo(-9.0718474, 9);
		expect(trace?.weight_kg[1]).toBeNaN();
		expect([...(trace?.moving ?? [])]).toEqual([0, 1, -1]);
		expect(trace?.time_s[2]).toBe(utc('2026-10-03T14:00:02Z'));
	});
});

describe('field.json', () => {
	test('defaults, and everything that it may say', async () => {
		const bare = (await read()).plan;
		expect(bare).toMatchObject({
			season: null,
			timeZone: null,
			cartLog: null,
			tickets: null,
			total: null,
			pins: {},
			events: [],
		});
		expect(bare.crop).toEqual({ name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5 });
		const full = (
			await read({
				name: 'Home <b>80</b>',
				season: 2026,
				client: 'c',
				farm: 'f',
				crop: { name: 'corn', market_moisture_pct: 15 },
				timeZone: 'America/Chicago',
				combines: {
					A: {
						swath_m: 9.144,
						row_m: 0.762,
						tank_kg: 9500,
						header_ahead_m: 0,
						display_total: { area_ha: 30, wet_kg: 3 },
					},
				},
				scales: { cart: { limit_pct: 1, size_kg: 20000 } },
				events: [{ time: '2026-10-03T09:30:00', combine: 'A', kind: 'calibrated' }],
				pins: {
					clock_offset_s: 12,
					dumps: { D1: { combine: 'A', status: 'aside' } },
					factors: { A: { value: 1.01 } },
					lags: { A: 11 },
				},
				total: { wet_kg: 300, u_pct: 0.5 },
				flags: { standing: 0.4 },
				destinations: { East: { shrink_pct_per_point: 1.4 } },
				somethingElse: { kept: true },
			})
		).plan;
		expect(full.name).toBe('Home <b>80</b>');
		expect(full.crop).toEqual({ name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15 });
		expect(full.combines.A).toEqual({
			swath_m: 9.144,
			row_m: 0.762,
			tank_kg: 9500,
			header_ahead_m: 0,
			display_total: { area_ha: 30, wet_kg: 3 },
		});
		expect(full.scales.cart).toEqual({ limit_pct: 1, size_kg: 20000, reading_a_kg: null, reading_b_rel: null });
		expect(full.events).toEqual([
			{ time_s: utc('2026-10-03T14:30:00Z'), combine: 'A', kind: 'calibrated', note: null },
		]);
		expect(full.pins.dumps?.D1).toMatchObject({ combine: 'A', status: 'aside' });
		expect(full.total).toEqual({ wet_kg: 300, u_rel: 0.005 });
		expect(full.destinations.East).toEqual({ shrink_pct_per_point: 1.4, handling_pct: 0 });
		expect(full.extra).toEqual({ somethingElse: { kept: true } });
	});

	test('what is not known is carried and said, to any depth', async () => {
		const { notes } = await read({
			colour: 'red',
			combines: { A: { tank: 9000, tank_kg: 9000, display_total: { acres: 3 } } },
			logs: [{ file: 'a.csv', combine: 'A', note: 'x' }],
			crop: { name: 'corn', price: 4 },
		});
		expect(notes.map((n) => n.text)).toEqual([
			'field.json: not known here and not used: crop.price, logs.0.note, colour, combines.A.tank, combines.A.display_total.acres.',
		]);
	});

	test('a season that the logs are not of, combines of no log: said', async () => {
		const { notes } = await read({ season: 2011, combines: { Q: {} } });
		const said = notes.map((n) => n.text).join('\n');
		expect(said).toMatch(/season 2011, the logs are of 2026/);
		expect(said).toMatch(/names combine Q/);
	});

	test('stops when the listener says so', async () => {
		const progress = {
			step() {
				throw new Error('stop');
			},
		};
		await expect(readField(folder({ 'field.json': '{}' }), { progress })).rejects.toThrow('stop');
	});
});
