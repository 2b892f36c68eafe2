/**
 * A results folder (result.json, points.csv, swaths.geojson, map.tif …) as a scene: it has less than a run, but enough
 * to view.
 */

import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import Papa from 'papaparse';
import { cropNamed, FLAGS, type Result, type Scene, type SceneFacts, utmProjection } from '../../lib/index.ts';
import { remembered } from '../../lib/model/remembered.ts';
import { type Plane, planeOf } from '../map/layers/plane.ts';
import type { GivenFile } from '../state/protocol.ts';

/** Rows of points.csv, by column. */
type Rows = Record<string, string>[];

export async function sceneOfResults(files: GivenFile[]): Promise<Scene> {
	const find = (name: string) => files.find((f) => f.name === name)?.blob ?? null;
	const [resultFile, pointsFile] = [find('result.json'), find('points.csv')];
	if (!resultFile || !pointsFile) throw new Error('A folder of results holds result.json and points.csv; drop both.');
	const result = resultIn(await resultFile.text());
	const rows: Rows = Papa.parse<Record<string, string>>(await pointsFile.text(), {
		header: true,
		skipEmptyLines: true,
	}).data;

	const lon = Float64Array.from(rows, (r) => (r.lon === '' ? Number.NaN : Number(r.lon)));
	const lat = Float64Array.from(rows, (r) => (r.lat === '' ? Number.NaN : Number(r.lat)));
	const origin = { lon_deg: middle(lon), lat_deg: middle(lat) };
	const plane = planeOf(origin);
	const contours = find('contours.geojson');
	const facts: SceneFacts = {
		field: fieldIn(result),
		plan: null,
		origin,
		combines: Object.keys(result.combines),
		fills: [...new Set(rows.map((r) => r.fill ?? ''))].filter((fill) => fill !== ''),
		flags: [...FLAGS],
		result,
		evidence: null,
		outline: await outlineIn(find('boundary.geojson')),
		seams: [],
		grid: null,
		contours: contours ? (JSON.parse(await contours.text()).features as SceneFacts['contours']) : [],
	};
	const columns = columnsIn(rows, facts);
	const swaths = find('swaths.geojson');
	const corners_m = swaths ? await cornersOfSwaths(swaths, rows, plane) : squares(lon, lat, columns.area_m2, plane);
	const scene: Scene = {
		facts,
		n: rows.length,
		corners_m,
		...columns,
		gridYield_kg_ha: new Float32Array(),
		gridSe_kg_ha: new Float32Array(),
		gridMonitor_kg_ha: new Float32Array(),
	};
	const tif = find('map.tif');
	if (tif) await addGrid(scene, tif, plane);
	return scene;
}

function resultIn(text: string): Result {
	const result = JSON.parse(text) as Result;
	if (result.schema !== 'steelyard.result/1') throw new Error('result.json: its schema is not steelyard.result/1');
	// Results of earlier versions have neither.
	result.statements ??= [];
	result.trucks ??= [];
	return result;
}

function fieldIn({ field }: Result): SceneFacts['field'] {
	const crop = field
		? { name: field.crop, bushel_kg: field.bushel_kg, market_moisture_pct: field.market_moisture_pct ?? MARKET_PCT }
		: cropNamed('corn')!;
	return {
		name: field?.name ?? 'Results',
		season: field?.season ?? null,
		client: field?.client ?? null,
		farm: field?.farm ?? null,
		crop,
		timeZone: null,
	};
}

/** Where a result names no market moisture. */
const MARKET_PCT = 15.5;

/** What points.csv says of each record; NaN for what it does not hold. */
function columnsIn(rows: Rows, { combines, fills, result }: SceneFacts) {
	const numbers = (name: string) => Float32Array.from(rows, (r) => (r[name] === '' ? Number.NaN : Number(r[name])));
	const unknown = () => new Float32Array(rows.length).fill(Number.NaN);
	const fillIds = new Map(fills.map((fill, id) => [fill, id]));
	const combine = Uint8Array.from(rows, (r) => Math.max(0, combines.indexOf(r.combine ?? '')));
	const [area_m2, moisture_pct, monitor_kg_ha] = [
		numbers('area_m2'),
		numbers('moisture_pct'),
		numbers('monitor_yield_kg_ha'),
	];
	const market = result.field?.market_moisture_pct ?? MARKET_PCT;
	return {
		time_s: Float64Array.from(rows, (r) => Date.parse(r.time ?? '') / 1000),
		combine,
		flag: Uint8Array.from(rows, (r) => Math.max(0, FLAGS.indexOf((r.flag ?? '') as (typeof FLAGS)[number]))),
		fill: Int32Array.from(rows, (r) => fillIds.get(r.fill ?? '') ?? -1),
		pass: Int32Array.from(rows, (r) => (r.pass === '' || r.pass === undefined ? -1 : Number(r.pass))),
		area_m2,
		// Wet mass follows from the recorded yield, which is dry at market moisture.
		account_kg: Float32Array.from(
			rows,
			(_, i) => (((monitor_kg_ha[i]! * area_m2[i]!) / 10_000) * (100 - market)) / (100 - moisture_pct[i]!) || 0,
		),
		factor: Float32Array.from(combine, (c) => result.combines[combines[c]!]?.factor?.value ?? Number.NaN),
		monitor_kg_ha,
		corrected_kg_ha: numbers('yield_kg_ha'),
		u_rel: numbers('yield_u_rel'),
		common_rel: unknown(),
		moisture_pct,
		speed_m_s: unknown(),
		flow_kg_s: unknown(),
	};
}

