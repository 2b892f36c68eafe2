import type { Records, Track } from '../../model/index.ts';
import { inTimeOrder } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';

/**
 * Short stretches of passes, the data of the surface and the local checks: a million records of two meters become some
 * hundred thousand segments. Columns of length n.
 */
export interface Segments {
	n: number;
	/** Its records: `order[start[k]]` to before `order[start[k + 1]]`, in order of time. */
	start: Int32Array;
	order: Int32Array;
	pass: Int32Array;
	combine: Uint8Array;
	/** Area-weighted middle, UTM. */
	x_m: Float64Array;
	y_m: Float64Array;
	/** Unit vector of travel. */
	dx: Float64Array;
	dy: Float64Array;
	/** Distance traveled, and mean width newly cut. */
	length_m: Float64Array;
	width_m: Float64Array;
	area_m2: Float64Array;
	/** Mean time of its records (for errors correlated in time; NaN without any) and ground speed. */
	time_s: Float64Array;
	speed_m_s: Float64Array;
	/** Mean yield of the pattern: Σ mass / Σ area, so that slivers count little. */
	yield_kg_ha: Float64Array;
	/** Segment of each record, −1 where the record is in none. */
	of: Int32Array;
}

/**
 * Cuts the records on the map into segments of about `length_m`, along each pass in time order. A gap (a flagged
 * stretch) ends a segment, so that no average is taken across it.
 */
export function cutSegments(input: {
	records: Records;
	track: Track;
	yield_kg_ha: Float64Array;
	flag: Uint8Array;
	length_m: number;
}): Segments {
	const { records, track, yield_kg_ha, flag, length_m } = input;
	const order = new Int32Array(records.n);
	const starts = new Int32Array(records.n + 1);
	let n = 0;
	let held = 0;
	for (let c = 0; c < records.combines.length; c++) {
		let traveled_m = 0;
		const close = () => {
			if (held > starts[n]!) starts[++n] = held;
			traveled_m = 0;
		};
		let last = -1;
		for (const i of inTimeOrder(records, c)) {
			const usable = flag[i] === 0 && Number.isFinite(yield_kg_ha[i]!) && Number.isFinite(track.cutX_m[i]!);
			if (!usable) {
				close();
				last = -1;
				continue;
			}
			const own_m = recordLength_m(track, i);
			if (last >= 0) {
				const step_m = hypotenuse(track.cutX_m[i]! - track.cutX_m[last]!, track.cutY_m[i]! - track.cutY_m[last]!);
				const longer_m = Math.max(own_m, recordLength_m(track, last));
				if (track.pass[i] !== track.pass[last] || step_m > 2 * longer_m + 1) close();
			}
			// Start a new segment when more than half of this record would be beyond the target length.
			if (held > starts[n]! && traveled_m + own_m / 2 > length_m) close();
			order[held++] = i;
			traveled_m += own_m;
			last = i;
		}
		close();
	}
	const s = { ...noSegments(n, records.n), start: starts.slice(0, n + 1), order: order.slice(0, held) };
	for (let k = 0; k < n; k++) fill(s, k, records, track);
	s.yield_kg_ha = segmentMeans(s, track, yield_kg_ha);
	return s;
}

/** Empty columns for n segments. */
export function noSegments(n = 0, records = 0): Segments {
	const column = () => new Float64Array(n);
	return {
		n,
		start: new Int32Array(n + 1),
		order: new Int32Array(0),
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
		yield_kg_ha: column(),
		of: new Int32Array(records).fill(-1),
	};
}

/** Distance traveled in a record, from its ground and width. */
function recordLength_m(track: Track, i: number): number {
	const width_m = track.width_m[i]!;
	return width_m > 0 ? track.area_m2[i]! / width_m : 0;
}

/** Mean of a column of records over each segment's ground. */
export function segmentMeans(s: Segments, track: Track, column: Float64Array): Float64Array {
	const mean = new Float64Array(s.n);
	for (let k = 0; k < s.n; k++) {
		let sum = 0;
		for (let j = s.start[k]!; j < s.start[k + 1]!; j++) {
			const i = s.order[j]!;
			sum += track.area_m2[i]! * column[i]!;
		}
		mean[k] = sum / s.area_m2[k]!;
	}
	return mean;
}

function fill(s: Segments, k: number, records: Records, track: Track): void {
	let area = 0;
	let x = 0;
	let y = 0;
	let time = 0;
	let timed = 0;
	let length = 0;
	let sin = 0;
	let cos = 0;
	let speed = 0;
	const first = s.order[s.start[k]!]!;
	for (let j = s.start[k]!; j < s.start[k + 1]!; j++) {
		const i = s.order[j]!;
		const a = track.area_m2[i]!;
		area += a;
		x += a * track.cutX_m[i]!;
		y += a * track.cutY_m[i]!;
		const t = records.time_s[i]!;
		if (Number.isFinite(t)) {
			time += a * t;
			timed += a;
		}
		length += recordLength_m(track, i);
		const heading = passHeading(track, i);
		sin += a * Math.sin(heading);
		cos += a * Math.cos(heading);
		const v = track.speed_m_s[i]!;
		speed += a * (Number.isFinite(v) ? v : 0);
		s.of[i] = k;
	}
	const norm = hypotenuse(sin, cos) || 1;
	s.pass[k] = track.pass[first]!;
	s.combine[k] = records.combine[first]!;
	s.x_m[k] = x / area;
	s.y_m[k] = y / area;
	s.dx[k] = sin / norm;
	s.dy[k] = cos / norm;
	s.length_m[k] = length;
	s.width_m[k] = length > 0 ? area / length : 0;
	s.area_m2[k] = area;
	s.time_s[k] = time / timed;
	s.speed_m_s[k] = speed / area;
}

/** Direction in which the record's ground was cut: its pass's heading, since its own is from lag seconds later. */
function passHeading(track: Track, i: number): number {
	const pass = track.passes[track.pass[i]!];
	if (pass) return pass.heading_rad;
	const h = track.heading_rad[i]!;
	return Number.isFinite(h) ? h : 0;
}
