import { describe, expect, it } from 'vitest';
import type { RawBoundary } from '../../lib/formats/index.ts';
import { type Column, flow, lat, length, lon, moisture, time, usualColumns, write } from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf, intakeOf } from './read.ts';

const columns = usualColumns();
const crop = { crop: 'corn' };
const a = cut({ seed: 1 });
const far = cut({ seed: 2, lat: 44.12, start: '2026-10-08T20:05:00Z' });
const METRES = 111_200;

function box(name: string, rows: readonly Row[], margin = 8): RawBoundary {
	const lats = rows.map((r) => r.lat);
	const lons = rows.map((r) => r.lon);
	const d = margin / METRES;
	const [s, n, w, e] = [
		Math.min(...lats) - d,
		Math.max(...lats) + d,
		Math.min(...lons) - d * 1.4,
		Math.max(...lons) + d * 1.4,
	];
	return {
		file: 'fields.geojson',
		kind: 'geojson',
		name,
		geometry: {
			type: 'Polygon',
			coordinates: [
				[
					[w, s],
					[e, s],
					[e, n],
					[w, n],
					[w, s],
				],
			],
		},
		properties: { name },
		notes: [],
	};
}

describe('fields', () => {
	it('are told apart by ground', () => {
		const done = intakeOf({ 'log.csv': write([...a, ...far], columns) }, crop);
		expect(done.report.fields.map((f) => f.combines[0]?.records)).toEqual([a.length, far.length]);
		expect(done.report.fields[1]?.combines[0]?.monitor_kg).toBeCloseTo(massOf(far), -1);
	});

	it('are told apart by the name in a column, side by side though they lie', () => {
		const beside = cut({ seed: 3, east: 6 * 9.144, start: '2026-10-08T20:05:00Z' });
		const named = [...a.map((r) => ({ ...r, combine: 'North' })), ...beside.map((r) => ({ ...r, combine: 'South' }))];
		const done = intakeOf(
			{ 'log.csv': write(named, [...columns, { name: 'Field Name', cell: (r) => r.combine }]) },
			crop,
		);
		expect(done.report.fields.map((f) => [f.name, f.combines[0]?.records])).toEqual([
			['North', a.length],
			['South', beside.length],
		]);
	});

	it('pass on what is wrong with their outlines, to the list of files and to the field', () => {
		const note = 'The coordinate system (.prj) is missing.';
		const done = intakeOf({ 'log.csv': write(a, columns) }, crop, [{ ...box('West', a, 4), notes: [note] }]);
		expect(done.report.sources.find((s) => s.file === 'fields.geojson')?.notes).toEqual([note]);
		expect(done.report.fields[0]?.notes).toContain(`fields.geojson: ${note}`);
	});

	it('are told apart by boundaries', () => {
		const beside = cut({ seed: 3, east: 6 * 9.144, start: '2026-10-08T20:05:00Z' });
		const done = intakeOf({ 'log.csv': write([...a, ...beside], columns) }, crop, [
			box('East', beside, 4),
			box('West', a, 4),
		]);
		expect(done.report.fields.map((f) => [f.name, f.boundary])).toEqual([
			['West', true],
			['East', true],
		]);
		const records = done.report.fields.map((f) => f.combines[0]?.records ?? 0);
		expect(records.reduce((s, r) => s + r, 0)).toBe(a.length + beside.length);
		expect(Math.abs((records[0] as number) - a.length)).toBeLessThan(8);
	});

	it('of two seasons on one ground are two', () => {
		const last = cut({ seed: 5, start: '2025-10-10T18:05:00Z' });
		const done = intakeOf({ 'log.csv': write([...last, ...a], columns) }, crop);
		expect(done.report.fields.map((f) => f.combines[0]?.records)).toEqual([last.length, a.length]);
		expect(done.report.fields.map((f) => f.name.slice(-4))).toEqual(['2025', '2026']);
	});

	it('parted by a lane stay one where the machine goes back and forth', () => {
		// Passes lie west and east of a gap of 60 m in turns.
		const rows: Row[] = [];
		let time_s = Date.parse('2026-10-08T18:05:00Z') / 1000;
		for (let p = 0; p < 6; p++) {
			for (const east of [p * 9.144, 120 + p * 9.144]) {
				const pass = cut({ passes: 1, east, seed: p + 1, start: new Date(time_s * 1000).toISOString() });
				rows.push(...pass);
				time_s = (pass.at(-1) as Row).time + 60;
			}
		}
		const done = intakeOf({ 'log.csv': write(rows, columns) }, crop);
		expect(done.report.fields.length).toBe(1);
	});

	it('nothing is lost between them: every record is in a field or listed', () => {
		const done = intakeOf({ 'log.csv': write([...a, ...far], columns) }, crop);
		const inFields = done.report.fields.flatMap((f) => f.combines).reduce((s, c) => s + c.records, 0);
		const listed = done.report.set_aside.reduce((s, l) => s + (l.row === null ? Number.parseInt(l.found, 10) : 1), 0);
		expect(inFields + listed).toBe(a.length + far.length);
	});
});

