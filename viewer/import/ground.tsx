/** Positions of a field's records, one color per combine, inside its boundary. */

import { number } from '../state/format.ts';
import { units } from '../state/settings.ts';
import { imports as t } from '../strings/import.ts';
import type { SeenField } from './understood.ts';

const SIZE = 300;
const EDGE = 8;
const M_PER_DEG = 111_320;

export function Ground(props: { field: SeenField }) {
	const { tracks, rings, name } = props.field;
	const lonlat = tracks.flatMap((track) => Array.from(track.lonlat));
	if (lonlat.length === 0) return <p class="bad">{t.noGround}</p>;
	let [west, east, south, north] = [180, -180, 90, -90];
	const take = (lon: number, lat: number) => {
		[west, east] = [Math.min(west, lon), Math.max(east, lon)];
		[south, north] = [Math.min(south, lat), Math.max(north, lat)];
	};
	for (let i = 0; i < lonlat.length; i += 2) take(lonlat[i]!, lonlat[i + 1]!);
	for (const ring of rings) for (const [lon, lat] of ring) take(lon, lat);
	const squeeze = Math.cos((((south + north) / 2) * Math.PI) / 180);
	const [wide, high] = [Math.max((east - west) * squeeze, 1e-7), Math.max(north - south, 1e-7)];
	const scale = (SIZE - 2 * EDGE) / Math.max(wide, high);
	const tall = Math.max(SIZE / 3, high * scale + 2 * EDGE);
	const at = (lon: number, lat: number) =>
		`${(SIZE / 2 + (lon - (west + east) / 2) * squeeze * scale).toFixed(1)} ${(tall / 2 - (lat - (south + north) / 2) * scale).toFixed(1)}`;
	const across_m = wide * M_PER_DEG;
	const across = units.value === 'us' ? `${number(across_m / 0.3048, 0)} ft` : `${number(across_m, 0)} m`;
	const dots = (points: Float64Array) => {
		let path = '';
		for (let i = 0; i < points.length; i += 2) path += `M${at(points[i]!, points[i + 1]!)}h0`;
		return path;
	};
	return (
		<figure class="ground">
			<svg viewBox={`0 0 ${SIZE} ${tall.toFixed(0)}`} role="img" aria-label={t.ground(name, across)}>
				{rings.map((ring, k) => (
					<path key={k} class="edge" d={`M${ring.map(([lon, lat]) => at(lon, lat)).join('L')}Z`} />
				))}
				{tracks.map((track, k) => (
					<path key={track.combine} class={`dots c${k % 6}`} d={dots(track.lonlat)} />
				))}
			</svg>
			<figcaption class="small soft">{t.ground(name, across)}</figcaption>
		</figure>
	);
}
