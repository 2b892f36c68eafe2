import type { Records, Track } from '../../model/index.ts';
import { inTimeOrder } from '../../model/index.ts';

/**
 * Short stretches of passes: the data that the surface and the local checks are made from. A million records of
 * two metres each become some hundred thousand of them. Columns of length n; all masses dry at market moisture.
 */
export interface Segments {
	n: number;
	pass: Int32Array;
	combine: Uint8Array;
	/** Area-weighted middle, UTM. */
	x_m: Float64Array;
	y_m: Float64Array;
	/** Unit vector of travel. */
	dx: Float64Array;
	dy: Float64Array;
	/** Travelled in it, and mean width newly cut. */
	length_m: Float64Array;
	width_m: Float64Array;
	area_m2: Float64Array;
	/** Middle of its records' times (for errors that are alike in time; NaN without any) and ground speed. */
	time_s: Float64Array;
	speed_m_s: Float64Array;
	records: Uint16Array;
	/** Mean yields: Σ mass / Σ area, so that a sliver counts for little. */
	yield_kg_ha: Float64Array;
	monitor_kg_ha: Float64Array;
	/** Segment of each record, −1 where the record is in none. */
	of: Int32Array;
}

/**
 * Cuts kept records into segments of about `length_m`, along each pass in time order. A gap (a flagged stretch)
 * ends a segment: what lies on its two sides is not averaged over it.
 */
export function cutSegments(input: {
	records: Records;
	track: Track;
	corrected_kg_ha: Float64Array;
	monitor_kg_ha: Float64Array;
	flag: Uint8Array;
	length_m: number;
}): Segments {
	const { records, track, corrected_kg_ha, monitor_kg_ha, flag, length_m } = input;
	const of = new Int32Array(records.n).fill(-1);
	const rows: number[][] = [];
	for (let c = 0; c < records.combines.length; c++) {
		let open: number[] = [];
		let travelled_m = 0;
		const close = () => {
			if (open.length > 0) rows.push(open);
			open = [];
			travelled_m = 0;
		};
		let last = -1;
		for (const i of inTimeOrder(records, c)) {
			const usable = flag[i] === 0 && Number.isFinite(corrected_kg_ha[i]!) && Number.isFinite(track.cutX_m[i]!);
			if (!usable) {
				close();
				last = -1;
				continue;
			}
			if (last >= 0) {
				const step_m = Math.hypot(track.cutX_m[i]! - track.cutX_m[last]!, track.cutY_m[i]! - track.cutY_m[last]!);
				const own_m = Math.max(recordLength_m(track, i), recordLength_m(track, last));
				if (track.pass[i] !== track.pass[last] || step_m > 2 * own_m + 1) close();
			}
			const own_m = recordLength_m(track, i);
			// Start anew when this record would lie more than half beyond the wanted length.
			if (open.length > 0 && travelled_m + own_m / 2 > length_m) close();
			open.push(i);
			travelled_m += own_m;
			last = i;
		}
		close();
	}
	const n = rows.length;
	const column = () => new Float64Array(n);
	const s: Segments = {
		n,
		pass: new Int32Array(n),
		combine: new Uint8Array(n),
		x_m: column(),
		y_m: column(),
		dx: column(),
		dy: column(),
		length_m: column(),
		width_m: column(),
		area_m2: column(),
		time_s: column(),
		speed_m_s: column(),
		records: new Uint16Array(n),
		yield_kg_ha: column(),
		monitor_kg_ha: column(),
		of,
	};
	for (let k = 0; k < n; k++) fill(s, k, rows[k]!, records, track, corrected_kg_ha, monitor_kg_ha);
	return s;
}

/** Travelled in a record, as its ground and width say. */
export function recordLength_m(track: Track, i: number): number {
	const width_m = track.width_m[i]!;
	return width_m > 0 ? track.area_m2[i]! / width_m : 0;
}

function fill(
	s: Segments,
	k: number,
	row: number[],
	records: Records,
	track: Track,
	corrected_kg_ha: Float64Array,
	monitor_kg_ha: Float64Array,
): void {
	let area = 0;
	let x = 0;
	let y = 0;
	let time = 0;
	let timed = 0;
	let corrected = 0;
	let monitor = 0;
	let length = 0;
	let sin = 0;
	let cos = 0;
	let speed = 0;
	for (const i of row) {
		const a = track.area_m2[i]!;
		area += a;
		x += a * track.cutX_m[i]!;
		y += a * track.cutY_m[i]!;
		const t = records.time_s[i]!;
		if (Number.isFinite(t)) {
			time += a * t;
			timed += a;
		}
		corrected += a * corrected_kg_ha[i]!;
		monitor += a * monitor_kg_ha[i]!;
		length += recordLength_m(track, i);
		const heading = passHeading(track, i);
		sin += a * Math.sin(heading);
		cos += a * Math.cos(heading);
		const v = track.speed_m_s[i]!;
		speed += a * (Number.isFinite(v) ? v : 0);
		s.of[i] = k;
	}
	const norm = Math.hypot(sin, cos) || 1;
	s.pass[k] = track.pass[row[0]!]!;
	s.combine[k] = records.combine[row[0]!]!;
	s.x_m[k] = x / area;
	s.y_m[k] = y / area;
	s.dx[k] = sin / norm;
	s.dy[k] = cos / norm;
	s.length_m[k] = length;
	s.width_m[k] = length > 0 ? area / length : 0;
	s.area_m2[k] = area;
	s.time_s[k] = time / timed;
	s.speed_m_s[k] = speed / area;
	s.records[k] = Math.min(65_535, row.length);
	s.yield_kg_ha[k] = corrected / area;
	s.monitor_kg_ha[k] = monitor / area;
}

/** Direction in which the record's ground was cut: its pass's, since the record's own heading is lag seconds later. */
function passHeading(track: Track, i: number): number {
	const pass = track.passes[track.pass[i]!];
	if (pass) return pass.heading_rad;
	const h = track.heading_rad[i]!;
	return Number.isFinite(h) ? h : 0;
}
