import type { Run } from '../model/index.ts';
import { Degrees } from './degrees.ts';
import { Pen } from './pen.ts';
import { Properties } from './points.ts';

/** A millimetre: a record's ground is small, and its area should survive the rounding. */
const DECIMALS = 8;
const CORNERS = 4;

/** swaths.geojson: the ground that each record cut, as polygons, one a line. Records without ground are left out. */
export function* swathsGeojson(run: Run): Generator<Uint8Array> {
	const { field, track } = run;
	const degrees = new Degrees(track.zone);
	const pen = new Pen();
	const properties = new Properties(run, pen);
	const lon = new Float64Array(CORNERS);
	const lat = new Float64Array(CORNERS);
	let first = true;
	pen.text('{"type":"FeatureCollection","features":[');
	for (let i = 0; i < field.records.n; i++) {
		let whole = true;
		for (let c = 0; c < CORNERS; c++) {
			degrees.of(track.corners_m[8 * i + 2 * c] as number, track.corners_m[8 * i + 2 * c + 1] as number);
			lon[c] = degrees.lon;
			lat[c] = degrees.lat;
			whole &&= Number.isFinite(degrees.lon);
		}
		if (!whole) continue;
		pen.text(first ? '\n' : ',\n');
		first = false;
		pen.text('{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[');
		// RFC 7946 wants outer rings counterclockwise; going round from rear left over front left is the other way.
		const step = clockwise(lon, lat) ? CORNERS - 1 : 1;
		for (let k = 0; k <= CORNERS; k++) {
			const c = (k * step) % CORNERS;
			pen.text(k === 0 ? '[' : ',[');
			pen.fixed(lon[c] as number, DECIMALS);
			pen.code(44);
			pen.fixed(lat[c] as number, DECIMALS);
			pen.code(93);
		}
		pen.text(']]},"properties":');
		properties.write(i);
		pen.code(125);
		if (pen.full) yield pen.drain();
	}
	pen.text('\n]}\n');
	yield pen.drain();
}

function clockwise(x: Float64Array, y: Float64Array): boolean {
	let sum = 0;
	for (let c = 0; c < CORNERS; c++) {
		const d = (c + 1) % CORNERS;
		sum +=
			((x[c] as number) - (x[0] as number)) * ((y[d] as number) - (y[0] as number)) -
			((x[d] as number) - (x[0] as number)) * ((y[c] as number) - (y[0] as number));
	}
	return sum < 0;
}
