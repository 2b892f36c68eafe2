import type { RunOfRecords } from '../../model/index.ts';
import { ByteWriter } from '../bytes/byte-writer.ts';
import { Degrees } from '../bytes/degrees.ts';
import { Properties } from './points.ts';

/** A millimeter: a record's ground is small, and its area should survive the rounding. */
const DECIMALS = 8;
const CORNERS = 4;

/** Orders of the four corners; all but the first repair quadrilaterals whose edges cross. The last three give triangles. */
const ROUNDS: readonly (readonly number[])[] = [
	[0, 1, 2, 3],
	[0, 1, 3, 2],
	[0, 2, 1, 3],
	[0, 1, 2],
	[0, 1, 3],
	[1, 2, 3],
];

/**
 * swaths.geojson: the ground that each record cut, as polygons, one per line. Records without ground are left out.
 * Where a narrow piece crosses itself, its corners are reordered into a valid polygon.
 */
export function* swathsGeojson(run: RunOfRecords, bushels = false): Generator<Uint8Array> {
	const { field, track } = run;
	const degrees = new Degrees(track.zone);
	const writer = new ByteWriter();
	const properties = new Properties(run, writer, bushels);
	const lon = new Float64Array(CORNERS);
	const lat = new Float64Array(CORNERS);
	let first = true;
	writer.text('{"type":"FeatureCollection","features":[');
	for (let i = 0; i < field.records.n; i++) {
		for (let c = 0; c < CORNERS; c++) {
			degrees.of(track.corners_m[8 * i + 2 * c]!, track.corners_m[8 * i + 2 * c + 1]!);
			lon[c] = rounded(degrees.lon);
			lat[c] = rounded(degrees.lat);
		}
		const round = ROUNDS.find((r) => simple(lon, lat, r));
		if (round === undefined) continue;
		writer.text(first ? '\n' : ',\n');
		first = false;
		writer.text('{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[');
		// RFC 7946 requires counterclockwise outer rings; from rear left over front left is clockwise.
		const step = twiceArea(lon, lat, round) < 0 ? round.length - 1 : 1;
		for (let k = 0; k <= round.length; k++) {
			const c = round[(k * step) % round.length]!;
			writer.text(k === 0 ? '[' : ',[');
			writer.fixed(lon[c]!, DECIMALS);
			writer.code(44);
			writer.fixed(lat[c]!, DECIMALS);
			writer.code(93);
		}
		writer.text(']]},"properties":');
		properties.write(i);
		writer.code(125);
		if (writer.full) yield writer.drain();
	}
	writer.text('\n]}\n');
	yield writer.drain();
}

const STEP = 10 ** DECIMALS;
const rounded = (degrees: number) => Math.round(degrees * STEP) / STEP;

/** Whether corners in this order enclose an area without edges that meet anywhere but at their ends. */
function simple(x: Float64Array, y: Float64Array, round: readonly number[]): boolean {
	// Less than one unit of the last decimal squared counts as zero.
	if (!(Math.abs(twiceArea(x, y, round)) > STEP ** -2)) return false;
	if (round.length === 3) return true;
	const [a, b, c, d] = round as [number, number, number, number];
	return !cross(x, y, [a, b], [c, d]) && !cross(x, y, [b, c], [d, a]);
}

/** Whether two edges, each by its corners, have a point in common. */
function cross(x: Float64Array, y: Float64Array, [a, b]: Edge, [c, d]: Edge): boolean {
	return turn(x, y, a, b, c) * turn(x, y, a, b, d) <= 0 && turn(x, y, c, d, a) * turn(x, y, c, d, b) <= 0;
}

type Edge = readonly [number, number];

/** Positive where the path over a, b and c bends left. */
function turn(x: Float64Array, y: Float64Array, a: number, b: number, c: number): number {
	const ax = x[a]!;
	const ay = y[a]!;
	return Math.sign((x[b]! - ax) * (y[c]! - ay) - (x[c]! - ax) * (y[b]! - ay));
}

/** Signed area, positive for counterclockwise; NaN where a corner is missing. */
function twiceArea(x: Float64Array, y: Float64Array, round: readonly number[]): number {
	const [a, b, c, d = a] = round as [number, number, number, number?];
	return (x[c]! - x[a]!) * (y[d]! - y[b]!) - (x[d]! - x[b]!) * (y[c]! - y[a]!);
}
