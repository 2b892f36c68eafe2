import type { LogRows } from '../model.ts';

/** Positions of one machine's records on a field, thinned for a picture: alternating longitude and latitude, WGS 84. */
export interface Track {
	combine: string;
	lonlat: Float64Array;
}

/** Number of positions that draw a field: about a header width apart on forty hectares. */
const MOST = 4000;

export function trackOf(combine: string, parts: readonly { log: LogRows; rows: ArrayLike<number> }[]): Track {
	const total = parts.reduce((n, p) => n + p.rows.length, 0);
	const step = Math.max(1, Math.ceil(total / MOST));
	const out: number[] = [];
	for (const { log, rows } of parts) {
		for (let k = 0; k < rows.length; k += step) {
			const i = rows[k]!;
			const [lon, lat] = [log.lon_deg[i]!, log.lat_deg[i]!];
			if (Number.isFinite(lon + lat)) out.push(lon, lat);
		}
	}
	return { combine, lonlat: Float64Array.from(out) };
}