function middle(values: Float64Array): number {
	const good = values.filter(Number.isFinite).sort();
	return good.length === 0 ? 0 : good[good.length >> 1]!;
}

/** Gives swaths their record by combine, time and area; records equal in all three keep their order. */
async function cornersOfSwaths(file: Blob, rows: Record<string, string>[], plane: Plane): Promise<Float32Array> {
	type Named = { combine: string; time: string; area_m2: number | null };
	const json = JSON.parse(await file.text()) as FeatureCollection<Polygon, Named>;
	const places = new Map<string, number[]>();
	rows.forEach((r, i) => {
		const key = `${r.combine}|${r.time}|${Number(r.area_m2)}`;
		remembered(places, key, () => []).push(i);
	});
	const corners_m = new Float32Array(8 * rows.length).fill(Number.NaN);
	for (const { properties: p, geometry } of json.features) {
		const i = places.get(`${p.combine}|${p.time}|${p.area_m2 ?? 0}`)?.shift();
		const ring = geometry?.coordinates[0];
		if (i === undefined || !ring || ring.length < 4) continue;
		const at = ring.slice(0, 4).map((q) => plane.toLocal(q[0]!, q[1]!));
		// RFC 7946 reversed the ring: back to rear left, front left, front right, rear right.
		const turned = [at[0]!, at[3]!, at[2]!, at[1]!];
		corners_m.set(turned.flat(), 8 * i);
	}
	return corners_m;
}

/** Without swaths: a square with the record's area at its position. */
function squares(lon: Float64Array, lat: Float64Array, area_m2: Float32Array, plane: Plane): Float32Array {
	const corners_m = new Float32Array(8 * lon.length).fill(Number.NaN);
	for (let i = 0; i < lon.length; i++) {
		if (!Number.isFinite(lon[i]!) || !(area_m2[i]! > 0)) continue;
		const [x, y] = plane.toLocal(lon[i]!, lat[i]!);
		const h = Math.sqrt(area_m2[i]!) / 2;
		corners_m.set([x - h, y + h, x - h, y - h, x + h, y - h, x + h, y + h], 8 * i);
	}
	return corners_m;
}

async function outlineIn(file: Blob | null): Promise<Polygon | MultiPolygon | null> {
	if (!file) return null;
	const json = JSON.parse(await file.text());
	const geometry = json.type === 'FeatureCollection' ? json.features[0]?.geometry : (json.geometry ?? json);
	return geometry?.type === 'Polygon' || geometry?.type === 'MultiPolygon' ? geometry : null;
}

/** map.tif: band 1 yield, band 2 standard error, −9999 where missing. */
async function addGrid(scene: Scene, file: Blob, plane: Plane): Promise<void> {
	const { fromArrayBuffer } = await import('geotiff');
	const image = await (await fromArrayBuffer(await file.arrayBuffer())).getImage();
	const [west, south, east, north] = image.getBoundingBox() as [number, number, number, number];
	const epsg = Number((image.getGeoKeys() as { ProjectedCSTypeGeoKey?: number } | null)?.ProjectedCSTypeGeoKey);
	if (!(epsg > 32600 && epsg < 32761)) return;
	const zone = { number: epsg % 100, south: epsg > 32700, epsg };
	const back = utmProjection(zone);
	const local = (x: number, y: number) => plane.toLocal(...back.inverse(x, y));
	const [yields, errors] = (await image.readRasters()) as unknown as [Float32Array, Float32Array];
	const clean = (band: Float32Array) => Float32Array.from(band, (v) => (v === -9999 ? Number.NaN : v));
	scene.gridYield_kg_ha = clean(yields);
	scene.gridSe_kg_ha = clean(errors);
	// The file does not have the uncorrected grid.
	scene.gridMonitor_kg_ha = scene.gridYield_kg_ha.slice();
	scene.facts.grid = {
		columns: image.getWidth(),
		rows: image.getHeight(),
		cell_m: (east - west) / image.getWidth(),
		corners_m: [local(west, north), local(east, north), local(east, south), local(west, south)],
	};
}