describe('weights', () => {
	const kg = [6200, 6100, 5900];
	const cart = (rows: Row[], event = 'Dump') =>
		[
			'Date,Time,Event,Combine,Net Wt (lb),Truck',
			...kg.map(
				(w, i) => `10/18/2026,${i + 1}:1${i} PM,${event},A,"${Math.round(w / 0.45359237).toLocaleString('en-US')}",`,
			),
			'10/18/2026,3:40 PM,Unload,,"40,124",T1',
		].join('\n') + (rows.length > 0 ? '\n' : '');
	const log = cut({ seed: 1, start: '2026-10-18T17:40:00Z' });
	const tickets = 'Ticket #,Date,Truck,Gross (lb),Tare (lb),Moist\n4411,10/18/2026,T1,"66,000","26,000",16.1\n';

	it('a cart list and tickets go with the log: local times, pounds, what moved where', async () => {
		const bytes = (s: string) => new TextEncoder().encode(s);
		const done = intakeOf(
			{ 'combine A.csv': write(log, columns), 'cart.csv': bytes(cart(log)), 'scale tickets.csv': bytes(tickets) },
			crop,
		);
		expect(done.report.sources.map((s) => s.use)).toEqual(['cart', 'log', 'tickets']);
		const rows = await csvOf(done, 0, 'cart.csv');
		expect(rows.map((r) => r.event)).toEqual(['dump', 'dump', 'dump', 'offload']);
		expect(Number(rows[0]?.weight_kg)).toBeCloseTo(6200, 0);
		expect(rows[0]?.time).toBe('2026-10-18T18:10Z');
		expect(rows[3]?.truck_load).toBe('T1');
		const [ticket] = await csvOf(done, 0, 'tickets.csv');
		expect(Number(ticket?.net_kg)).toBeCloseTo(40_000 * 0.45359237, 0);
		expect(ticket?.truck_load).toBe('T1');
		expect(done.report.fields[0]?.combines[0]?.name).toBe('A');
		expect(done.report.fields[0]?.questions.filter((q) => q.blocking)).toEqual([]);
	});

	it('a list of many fields is shared out by the field it names and by time', async () => {
		const other = cut({ seed: 7, lat: 44.2, start: '2026-10-20T17:40:00Z' });
		const list = new TextEncoder().encode(
			'time,event,weight_kg\n2026-10-18T18:10:00Z,dump,6200\n2026-10-20T18:10:00Z,dump,6300\n2026-11-09T18:10:00Z,dump,6400\n',
		);
		const done = intakeOf({ 'log.csv': write([...log, ...other], columns), 'cart list.csv': list }, crop);
		expect(done.report.fields.map((f) => f.dumps)).toEqual([1, 1]);
		expect(done.report.set_aside.filter((s) => s.file === 'cart list.csv').map((s) => s.row)).toEqual([4]);
	});

	it('asks for the unit of weights that nothing tells', () => {
		const list = new TextEncoder().encode(
			'time,event,weight\n2026-10-18T18:10:00Z,dump,8200\n2026-10-18T18:20:00Z,dump,8300\n',
		);
		const done = intakeOf({ 'log.csv': write(log, columns), 'cart.csv': list }, crop);
		expect(done.report.fields[0]?.questions.map((q) => q.about)).toContain('unit of weight');
	});

	it('take the unit that other weights of the drop state, and rows that stand twice count once', async () => {
		const bytes = (s: string) => new TextEncoder().encode(s);
		const list = bytes('Date,Time,Combine,Net lbs\n10/18/2026,1:10 PM,A,19860\n');
		const tickets = bytes('Ticket,Date,Load,Gross,Tare\n7,10/18/2026,T1,60520,26000\n');
		const done = intakeOf(
			{ 'combine A.csv': write(log, columns), 'cart.csv': list, 'cart copy.csv': list, 'tickets.csv': tickets },
			crop,
		);
		expect(done.report.fields[0]?.questions.filter((q) => q.blocking)).toEqual([]);
		const [ticket] = await csvOf(done, 0, 'tickets.csv');
		expect(Number(ticket?.net_kg)).toBeCloseTo(34_520 * 0.45359237, 0);
		expect(ticket?.truck_load).toBe('T1');
		expect(done.report.fields[0]?.dumps).toBe(1);
		expect(done.report.set_aside.map((s) => s.why).join()).toContain('counts once');
	});

	it('names in the cart’s list that are none of the logs’ are asked for, and nothing hangs on them', async () => {
		const list = new TextEncoder().encode(
			'time,event,combine,weight_kg\n2026-10-18T18:10:00Z,dump,Red,6200\n2026-10-18T18:20:00Z,dump,Green,6300\n',
		);
		const other = cut({ seed: 8, start: '2026-10-18T17:40:00Z', east: 60 });
		const done = intakeOf({ 'x.csv': write(log, columns), 'y.csv': write(other, columns), 'cart.csv': list }, crop);
		expect(done.report.fields[0]?.questions.map((q) => [q.about, q.blocking])).toEqual([['combine', false]]);
		const rows = await csvOf(done, 0, 'cart.csv');
		expect(rows.map((r) => [r.combine, r.note])).toEqual([
			['', 'Red'],
			['', 'Green'],
		]);
	});

	it('a file that is nothing is named with a reason', () => {
		const done = intakeOf(
			{ 'log.csv': write(log, columns), 'people.csv': new TextEncoder().encode('name,phone\nX,1\nY,2\n') },
			crop,
		);
		const people = done.report.sources.find((s) => s.file === 'people.csv');
		expect(people?.use).toBe('none');
		expect(people?.why).toContain('name');
	});

	it('faulty rows are listed with file, row and column', () => {
		const text = new TextDecoder().decode(write(log, columns)).split('\n');
		text[20] = (text[20] as string).replace(/,[\d.]+$/, ',wet');
		text[30] = (text[30] as string).replace(/^([^,]+),[\d.]+,[-\d.]+/, '$1,0,0');
		const done = intakeOf({ 'log.csv': new TextEncoder().encode(text.join('\n')) }, crop);
		expect(done.report.set_aside.map((s) => [s.row, s.column]).sort()).toEqual([
			[21, 'moisture_pct'],
			[31, 'lat'],
		]);
		expect(done.report.fields[0]?.combines[0]?.records).toBe(log.length - 2);
	});
});

