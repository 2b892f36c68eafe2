import type { Sim } from '../sim/index.ts';

/**
 * A field of any size: a simulated one laid side by side, one day a copy, so that a combine's log stays one log in
 * time order and the cart's book one book. Copies lie a little more than a field's width apart to the east.
 *
 * @returns files by name
 */
export function tiled(sim: Pick<Sim, 'files'>, copies: number): Map<string, string> {
	const out = new Map<string, string>();
	const ring = JSON.parse(sim.files.get('boundary.geojson') ?? 'null');
	const corners: [number, number][] = ring.geometry.coordinates[0];
	const lons = corners.map((c) => c[0]);
	const pitch_deg = Math.max(...lons) - Math.min(...lons) + 0.0002;
	for (const [name, text] of sim.files) {
		if (name === 'boundary.geojson') {
			const coordinates = Array.from({ length: copies }, (_, k) => [
				corners.map(([lon, lat]) => [+(lon + k * pitch_deg).toFixed(8), lat]),
			]);
			out.set(
				name,
				`${JSON.stringify({ type: 'Feature', properties: {}, geometry: { type: 'MultiPolygon', coordinates } })}\n`,
			);
		} else if (name.endsWith('.csv')) {
			const every = name.startsWith('combine-') ? 1 : Math.ceil(copies / MOST_WEIGHED);
			out.set(name, tiledTable(text, copies, pitch_deg, every));
		} else out.set(name, text);
	}
	return out;
}

/** A cart log takes the dumps of about so many copies; of more, only every second or third is weighed. */
const MOST_WEIGHED = 85;

function tiledTable(text: string, copies: number, pitch_deg: number, every: number): string {
	const [head = '', ...rows] = text.trimEnd().split('\n');
	const columns = head.split(',');
	const at = (name: string) => columns.indexOf(name);
	const [time, lon] = [at('time'), at('lon')];
	const names = ['id', 'ticket', 'truck_load'].map(at).filter((k) => k >= 0);
	const cells = rows.map((row) => row.split(','));
	const parts = [head];
	for (let k = 0; k < copies; k += every) {
		for (const row of cells) {
			const copy = row.slice();
			if (time >= 0) copy[time] = daysLater(copy[time] ?? '', k);
			if (lon >= 0 && copy[lon]) copy[lon] = (Number(copy[lon]) + k * pitch_deg).toFixed(8);
			for (const n of names) if (copy[n]) copy[n] = `${copy[n]}-${k + 1}`;
			parts.push(copy.join(','));
		}
	}
	return `${parts.join('\n')}\n`;
}

const days = new Map<string, string>();

/** The same time of the day, days later; dates in front of a `T`. */
function daysLater(text: string, k: number): string {
	const day = text.slice(0, 10);
	const key = `${day} ${k}`;
	let moved = days.get(key);
	if (moved === undefined) {
		moved = new Date(Date.parse(`${day}T00:00:00Z`) + k * 86_400_000).toISOString().slice(0, 10);
		days.set(key, moved);
	}
	return `${moved}${text.slice(10)}`;
}
