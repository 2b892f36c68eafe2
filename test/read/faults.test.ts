import { describe, expect, test } from 'vitest';
import { faultText, InputFault } from '../../lib/model/index.ts';
import { faultsOf, fieldFolder, folder, HEADER, logText, read } from './folder.ts';

const square = (ring: number[][]) => JSON.stringify({ type: 'Polygon', coordinates: [ring] });

describe('faulty files stop the run', () => {
	const plan = (text: string) => folder({ 'field.json': text, 'a.csv': logText() });

	test.each<[string, ReturnType<typeof folder>, RegExp]>([
		['no field.json', folder({}), /field.json.*missing/],
		['an empty field.json', plan(''), /field.json.*empty/],
		['broken JSON', plan('{\n"crop": "corn",\n"logs": [,]}'), /field.json, row 3: this is not valid JSON/],
		['JSON that ends early', plan('{"crop": "corn",\n'), /field.json.*not valid JSON/],
		['a binary field.json', plan('{\0}'), /binary/],
		['a list', plan('[]'), /one object/],
		['nothing in it', plan('{}'), /column crop: this entry is missing.*corn, soybeans/],
		['an unknown crop', fieldFolder({ crop: 'maize' }), /crop.*not known; accepted: corn, soybeans, wheat.*maize/],
		['a crop without numbers', fieldFolder({ crop: { name: 'lupins' } }), /bushel_kg/],
		['a crop of no weight', fieldFolder({ crop: { name: 'x', bushel_kg: 0, market_moisture_pct: 14 } }), /crop/],
		['no logs', fieldFolder({ logs: [] }), /at least one log/],
		['an unknown time zone', fieldFolder({ timeZone: 'Corn/Belt' }), /timeZone.*IANA.*Corn\/Belt/],
		['a missing log', fieldFolder({ logs: [{ file: 'gone.csv', combine: 'A' }] }), /gone.csv.*not in the folder/],
		['a missing cart log', fieldFolder({ cartLog: { file: 'cart.csv' } }), /cart.csv.*not in the folder/],
		['a missing boundary', fieldFolder({ boundary: 'b.geojson' }), /b.geojson.*not in the folder/],
		[
			'a path that leaves the folder',
			fieldFolder({ logs: [{ file: '../a.csv', combine: 'A' }] }),
			/inside the field folder.*\.\.\/a\.csv/,
		],
		['an absolute path', fieldFolder({ cartLog: { file: '/etc/passwd' } }), /cartLog.file.*inside the field folder/],
		['a drive', fieldFolder({ boundary: 'C:\\b.geojson' }), /boundary.*inside/],
		['a path that leaves by a detour', fieldFolder({ tickets: { file: 'x/../../t.csv' } }), /tickets.file.*inside/],
		['an empty log', fieldFolder({}, { 'a.csv': '' }), /a.csv.*empty/],
		['a log of a header only', fieldFolder({}, { 'a.csv': `${HEADER}\n` }), /a.csv.*holds no records/],
		[
			'a binary log',
			fieldFolder({}, { 'a.csv': Uint8Array.from({ length: 5000 }, (_, k) => (k * 37) % 256) }),
			/a.csv.*binary/,
		],
		[
			'a missing column',
			fieldFolder({}, { 'a.csv': logText(3, undefined, HEADER.replace('flow_kg_s', 'flow')) }),
			/a.csv, row 1, column flow_kg_s: .*not in the file/,
		],
		[
			'an unknown event',
			fieldFolder({ events: [{ time: '2026-10-03T14:00:00Z', kind: 'party' }] }),
			/events.0.kind.*calibrated, header.*party/,
		],
		[
			'an event at no time',
			fieldFolder({ events: [{ time: 'noon', kind: 'break' }] }),
			/events.0.time.*expected a time.*noon/,
		],
		[
			'a local event without a zone',
			fieldFolder({ events: [{ time: '2026-10-03T14:00:00', kind: 'break' }] }),
			/timeZone/,
		],
		[
			'a number in quotes',
			fieldFolder({ combines: { A: { swath_m: '9' } } }),
			/combines.A.swath_m: expected a number without quotes.*9/,
		],
		[
			'a width below nothing',
			fieldFolder({ combines: { A: { swath_m: -9 } } }),
			/combines.A.swath_m: expected a width in meters from 0.2 to 60.*-9/,
		],
		[
			'a combine of a name that objects keep',
			fieldFolder({ logs: [{ file: 'a.csv', combine: '__proto__' }] }),
			/logs.0.combine.*choose another/,
		],
	])('%s', async (_, given, wanted) => {
		const text = (await faultsOf(given)).map(faultText).join('\n');
		expect(text).toMatch(wanted);
	});

	const mapped = (columns: object) => fieldFolder({ logs: [{ file: 'a.csv', combine: 'A', columns }] });

	test.each<[string, object, RegExp]>([
		[
			'an unknown unit',
			{ flow: { column: 'flow_kg_s', unit: 'stone/s' } },
			/a.csv, column flow_kg_s: .*accepted: kg\/s, lb\/s, t\/h, bu\/h, .*mg\/s \(found: stone\/s\)/,
		],
		[
			'a unit of another kind',
			{ swath: { column: 'swath_m', unit: 'kg' } },
			/column swath_m: .*accepted: m, ft, in, cm, mm, yd, km, mi \(found: kg\)/,
		],
		['a mapped column that is not there', { lat: { column: 'northing' } }, /a.csv, row 1, column northing: /],
		['neither column nor value', { lat: { unit: 'deg' } }, /column lat: .*neither/],
		['a constant that is no number', { swath: { value: 'wide', unit: 'm' } }, /swath.*expected a number.*wide/],
		['a time without since', { time: { column: 'time', unit: 's' } }, /column time: .*since/],
		['a since that is no time', { time: { column: 'time', unit: 's', since: 'noon' } }, /since.*noon/],
	])('a mapping with %s', async (_, columns, wanted) => {
		const text = (await faultsOf(mapped(columns))).map(faultText).join('\n');
		expect(text).toMatch(wanted);
	});

	test('yield without a basis, dry yield without its moisture', async () => {
		const text = logText(3, undefined, HEADER.replace('flow_kg_s', 'theirs'));
		const log = (extra: object) => ({
			logs: [{ file: 'a.csv', columns: { yield: { column: 'theirs', unit: 'bu/ac', ...extra } } }],
		});
		const told = async (extra: object) =>
			(await faultsOf(fieldFolder(log(extra), { 'a.csv': text }))).map(faultText).join('\n');
		expect(await told({})).toMatch(
			/a.csv, column theirs: yield must say "basis": "wet", or "basis": "dry" with "at_pct"/,
		);
		expect(await told({ basis: 'dry' })).toMatch(/a.csv, column theirs: dry yield must say "at_pct"/);
		expect(await told({ basis: 'damp' })).toMatch(
			/field.json, column logs.0.columns.yield.basis: expected "wet" or "dry".*damp/,
		);
	});

	test('local times and no time zone: one fault of the file, told once', async () => {
		const text = logText(30, (row) => {
			row[0] = (row[0] as string).replace('Z', '');
		});
		const faults = await faultsOf(fieldFolder({}, { 'a.csv': text }));
		expect(faults.length).toBe(1);
		expect(faultText(faults[0] as (typeof faults)[number])).toMatch(/a.csv, row 2, column time: .*no "timeZone"/);
	});

	test.each<[string, string, RegExp]>([
		['a cart log without weights', 'id,time,event,combine\nD1,,dump,A\n', /cart.csv, row 1, column weight_kg/],
		['a cart log without events', 'id,time,weight_kg\nD1,,1\n', /cart.csv, row 1, column event/],
		['an empty cart log', '', /cart.csv.*empty/],
	])('%s', async (_, text, wanted) => {
		const faults = await faultsOf(fieldFolder({ cartLog: { file: 'cart.csv' } }, { 'cart.csv': text }));
		expect(faults.map(faultText).join('\n')).toMatch(wanted);
	});

	test('every fault of every file at once', async () => {
		const given = fieldFolder(
			{
				crop: 'maize',
				season: 'wet',
				combines: { A: { tank_kg: 'big' } },
				scales: { cart: { limit_pct: -1 } },
				cartLog: { file: '../cart.csv' },
				boundary: 'gone.geojson',
			},
			{},
		);
		const faults = await faultsOf(given);
		expect(faults.map((f) => [f.file, f.column]).sort()).toEqual([
			['field.json', 'cartLog.file'],
			['field.json', 'combines.A.tank_kg'],
			['field.json', 'crop'],
			['field.json', 'scales.cart.limit_pct'],
			['field.json', 'season'],
			['gone.geojson', null],
		]);
		const tables = await faultsOf(
			fieldFolder(
				{ cartLog: { file: 'c.csv' }, tickets: { file: 't.csv' }, boundary: 'b.geojson' },
				{ 'a.csv': 'time\n1\n', 'c.csv': '', 't.csv': 'ticket\nK\n', 'b.geojson': '{}' },
			),
		);
		expect([...new Set(tables.map((f) => f.file))]).toEqual(['a.csv', 'c.csv', 't.csv', 'b.geojson']);
		// All of the log's missing columns, not the first only.
		expect(tables.filter((f) => f.file === 'a.csv').map((f) => f.column)).toEqual([
			'lat',
			'lon',
			'interval_s',
			'moisture_pct',
			'swath_m',
			'flow_kg_s',
		]);
	});

	test('the error says it all in its message', async () => {
		await expect(read({ crop: 'maize', logs: [] })).rejects.toThrow(InputFault);
		await expect(read({ crop: 'maize', logs: [] })).rejects.toThrow(/at least one log[\s\S]*crop is not known/);
	});
});

