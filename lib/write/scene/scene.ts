import { utmProjection } from '../../geo/utm.ts';
import type { Contours, SeamJump, Track } from '../../model/index.ts';
import { FLAGS, type Run, type Scene, type SceneSeam } from '../../model/index.ts';
import { fillOfRecord } from '../bytes/fill-of-record.ts';
import { planeMap } from './plane-map.ts';

/**
 * What the viewer needs of a run: columns to draw, facts to show. `packScene` turns it into bytes. Columns that are drawn as they
 * are belong to the run: they must not be changed.
 */
export function makeScene(run: Run, contours: Contours | null = null): Scene {
	const { field, track, account, factors, yields, surface } = run;
	const { records } = field;
	const n = records.n;
	const place = planeMap(utmProjection(track.zone), extent(track.x_m, track.y_m));

	const corners_m = corners.get(track) ?? onPlane(track.corners_m, place.local);
	corners.set(track, corners_m);
	const fills = fillOfRecord(run);
	const single = (from: Float64Array) => new Float32Array(from);
	return {
		n,
		corners_m,
		time_s: records.time_s,
		combine: records.combine,
		flag: yields.flag,
		fill: fills.fill,
		pass: track.pass,
		area_m2: single(track.area_m2),
		account_kg: single(account.account_kg),
		factor: single(factors.factor),
		monitor_kg_ha: single(yields.monitor_kg_ha),
		corrected_kg_ha: single(yields.corrected_kg_ha),
		u_rel: single(yields.u_rel),
		common_rel: yields.common_rel ? single(yields.common_rel) : new Float32Array(n).fill(Number.NaN),
		moisture_pct: single(yields.moisture_pct),
		speed_m_s: single(track.speed_m_s),
		flow_kg_s: single(records.flow_kg_s),
		gridYield_kg_ha: surface.yield_kg_ha,
		gridSe_kg_ha: surface.se_kg_ha,
		gridMonitor_kg_ha: surface.monitor_kg_ha,
		facts: {
			field: field.plan,
			plan: field.plan,
			origin: place.origin,
			combines: records.combines,
			fills: fills.names,
			flags: [...FLAGS],
			result: run.result,
			evidence: evidenceOf(run, place.local),
			outline: track.outline,
			seams: seamsOnPlane(run.seams, place.local),
			grid: gridOf(surface, place.local),
			contours,
		},
	};
}

/** What the panels show beside the map. */
function evidenceOf(run: Run, local: Local): Scene['facts']['evidence'] {
	const { field, track, factors, match } = run;
	return {
		factors: factors.factors,
		covariance: [...factors.covariance],
		reference: run.reference,
		clockFit: match.clockFit,
		unloadings: match.unloadings,
		fates: match.fates,
		tickets: field.book.tickets,
		jumps: run.seams.jumps.map((jump) => jumpOnPlane(jump, local)),
		thresholds: track.thresholds,
		comparison: run.comparison ?? null,
		inputs: field.inputs,
	};
}

/** The surface's cells and the four corners they are drawn between; null with no cells. */
function gridOf({ columns, rows, cell_m, west_m, north_m }: Run['surface'], local: Local): Scene['facts']['grid'] {
	if (columns * rows === 0) return null;
	const east_m = west_m + columns * cell_m;
	const south_m = north_m - rows * cell_m;
	return {
		columns,
		rows,
		cell_m,
		corners_m: [local(west_m, north_m), local(east_m, north_m), local(east_m, south_m), local(west_m, south_m)],
	};
}

/** Corners on the plane, kept with their track, which most pins leave. */
const corners = new WeakMap<Track, Float32Array>();

type Local = (x_m: number, y_m: number, into?: [number, number]) => [number, number];

function onPlane(places_m: Float64Array, local: Local): Float32Array {
	const out = new Float32Array(places_m.length);
	const spot: [number, number] = [0, 0];
	for (let k = 0; k < places_m.length; k += 2) {
		local(places_m[k]!, places_m[k + 1]!, spot);
		out[k] = spot[0];
		out[k + 1] = spot[1];
	}
	return out;
}

/** Positions that are enough for a field's extent. */
const ENOUGH = 20_000;

/** A field's extent as [minX, minY, maxX, maxY]: the middle 99% of positions, so that an outlier does not stretch it. */
function extent(x_m: Float64Array, y_m: Float64Array): [number, number, number, number] {
	const every = Math.ceil(x_m.length / ENOUGH);
	const range = (values: Float64Array): [number, number] => {
		const good: number[] = [];
		for (let i = 0; i < values.length; i += every) if (Number.isFinite(values[i])) good.push(values[i]!);
		if (good.length === 0) return [500_000, 500_001];
		good.sort((a, b) => a - b);
		const cut = Math.floor(good.length / 200);
		return [good[cut]!, good[good.length - 1 - cut]!];
	};
	const [x0, x1] = range(x_m);
	const [y0, y1] = range(y_m);
	return [x0, y0, x1, y1];
}

function jumpOnPlane(jump: SeamJump, local: Local): SeamJump {
	return {
		...jump,
		blocks: jump.blocks.map((b) => {
			const [x_m, y_m] = local(b.x_m, b.y_m);
			return { ...b, x_m, y_m };
		}),
	};
}

/** The seams as drawn, each with the weighted mean of its blocks' jumps. */
function seamsOnPlane({ seams, jumps }: Run['seams'], local: Local): SceneSeam[] {
	const sum = new Float64Array(seams.length);
	const weight = new Float64Array(seams.length);
	for (const jump of jumps) {
		for (const { seam, log_jump, u_log } of jump.blocks) {
			if (!(u_log > 0)) continue;
			sum[seam]! += log_jump / u_log ** 2;
			weight[seam]! += 1 / u_log ** 2;
		}
	}
	return seams.map(({ combineA, combineB, excluded, length_m, line_m }, k) => {
		const line: [number, number][] = [];
		for (let i = 0; i + 1 < line_m.length; i += 2) line.push(local(line_m[i]!, line_m[i + 1]!));
		const log_jump = weight[k]! > 0 ? sum[k]! / weight[k]! : null;
		return { combineA, combineB, excluded, length_m, line_m: line, log_jump };
	});
}