describe('answers', () => {
	const us: Column[] = [
		...time.us(),
		lat(),
		lon(),
		flow.kg('flow_kg_s'),
		length.m('distance_m', 'distance'),
		length.m('swath_m', 'swath'),
		moisture('moisture_pct'),
	];

	it('given by the signature of a header hold for next year’s file', () => {
		const first = intakeOf({ 'a.csv': write(a, us) }, crop);
		const signature = first.report.sources[0]?.signature as string;
		expect(first.fields[0]?.blocking.map((q) => q.about)).toEqual(['date order']);
		const next = cut({ start: '2027-10-09T18:05:00Z', seed: 9 });
		const done = intakeOf(
			{ 'b.csv': write(next, us) },
			{ ...crop, answers: { [signature]: { 'date order': 'month first' } } },
		);
		expect(done.fields[0]?.blocking).toEqual([]);
		expect(done.report.fields[0]?.combines[0]?.start?.slice(0, 10)).toBe('2027-10-09');
	});

	it('for grid coordinates: an EPSG code', async () => {
		const grid: Column[] = [
			...time.iso(),
			{ name: 'x', cell: (r) => 470_000 + r.x, digits: 3 },
			{ name: 'y', cell: (r) => 4_883_000 + r.y, digits: 3 },
			...columns.slice(3),
		];
		const open = intakeOf({ 'a.csv': write(a, grid) }, crop);
		expect(open.fields[0]?.blocking.map((q) => q.about)).toEqual(['position']);
		const done = intakeOf({ 'a.csv': write(a, grid) }, { ...crop, answers: { 'a.csv': { position: 'EPSG:32615' } } });
		expect(done.fields[0]?.blocking).toEqual([]);
		const [row] = await csvOf(done, 0, 'a.csv');
		// echo 470000 4883000 | cs2cs EPSG:32615 EPSG:4326 (PROJ): 44.099568, -93.374813
		expect(Number(row?.lat)).toBeCloseTo(44.099568, 5);
		expect(Number(row?.lon)).toBeCloseTo(-93.374813, 5);
	});

	it('local meters are asked for', () => {
		const local: Column[] = [
			...time.iso(),
			{ name: 'x_m', cell: (r) => r.x, digits: 3 },
			{ name: 'y_m', cell: (r) => r.y, digits: 3 },
			...columns.slice(3),
		];
		const open = intakeOf({ 'a.csv': write(a, local) }, crop);
		expect(open.fields[0]?.blocking.map((q) => q.about)).toEqual(['position']);
	});
});
