/** Folders of about a megabyte, made to cost as much as they can: what each is, and its files. */
import { random } from '../sim/random.ts';
import { tinyField } from './tiny.ts';

const START_S = Date.UTC(2026, 9, 3, 15) / 1000;
const iso = (t: number) => new Date(t * 1000).toISOString().replace('.000', '');
const HEAD = 'time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct,header_down';
const CART = 'id,time,event,combine,weight_kg,emptied,truck_load';
const ROWS = 14_000;

interface Row {
	t: number;
	lat: number;
	lon: number;
	flow: number;
	interval: number;
	distance: number;
	swath: number;
	moisture: number;
	down: number;
}

const perLat = 1 / 111_100;
const perLon = perLat / Math.cos((42 * Math.PI) / 180);

/** Passes of 400 m side by side, with changes. */
function log(change: (row: Row, k: number) => void = () => {}, n = ROWS): string {
	const rows = [HEAD];
	for (let k = 0; k < n; k++) {
		const pass = Math.floor(k / 200);
		const s = k % 200;
		const row: Row = {
			t: START_S + k,
			lat: 42 + (pass % 2 === 0 ? 2 * s : 400 - 2 * s) * perLat,
			lon: -93 + 6 * pass * perLon,
			flow: 9 + ((k * 7) % 11) / 5,
			interval: 1,
			distance: 2,
			swath: 6,
			moisture: 18.2,
			down: s < 190 ? 1 : 0,
		};
		change(row, k);
		const place = [row.lat.toFixed(7), row.lon.toFixed(7)];
		rows.push(
			[iso(row.t), ...place, row.flow.toFixed(2), row.interval, row.distance, row.swath, row.moisture, row.down].join(
				',',
			),
		);
	}
	return `${rows.join('\n')}\n`;
}

const cart = (n: number, row: (k: number) => string) =>
	[CART, ...Array.from({ length: n }, (_, k) => row(k)), ''].join('\n');
const plan = (more: object = {}) =>
	JSON.stringify({ crop: 'corn', timeZone: 'America/Chicago', logs: [{ file: 'a.csv', combine: 'A' }], ...more });
const withCart = { cartLog: { file: 'cart.csv' } };

