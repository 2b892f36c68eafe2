import { remembered } from '../../model/index.ts';
/**
 * GPX 1.0 and 1.1 (topografix.com/GPX/1/1): each track as a table of positions and times, such as a cart's receiver
 * records.
 */
import { fileFault, type Loaded } from '../bytes.ts';
import type { RawColumn, RawTable } from '../raw-table.ts';
import { scanXml } from '../xml/scan-xml.ts';

interface Track {
	name: string;
	lat: number[];
	lon: number[];
	time: string[];
	values: Map<string, number[]>;
}

/** Parts of a track point that are numbers, and what each means. */
const NUMBERS: Record<string, Partial<RawColumn>> = {
	ele: { as: 'elevation', unit: 'm', certain: true },
	speed: { as: 'speed', unit: 'm/s', certain: true },
	course: { as: 'heading', unit: 'deg', certain: true },
	hdop: {},
};

/** @throws InputFault if it has neither a track nor points */
export function readGpx({ name, bytes }: Loaded): RawTable[] {
	const tracks: Track[] = [];
	const begin = (): Track => {
		const track: Track = { name: '', lat: [], lon: [], time: [], values: new Map() };
		tracks.push(track);
		return track;
	};
	let track: Track | null = null;
	let points: Track | null = null;
	let into: Track | null = null;
	let depth = 0;
	let text = '';
	const broke = scanXml(name, bytes, {
		open(element, attributes) {
			text = '';
			if (element === 'trk' || element === 'rte') track = begin();
			if (element === 'trkpt' || element === 'rtept' || element === 'wpt') {
				into = element === 'wpt' ? (points ??= begin()) : (track ??= begin());
				into.lat.push(Number(attributes.lat || Number.NaN));
				into.lon.push(Number(attributes.lon || Number.NaN));
				into.time.push('');
				depth = 0;
			}
			if (into) depth++;
		},
		text(part) {
			text += part;
		},
		close(element) {
			if (into) {
				depth--;
				const row = into.lat.length - 1;
				if (element === 'time' && depth === 1) into.time[row] = text.trim();
				else if (Object.hasOwn(NUMBERS, element)) {
					remembered(into.values, element, () => [])[row] = Number(text.trim() || Number.NaN);
				}
				if (depth === 0) into = null;
			} else if (element === 'name' && track && track.name === '') track.name = text.trim();
			if (element === 'trk' || element === 'rte') track = null;
			text = '';
		},
	});
	const held = tracks.filter((t) => t.lat.length > 0);
	if (held.length === 0)
		throw fileFault(name, broke ?? 'no track', 'expected a GPX with a track; export the track, not the settings');
	return held.map((t): RawTable => {
		const n = t.lat.length;
		const columns: RawColumn[] = [
			...(t.time.some((v) => v !== '') ? [{ name: 'time', text: t.time, as: 'time', certain: true } as const] : []),
			{ name: 'lat', numbers: Float64Array.from(t.lat), as: 'lat', unit: 'deg', certain: true },
			{ name: 'lon', numbers: Float64Array.from(t.lon), as: 'lon', unit: 'deg', certain: true },
		];
		for (const [key, values] of t.values) {
			const numbers = Float64Array.from({ length: n }, (_, i) => values[i] ?? Number.NaN);
			columns.push({ name: key, numbers, ...NUMBERS[key] });
		}
		return {
			file: held.length > 1 ? `${name}/${t.name || `track ${held.indexOf(t) + 1}`}` : name,
			kind: 'gpx',
			n,
			columns,
			meta: { ...(t.name ? { layer: t.name } : {}), timeScale: 'utc' },
			notes: broke ? [`The file breaks off at ${broke}; ${n} points before are read.`] : [],
		};
	});
}