describe('boundaries', () => {
	const told = async (text: string) =>
		(await faultsOf(fieldFolder({ boundary: 'b.geojson' }, { 'b.geojson': text }))).map(faultText).join('\n');
	const good = [
		[-93.51, 41.59],
		[-93.49, 41.59],
		[-93.49, 41.61],
		[-93.51, 41.61],
		[-93.51, 41.59],
	];

	test.each<[string, string, RegExp]>([
		[
			'crosses itself',
			square([
				[-93.5, 41.6],
				[-93.4, 41.7],
				[-93.4, 41.6],
				[-93.5, 41.7],
				[-93.5, 41.6],
			]),
			/b.geojson: the boundary crosses itself.*lon, lat/,
		],
		[
			'touches itself',
			square([
				[0, 0],
				[4, 0],
				[4, 4],
				[2, 0],
				[0, 4],
				[0, 0],
			]),
			/crosses itself/,
		],
		['has a type of __proto__', '{"type":"__proto__","coordinates":[]}', /"type" must be one of Point.*__proto__/],
		[
			'has a feature of a type of constructor',
			'{"type":"Feature","properties":null,"geometry":{"type":"constructor"}}',
			/"type" must be one of/,
		],
		['has no type', '{"coordinates":[]}', /"type" must be one of/],
		['is a list', '[1,2]', /expected a GeoJSON object/],
		['is null', 'null', /expected a GeoJSON object/],
		['is a point', '{"type":"Point","coordinates":[1,2]}', /expected a Polygon or MultiPolygon/],
		['holds no polygon', '{"type":"FeatureCollection","features":[]}', /expected a Polygon or MultiPolygon/],
		['has features that are none', '{"type":"FeatureCollection","features":{}}', /"features" must be a list/],
		[
			'lies off the globe',
			square([
				[-93, 412],
				[-92, 41],
				[-92, 42],
				[-93, 412],
			]),
			/latitude within ±90.*412/,
		],
		[
			'has coordinates of text',
			square([
				['a', 'b'],
				[1, 2],
			] as unknown as number[][]),
			/two numbers/,
		],
		[
			'has two corners',
			square([
				[0, 0],
				[1, 1],
				[0, 0],
			]),
			/three corners/,
		],
		['has no rings', '{"type":"Polygon","coordinates":[]}', /list of rings/],
		['is broken', '{"type":"Polygon",', /not valid JSON/],
		[
			'nests without end',
			'{"type":"GeometryCollection","geometries":['.repeat(30) + ']}'.repeat(30),
			/nested too deeply/,
		],
	])('%s: refused', async (_, text, wanted) => expect(await told(text)).toMatch(wanted));

	test('a clockwise ring is turned, an open one closed, and both are noted', async () => {
		const clockwise = [...good].reverse();
		const turned = await read({ boundary: 'b.geojson' }, { 'b.geojson': square(clockwise) });
		expect(turned.boundary).toEqual({ type: 'Polygon', coordinates: [good] });
		expect(turned.notes.map((n) => n.text)).toEqual(['b.geojson: an outer ring that ran clockwise was turned.']);
		const closed = await read({ boundary: 'b.geojson' }, { 'b.geojson': square(good.slice(0, -1)) });
		expect(closed.boundary).toEqual({ type: 'Polygon', coordinates: [good] });
		expect(closed.notes.map((n) => n.text)).toEqual(['b.geojson: an open ring was closed.']);
	});

	test('features, collections and holes; heights dropped, repeated points too', async () => {
		const hole = [
			[-93.505, 41.595],
			[-93.505, 41.6],
			[-93.5, 41.6],
			[-93.5, 41.595],
			[-93.505, 41.595],
		];
		const high = good.flatMap((p) => [
			[...p, 300],
			[...p, 300],
		]);
		const json = {
			type: 'FeatureCollection',
			features: [
				{ type: 'Feature', properties: null, geometry: { type: 'Polygon', coordinates: [high, hole] } },
				{ type: 'Feature', properties: {}, geometry: { type: 'MultiPolygon', coordinates: [[good]] } },
			],
		};
		const { boundary, notes } = await read({ boundary: 'b.geojson' }, { 'b.geojson': JSON.stringify(json) });
		expect(boundary).toEqual({ type: 'MultiPolygon', coordinates: [[good, hole], [good]] });
		expect(notes).toEqual([]);
	});

	test('no record in it: said', async () => {
		const swapped = good.map(([lon, lat]) => [lat as number, (lon as number) + 50]);
		const { notes } = await read({ boundary: 'b.geojson' }, { 'b.geojson': square(swapped) });
		expect(notes.map((n) => n.text).join()).toMatch(/swapped/);
	});

	test('varieties need their names', async () => {
		const json = (properties: object) =>
			JSON.stringify({ type: 'Feature', properties, geometry: { type: 'Polygon', coordinates: [good] } });
		const { varieties } = await read({ varieties: 'v.geojson' }, { 'v.geojson': json({ variety: 'early' }) });
		expect(varieties?.features[0]?.properties).toEqual({ variety: 'early' });
		const faults = await faultsOf(fieldFolder({ varieties: 'v.geojson' }, { 'v.geojson': json({}) }));
		expect(faults.map(faultText).join()).toMatch(/v.geojson, column features.0.properties.variety/);
	});
});

