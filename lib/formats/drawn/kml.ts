/** KML (OGC 12-007): areas as boundaries. Links to other files are not followed. */
import { fileFault, type Loaded } from '../bytes.ts';
import type { RawBoundary } from '../raw-table.ts';
import { polygonOf } from '../shapes.ts';
import { scanXml } from '../xml/scan-xml.ts';

type XY = [number, number];

interface Placemark {
	name: string;
	properties: Record<string, string>;
	polygons: XY[][][];
}

/** @throws InputFault if it has no area */
export function readKml({ name, bytes }: Loaded): RawBoundary[] {
	const placemarks: Placemark[] = [];
	const path: string[] = [];
	let mark: Placemark | null = null;
	let text = '';
	let key = '';
	let links = 0;
	let other = 0;
	const broke = scanXml(name, bytes, {
		open(element, attributes) {
			path.push(element);
			text = '';
			if (element === 'Placemark') mark = { name: '', properties: {}, polygons: [] };
			if (element === 'Polygon') mark?.polygons.push([]);
			if (element === 'Data' || element === 'SimpleData') key = attributes.name ?? '';
			if (element === 'NetworkLink') links++;
			if (element === 'LineString' || element === 'Point') other++;
		},
		text(part) {
			text += part;
		},
		close(element) {
			const parent = path.at(-2);
			path.pop();
			if (mark) {
				if (element === 'name' && parent === 'Placemark') mark.name = text.trim();
				if ((element === 'value' && parent === 'Data') || element === 'SimpleData') mark.properties[key] = text.trim();
				if (element === 'coordinates' && parent === 'LinearRing') {
					const ring = cornersOf(text);
					if (ring.length >= 3) mark.polygons.at(-1)?.push(ring);
				}
				if (element === 'Placemark') {
					placemarks.push(mark);
					mark = null;
				}
			}
			text = '';
		},
	});
	const notes: string[] = [];
	if (broke) notes.push(`The file breaks off at ${broke}; what comes before it is read.`);
	if (links > 0) notes.push('It links to other files; they are not fetched.');
	const boundaries = placemarks.flatMap((p): RawBoundary[] => {
		const geometry = polygonOf(p.polygons.filter((rings) => rings.length > 0));
		if (geometry === null) return [];
		return [
			{ file: name, kind: 'kml', ...(p.name ? { name: p.name } : {}), geometry, properties: p.properties, notes },
		];
	});
	if (boundaries.length === 0) {
		const found = links > 0 ? 'only a link to another file' : broke !== null ? broke : `${other} points or lines`;
		throw fileFault(
			name,
			found,
			'expected a KML with areas, such as the outline of a field; save the areas themselves into the file',
		);
	}
	return boundaries;
}

/** "lon,lat,height lon,lat,height": impossible positions are left out. */
function cornersOf(text: string): XY[] {
	return text
		.trim()
		.split(/\s+/)
		.map((place): XY => {
			const [lon, lat] = place.split(',');
			return [Number(lon || Number.NaN), Number(lat || Number.NaN)];
		})
		.filter(([lon, lat]) => Math.abs(lon) <= 180 && Math.abs(lat) <= 90);
}
