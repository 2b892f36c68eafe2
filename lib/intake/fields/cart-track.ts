import { bisectCenter } from 'd3-array';
import type { RawTable } from '../../formats/index.ts';
import type { LogRows } from '../model.ts';
import type { FieldRows } from './fields.ts';

/** The cart's track: positions and times of its receiver. */
export interface CartTrack {
	time_s: Float64Array;
	lat_deg: Float64Array;
	lon_deg: Float64Array;
}

/** A cart waits beside a field; degrees of latitude, about a hundred meters. */
const BESIDE_DEG = 0.001;
/** After this long without a position, the cart's place is unknown, seconds. */
const SILENT_S = 300;

/** A track of timed positions (GPX); null for anything else. */
export function trackOf(table: RawTable): CartTrack | null {
	const column = (as: string) => table.columns.find((c) => c.as === as);
	const [time, lat, lon] = [column('time')?.text, column('lat')?.numbers, column('lon')?.numbers];
	if (table.kind !== 'gpx' || !time || !lat || !lon) return null;
	const all = Float64Array.from(time, (t) => Date.parse(t) / 1000);
	const order = Array.from(all, (_, i) => i).filter((i) => !Number.isNaN(all[i]! + lat[i]!));
	order.sort((a, b) => all[a]! - all[b]!);
	if (order.length < 2) return null;
	const pick = (v: Float64Array) => Float64Array.from(order, (i) => v[i]!);
	return { time_s: pick(all), lat_deg: pick(lat), lon_deg: pick(lon) };
}

/**
 * Field in which the cart was at a time, −1 if it was in none or may have been in several. The clocks of the list and
 * the receiver sometimes differ by minutes: this identifies the field, but not the combine it stood beside.
 */
export function fieldByTrack(
	tracks: readonly CartTrack[],
	fields: readonly FieldRows[],
	logs: readonly LogRows[],
): (time_s: number) => number {
	const boxes = fields.map((field) => boxOf(field, logs));
	return (time_s) => {
		const found = new Set<number>();
		for (const track of tracks) {
			const i = bisectCenter(track.time_s, time_s);
			if (Math.abs(track.time_s[i]! - time_s) > SILENT_S) continue;
			boxes.forEach(([south, north, west, east], k) => {
				const [lat, lon] = [track.lat_deg[i]!, track.lon_deg[i]!];
				if (lat > south && lat < north && lon > west && lon < east) found.add(k);
			});
		}
		return found.size === 1 ? ([...found][0] as number) : -1;
	};
}

function boxOf(field: FieldRows, logs: readonly LogRows[]) {
	let [south, north, west, east] = [90, -90, 180, -180];
	for (const { log, rows } of field.parts) {
		const { lat_deg, lon_deg } = logs[log]!;
		for (const i of rows) {
			const [lat, lon] = [lat_deg[i]!, lon_deg[i]!];
			if (Number.isNaN(lat + lon)) continue;
			[south, north] = [Math.min(south, lat), Math.max(north, lat)];
			[west, east] = [Math.min(west, lon), Math.max(east, lon)];
		}
	}
	const across = BESIDE_DEG / Math.cos((((south + north) / 2) * Math.PI) / 180);
	return [south - BESIDE_DEG, north + BESIDE_DEG, west - across, east + across] as const;
}