describe('faulty rows are set aside', () => {
	test('in a log: listed with file, row, column, found and why; the others are records', async () => {
		const text = logText(60, (row, k) => {
			if (k === 3) row[3] = 'many';
			if (k === 8) row[1] = '412';
			if (k === 9) row[2] = '-193.5';
			if (k === 12) [row[1], row[2]] = ['0', '0'];
			if (k === 20) row[0] = '1970-01-01T00:00:07Z';
			if (k === 21) row[0] = '2007-02-18T14:00:00Z';
			if (k === 22) row[0] = 'noon';
			if (k === 30) row.length = 5;
			if (k === 31) row.push('and more');
			if (k === 32) row[4] = '-1';
			if (k === 33) row.push('');
		});
		const { records, setAside, notes } = await read({}, { 'a.csv': text });
		expect(setAside.map((s) => [s.file, s.row, s.column, s.found])).toEqual([
			['a.csv', 5, 'flow_kg_s', 'many'],
			['a.csv', 10, 'lat', '412'],
			['a.csv', 11, 'lon', '-193.5'],
			['a.csv', 14, 'lat', '0'],
			['a.csv', 22, 'time', '1970-01-01T00:00:07Z'],
			['a.csv', 24, 'time', 'noon'],
			['a.csv', 32, null, '5 cells'],
			['a.csv', 33, null, '9 cells'],
			['a.csv', 34, 'interval_s', '-1'],
			['a.csv', 23, 'time', '2007-02-18T14:00:00.000Z'],
		]);
		for (const { why } of setAside) expect(why.length).toBeGreaterThan(10);
		expect(records.n).toBe(50);
		expect([...records.line]).not.toContain(5);
		expect(notes).toEqual([
			{ level: 'caution', text: 'a.csv: 10 rows have something that is not used; see the list of what was not used.' },
		]);
	});

	test('several faults of one row are all told, and count as one row', async () => {
		// One row of nine may be at fault, two may not.
		const text = logText(9, (row, k) => {
			if (k === 1) [row[3], row[7]] = ['a lot', 'damp'];
		});
		const { setAside } = await read({}, { 'a.csv': text });
		expect(setAside.map((s) => s.column)).toEqual(['moisture_pct', 'flow_kg_s']);
	});

	test('in a cart log and tickets', async () => {
		const good = Array.from({ length: 30 }, (_, k) => `D${k},,dump,A,${5000 + k}`).join('\n');
		const cart = `id,time,event,combine,weight_kg\n${good}\nX1,,dump,A,many\nX2,,dump,A,0\nX3,,dump,A,\nX4,,gift,A,10\nX5,1970-01-01T00:00:00Z,dump,A,10\n,,,,\n`;
		const tickets = `ticket,net_kg\n${Array.from({ length: 9 }, (_, k) => `K${k},100`).join('\n')}\nK9,-5\nK10,heavy\n`;
		const { book, setAside } = await read(
			{ cartLog: { file: 'cart.csv' }, tickets: { file: 't.csv' } },
			{ 'cart.csv': cart, 't.csv': tickets },
		);
		expect(book.dumps.length).toBe(30);
		expect(book.tickets.length).toBe(9);
		expect(setAside.map((s) => [s.file, s.row, s.column, s.found])).toEqual([
			['cart.csv', 32, 'weight_kg', 'many'],
			['cart.csv', 33, 'weight_kg', '0'],
			['cart.csv', 34, 'weight_kg', ''],
			['cart.csv', 35, 'event', 'gift'],
			['cart.csv', 36, 'time', '1970-01-01T00:00:00Z'],
			['t.csv', 11, 'net_kg', '-5'],
			['t.csv', 12, 'net_kg', 'heavy'],
		]);
	});

	test('a year in cart log or tickets that is not the logs’', async () => {
		const times = (bad: string[]) => [...bad, ...Array.from({ length: 10 }, (_, k) => `2026-10-03T15:0${k}:00Z`)];
		const cart = (bad: string[]) =>
			`id,time,event,combine,weight_kg\n${times(bad)
				.map((t, k) => `D${k},${t},dump,A,100`)
				.join('\n')}\n`;
		const one = await read({ cartLog: { file: 'cart.csv' } }, { 'cart.csv': cart(['2016-10-03T15:00:00Z']) });
		expect(one.setAside.map((s) => [s.row, s.column, s.found])).toEqual([[2, 'time', '2016-10-03T15:00:00.000Z']]);
		expect(one.book.dumps.length).toBe(10);
		const many = await read(
			{ cartLog: { file: 'cart.csv' } },
			{ 'cart.csv': cart(Array(5).fill('2016-10-03T15:00:00Z')) },
		);
		expect(many.setAside).toEqual([]);
		expect(many.book.dumps.length).toBe(15);
		expect(many.notes.map((n) => n.text).join()).toMatch(/more than a year off/);
		const tickets = `ticket,time,net_kg\n${times(['2016-10-03'])
			.map((t, k) => `K${k},${t},100`)
			.join('\n')}\n`;
		const third = await read({ timeZone: 'Etc/UTC', tickets: { file: 't.csv' } }, { 't.csv': tickets });
		expect(third.setAside.map((s) => [s.file, s.row])).toEqual([['t.csv', 2]]);
	});

	test('a fifth may be, more stops the run with every fault told', async () => {
		const bad = (n: number) =>
			logText(50, (row, k) => {
				if (k < n) row[3] = 'many';
			});
		expect((await read({}, { 'a.csv': bad(10) })).setAside.length).toBe(10);
		const faults = await faultsOf(fieldFolder({}, { 'a.csv': bad(11) }));
		expect(faults.filter((f) => f.row !== null).length).toBe(11);
		expect(faults.map((f) => f.why).join()).toMatch(/more than a fifth/);
	});

	test('strict stops at one', async () => {
		const text = logText(50, (row, k) => {
			if (k === 7) row[1] = '412';
		});
		const faults = await faultsOf(fieldFolder({}, { 'a.csv': text }), true);
		expect(faults.map((f) => [f.row, f.column, f.found])).toEqual([[9, 'lat', '412']]);
		expect((await read({}, {}, true)).records.n).toBe(20);
	});

	test('names from files stay as they are', async () => {
		const text = logText(10, (row, k) => {
			if (k === 1) row[3] = '<script>alert(1)</script>';
		});
		const { setAside } = await read({}, { 'a.csv': text });
		expect(setAside[0]?.found).toBe('<script>alert(1)</script>');
	});
});
