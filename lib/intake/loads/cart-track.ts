import type { RawTable } from '../../formats/index.ts';

/** The cart's track: positions and times of its receiver. */
export interface CartTrack {
	time_s: Float64Array;
	lat_deg: Float64Array;
	lon_deg: Float64Array;
}

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
