/** The track's columns, in the order of the records. */

import type { Pass, Track } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';
import type { Grain } from '../ground/trace-grain.ts';
import type { PassRun, Pieces } from './cut-pieces.ts';
import type { Path } from './follow-path.ts';

export function emptyTrack(n: number, zone: Track['zone']): Track {
	const nan = () => new Float64Array(n).fill(Number.NaN);
	return {
		zone,
		x_m: nan(),
		y_m: nan(),
		speed_m_s: nan(),
		heading_rad: nan(),
		pass: new Int32Array(n).fill(-1),
		passes: [],
		lags: [],
		cutX_m: nan(),
		cutY_m: nan(),
		corners_m: new Float64Array(8 * n).fill(Number.NaN),
		width_m: new Float64Array(n),
		area_m2: new Float64Array(n),
		flag: new Uint8Array(n),
		moisture_pct: nan(),
		receiverOffset_m: [],
		areas: { cut_m2: 0, distanceTimesSwath_m2: 0, boundary_m2: Number.NaN },
		outline: null,
		thresholds: {},
	};
}

/** Copies values from the path's order into the track's columns. */
export function fillColumns(
	from: { path: Path; grain: Grain; area_m2: Float64Array; moisture_pct: Float64Array; pieces: Pieces; scale: number },
	track: Track,
	members: number[][],
): void {
	const { path, grain, area_m2, moisture_pct, pieces, scale } = from;
	for (let k = 0; k < path.n; k++) {
		const i = path.index[k]!;
		track.x_m[i] = path.x_m[k]!;
		track.y_m[i] = path.y_m[k]!;
		track.speed_m_s[i] = path.speed_m_s[k]!;
		const heading = Math.atan2(path.ux[k]!, path.uy[k]!);
		track.heading_rad[i] = heading < 0 ? heading + 2 * Math.PI : heading;
		track.cutX_m[i] = grain.x_m[k]!;
		track.cutY_m[i] = grain.y_m[k]!;
		track.width_m[i] = grain.width_m[k]!;
		track.area_m2[i] = area_m2[k]! / scale ** 2;
		track.moisture_pct[i] = moisture_pct[k]!;
		for (let q = 0; q < 8; q++) track.corners_m[8 * i + q] = grain.corners_m[8 * k + q]!;
		const piece = grain.piece[k]!;
		const pass = piece < 0 ? -1 : pieces.pass[piece]!;
		track.pass[i] = pass;
		if (pass >= 0) members[pass]!.push(i);
	}
}

/** Heading, length and speed of a pass, from the positions at which its records' grain was cut. */
export function describePass(run: PassRun, id: number, records: number[], track: Track): Pass {
	let sx = 0;
	let sy = 0;
	let length = 0;
	for (let q = 0; q < records.length; q++) {
		if (q > 0) {
			const a = records[q - 1]!;
			const b = records[q]!;
			const dx = track.cutX_m[b]! - track.cutX_m[a]!;
			const dy = track.cutY_m[b]! - track.cutY_m[a]!;
			const d = hypotenuse(dx, dy);
			if (!Number.isFinite(d)) continue;
			length += d;
			sx += dx;
			sy += dy;
		}
	}
	const heading = Math.atan2(sx, sy);
	return {
		id,
		combine: run.combine,
		records: Int32Array.from(records),
		start_s: run.start_s,
		end_s: run.end_s,
		heading_rad: heading < 0 ? heading + 2 * Math.PI : heading,
		length_m: length,
		speed_m_s: run.end_s > run.start_s ? length / (run.end_s - run.start_s) : 0,
	};
}
