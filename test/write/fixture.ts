/** A small run made by hand: two passes of two combines, with everything in it that a writer may stumble over. */
import { utmProjection, utmZone } from '../../lib/geo/utm.ts';
import {
	type Contours,
	emptyRecords,
	type Folder,
	flagCode,
	type Run,
	type Source,
	type Surface,
} from '../../lib/model/index.ts';

export const NAMES = ['<b>A</b>, "the old one"', 'Ünï'];
export const PER_PASS = 120;
const SPEED_M_S = 2;
const WIDTH_M = 9;

/** Bytes of everything that a writer gives. */
export async function bytesOf(pieces: Iterable<Uint8Array> | AsyncIterable<Uint8Array>): Promise<Uint8Array> {
	const parts: Uint8Array[] = [];
	for await (const piece of pieces) parts.push(piece);
	const all = new Uint8Array(parts.reduce((sum, p) => sum + p.length, 0));
	let at = 0;
	for (const part of parts) {
		all.set(part, at);
		at += part.length;
	}
	return all;
}

export const textOf = async (pieces: Iterable<Uint8Array> | AsyncIterable<Uint8Array>) =>
	new TextDecoder().decode(await bytesOf(pieces));

/** A file in memory, in pieces of `size` bytes. */
export function source(name: string, content: string | Uint8Array, size = 1000): Source {
	const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
	return {
		name,
		bytes: bytes.length,
		async *chunks() {
			for (let p = 0; p < bytes.length; p += size) yield bytes.subarray(p, p + size);
		},
	};
}

export const folder = (files: Record<string, string>, size?: number): Folder =>
	new Map(Object.entries(files).map(([name, text]) => [name, source(name, text, size)]));

/** One band of yield. */
export const CONTOURS: Contours = [
	{
		type: 'Feature',
		properties: { from_kg_ha: 8000, to_kg_ha: 9000 },
		geometry: {
			type: 'MultiPolygon',
			coordinates: [
				[
					[
						[-93.5, 41.6],
						[-93.499, 41.6],
						[-93.499, 41.601],
						[-93.5, 41.601],
						[-93.5, 41.6],
					],
				],
			],
		},
	},
];

/** Combine 0 drives north, combine 1 beside it south. Times have a fraction; one record has no place, some are flagged. */
export function handMade(): Run {
	const zone = utmZone(-93.5, 41.6);
	const projection = utmProjection(zone);
	const [x0, y0] = projection.forward(-93.5, 41.6);
	const n = 2 * PER_PASS;
	const records = emptyRecords(n);
	records.combines = NAMES;
	const numbers = () => new Float64Array(n).fill(Number.NaN);
	const track = {
		zone,
		x_m: numbers(),
		y_m: numbers(),
		speed_m_s: new Float64Array(n).fill(SPEED_M_S),
		heading_rad: numbers(),
		pass: new Int32Array(n),
		passes: [],
		lags: [],
		cutX_m: numbers(),
		cutY_m: numbers(),
		corners_m: new Float64Array(8 * n).fill(Number.NaN),
		width_m: numbers(),
		area_m2: numbers(),
		flag: new Uint8Array(n),
		moisture_pct: numbers(),
		receiverOffset_m: [0, 0],
		areas: { cut_m2: 0, distanceTimesSwath_m2: 0, boundary_m2: Number.NaN },
		outline: null,
		thresholds: {},
	};
	const yields = {
		monitor_kg_ha: numbers(),
		corrected_kg_ha: numbers(),
		u_rel: numbers(),
		moisture_pct: numbers(),
		flag: new Uint8Array(n),
	};
	for (let i = 0; i < n; i++) {
		const combine = i < PER_PASS ? 0 : 1;
		const k = i % PER_PASS;
		const x = x0 + combine * WIDTH_M;
		const along = combine === 0 ? k * SPEED_M_S : (PER_PASS - 1 - k) * SPEED_M_S;
		const y = y0 + along;
		records.combine[i] = combine;
		records.log[i] = combine;
		records.line[i] = k + 2;
		records.time_s[i] = 1_791_000_000 + k + (k % 3 === 0 ? 0.25 : 0);
		track.x_m[i] = x;
		track.y_m[i] = y;
		track.pass[i] = combine;
		track.cutX_m[i] = x;
		track.cutY_m[i] = y;
		const turn = combine === 0 ? 1 : -1;
		const half = (WIDTH_M / 2) * turn;
		const step = (SPEED_M_S / 2) * turn;
		track.corners_m.set([x - half, y - step, x - half, y + step, x + half, y + step, x + half, y - step], 8 * i);
		track.area_m2[i] = (SPEED_M_S * WIDTH_M) / projection.scale(x, y) ** 2;
		yields.monitor_kg_ha[i] = 9000 + 500 * Math.sin(i / 10);
		yields.corrected_kg_ha[i] = (yields.monitor_kg_ha[i] as number) * 1.03;
		yields.u_rel[i] = 0.021;
		yields.moisture_pct[i] = 17.5;
	}
	// No place, no area, no yield: nothing of it may reach a number in JSON.
	track.cutX_m[5] = Number.NaN;
	track.corners_m.fill(Number.NaN, 40, 48);
	track.area_m2[5] = Number.NaN;
	track.pass[5] = -1;
	yields.corrected_kg_ha[5] = Number.NaN;
	yields.monitor_kg_ha[5] = Infinity;
	yields.flag[5] = flagCode.unplaced;
	for (let i = 10; i < 20; i++) yields.flag[i] = flagCode.recut;
	const columns = 3;
	const rows = 25;
	const surface: Surface = {
		epsg: zone.epsg,
		west_m: Math.floor(x0 / 10) * 10,
		north_m: Math.ceil((y0 + PER_PASS * SPEED_M_S) / 10) * 10,
		cell_m: 10,
		columns,
		rows,
		yield_kg_ha: Float32Array.from({ length: columns * rows }, (_, i) => (i % 7 === 3 ? Number.NaN : 8000 + 10 * i)),
		se_kg_ha: Float32Array.from({ length: columns * rows }, (_, i) => 100 + i),
		monitor_kg_ha: new Float32Array(columns * rows),
		spread: null,
		closure: { mass_pct: 0, area_pct: 0 },
		deblur_gain_pct: 0,
	};
	const unloading = (combine: number, fill: string, from: number, to: number) => ({ combine, fill, from, to });
	const plan = {
		name: 'Hand-made <i>field</i>',
		crop: { name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5 },
		logs: [
			{ file: 'one.csv', columns: null, combine: NAMES[0] },
			{ file: 'two.csv', columns: null, combine: NAMES[1] },
		],
	};
	return {
		field: { plan, records },
		track,
		yields,
		surface,
		match: { unloadings: [unloading(0, 'A1', 0, 50), unloading(0, 'A2', 50, 110), unloading(1, 'B1', 0, PER_PASS)] },
	} as unknown as Run;
}