export const LARGE: Record<string, () => Record<string, string>> = {
	'a plain field': () => ({ 'field.json': plan(), 'a.csv': log() }),
	'places all over a continent': () => {
		const r = random(1);
		return {
			'field.json': plan(),
			'a.csv': log((row) => Object.assign(row, { lat: r.between(30, 50), lon: r.between(-120, -80) })),
		};
	},
	'places all over a county': () => {
		const r = random(2);
		return {
			'field.json': plan(),
			'a.csv': log((row) => Object.assign(row, { lat: r.between(42, 42.5), lon: r.between(-93.5, -93) })),
		};
	},
	'two fields far apart': () => ({
		'field.json': plan(),
		'a.csv': log((row, k) => {
			if (k > 7000) row.lon += 60;
		}),
	}),
	'one place, all day': () => ({
		'field.json': plan(),
		'a.csv': log((row) => Object.assign(row, { lat: 42, lon: -93 })),
	}),
	'one moment': () => ({ 'field.json': plan(), 'a.csv': log((row) => Object.assign(row, { t: START_S })) }),
	'moments all over a year': () => {
		const r = random(3);
		return { 'field.json': plan(), 'a.csv': log((row) => Object.assign(row, { t: START_S + r.whole(1.5e7) })) };
	},
	'widths of a mile': () => ({ 'field.json': plan(), 'a.csv': log((row) => Object.assign(row, { swath: 1600 })) }),
	'ways of a thousand miles': () => ({
		'field.json': plan(),
		'a.csv': log((row) => Object.assign(row, { distance: 1e6 })),
	}),
	'intervals of a day': () => ({
		'field.json': plan(),
		'a.csv': log((row) => Object.assign(row, { interval: 86_400 })),
	}),
	'a tank that fills in every moment': () => ({
		'field.json': plan({ combines: { A: { tank_kg: 100 } } }),
		'a.csv': log((row) => Object.assign(row, { interval: 86_400, flow: 80 })),
	}),
	'a small tank and a cart': () => ({
		'field.json': plan({ ...withCart, combines: { A: { tank_kg: 100 } } }),
		'a.csv': log(),
		'cart.csv': cart(10, (k) => `D${k},${iso(START_S + 1300 * (k + 1))},dump,A,1900,yes,T${k}`),
	}),
	'intervals of a millisecond': () => ({
		'field.json': plan(),
		'a.csv': log((row, k) => Object.assign(row, { interval: 0.001, t: START_S + k / 1000 })),
	}),
	'the header up and down at each row': () => ({
		'field.json': plan(),
		'a.csv': log((row, k) => Object.assign(row, { down: k % 2, flow: k % 2 === 0 ? 0 : 10 })),
	}),
	'circles without end': () => ({
		'field.json': plan(),
		'a.csv': log((row, k) =>
			Object.assign(row, { lat: 42 + 30 * Math.sin(k / 15) * perLat, lon: -93 + 30 * Math.cos(k / 15) * perLon }),
		),
	}),
	'two thousand four hundred dumps': () => ({
		'field.json': plan(withCart),
		'a.csv': log(),
		'cart.csv': cart(2400, (k) => `D${k},${iso(START_S + 5 * k)},dump,A,30,,T${k % 7}`),
	}),
	'twenty thousand dumps without time or combine': () => ({
		'field.json': plan(withCart),
		'a.csv': log(undefined, 2000),
		'cart.csv': cart(20_000, (k) => `D${k},,dump,,${1000 + (k % 500)},,`),
	}),
	'dumps of one moment': () => ({
		'field.json': plan(withCart),
		'a.csv': log(),
		'cart.csv': cart(300, (k) => `D${k},${iso(START_S + 700)},dump,A,${400 + k},,`),
	}),
	'twenty thousand tickets': () => ({
		'field.json': plan({ ...withCart, tickets: { file: 'tickets.csv' } }),
		'a.csv': log(undefined, 2000),
		'cart.csv': cart(10, (k) => `D${k},${iso(START_S + 190 * k)},dump,A,1900,yes,T${k}`),
		'tickets.csv': [
			'ticket,time,truck_load,net_kg',
			...Array.from({ length: 20_000 }, (_, k) => `K${k},${iso(START_S + k)},T${k % 900},19${k % 10}0`),
			'',
		].join('\n'),
	}),
	'a trace of noise': () => {
		const r = random(4);
		const rows = Array.from({ length: 30_000 }, (_, k) => `${iso(START_S + k)},${r.between(0, 20_000).toFixed(0)},`);
		return {
			'field.json': plan({ cartTrace: { file: 'trace.csv' } }),
			'a.csv': log(undefined, 2000),
			'trace.csv': ['time,weight_kg,moving', ...rows, ''].join('\n'),
		};
	},
	'a boundary of forty thousand corners': () => {
		const ring = Array.from({ length: 40_000 }, (_, k) => {
			const angle = (2 * Math.PI * k) / 40_000;
			const size = k % 2 === 0 ? 300 : 290;
			return [-93 + (200 + size * Math.cos(angle)) * perLon, 42 + (200 + size * Math.sin(angle)) * perLat];
		});
		return {
			'field.json': plan({ boundary: 'b.geojson' }),
			'a.csv': log(undefined, 4000),
			'b.geojson': JSON.stringify({ type: 'Polygon', coordinates: [[...ring, ring[0]]] }),
		};
	},
	'a boundary of ten thousand parts': () => {
		const part = (k: number) => {
			const [x, y] = [(k % 100) * 9, Math.floor(k / 100) * 9];
			const corners = [
				[x, y],
				[x + 5, y],
				[x + 5, y + 5],
				[x, y],
			] as [number, number][];
			return [corners.map(([a, b]) => [-93 + a * perLon, 42 + b * perLat])];
		};
		return {
			'field.json': plan({ boundary: 'b.geojson' }),
			'a.csv': log(undefined, 4000),
			'b.geojson': JSON.stringify({
				type: 'MultiPolygon',
				coordinates: Array.from({ length: 10_000 }, (_, k) => part(k)),
			}),
		};
	},
	'ten thousand events': () => ({
		'field.json': plan({
			events: Array.from({ length: 10_000 }, (_, k) => ({ time: iso(START_S + k), combine: 'A', kind: 'calibrated' })),
		}),
		'a.csv': log(),
	}),
	'two hundred combines': () => ({
		'field.json': JSON.stringify({ crop: 'corn', logs: [{ file: 'a.csv' }] }),
		'a.csv': log()
			.split('\n')
			.map((row, k) => (row === '' ? row : `${row},${k === 0 ? 'combine' : `C${Math.floor(k / 70)}`}`))
			.join('\n'),
	}),
	'a row of a megabyte': () => ({ 'field.json': plan(), 'a.csv': `${HEAD}\n${'1,'.repeat(500_000)}\n` }),
	'a quote of a megabyte': () => ({ 'field.json': plan(), 'a.csv': `${HEAD}\n"${'x'.repeat(1_000_000)}` }),
	'quotes in every cell': () => ({ 'field.json': plan(), 'a.csv': log().replace(/[^,\n]+/g, '"$&"') }),
	'a megabyte of quotes': () => ({ 'field.json': plan(), 'a.csv': `${HEAD}\n${'"'.repeat(1_000_000)}` }),
	'a megabyte of names in JSON': () => ({
		...tinyField(),
		'field.json': plan({ combines: Object.fromEntries(Array.from({ length: 40_000 }, (_, k) => [`C${k}`, {}])) }),
	}),
	'forty thousand faulty entries': () => ({
		...tinyField(),
		'field.json': plan({ events: Array.from({ length: 40_000 }, () => ({ time: 1 })) }),
	}),
};
