import type { Sim } from '../sim/index.ts';

/**
 * A field of any size: a simulated one laid side by side, one day a copy, so that a combine's log stays one log in
 * time order and the cart's book one book. Copies lie in rows, each a little more than a field's width from the next.
 *
 * @returns files by name
 */
export function tiled(sim: Pick<Sim, 'files'>, copies: number): Map<string, string> {
	const out = new Map<string, string>();
	const ring = JSON.parse(sim.files.get('boundary.geojson') ?? 'null');
	const corners: [number, number][] = ring.geometry.coordinates[0];
	const pitch = (axis: 0 | 1) => {
		const values = corners.map((c) => c[axis]);
		return Math.max(...values) - Math.min(...values) + 0.0002;
	};
	const [east_deg, north_deg] = [pitch(0), pitch(1)];
	const place = (k: number): [number, number] => [(k % IN_A_ROW) * east_deg, Math.floor(k / IN_A_ROW) * north_deg];
	const dumps = (sim.files.get('cart.csv') ?? '').split(',dump,').length - 1;
	const every = Math.max(1, Math.ceil((copies * dumps) / MOST_DUMPS));
	for (const [name, text] of sim.files) {
		if (name === 'boundary.geojson') {
			const coordinates = Array.from({ length: copies }, (_, k) => [
				corners.map(([lon, lat]) => [+(lon + place(k)[0]).toFixed(8), +(lat + place(k)[1]).toFixed(8)]),
			]);
			out.set(
				name,
				`${JSON.stringify({ type: 'Feature', properties: {}, geometry: { type: 'MultiPolygon', coordinates } })}\n`,
			);
		} else if (name.endsWith('.csv')) {
			out.set(name, tiledTable(text, copies, place, name.startsWith('combine-') ? 1 : every));
		} else out.set(name, text);
	}
	return out;
}

/** Dumps that one field takes; of more, only those of every second or third copy are weighed. */
const MOST_DUMPS = 2500;

/** A longer row would leave its UTM zone. */
const IN_A_ROW = 60;

function tiledTable(text: string, copies: number, place: (copy: number) => [number, number], every: number): string {
	const [head = '', ...rows] = text.trimEnd().split('\n');
	const columns = head.split(',');
	const at = (name: string) => columns.indexOf(name);
	const [time, lon, lat] = [at('time'), at('lon'), at('lat')];
	const names = ['id', 'ticket', 'truck_load'].map(at).filter((k) => k >= 0);
	const cells = rows.map((row) => row.split(','));
	const parts = [head];
	for (let k = 0; k < copies; k += every) {
		const [east_deg, north_deg] = place(k);
		for (const row of cells) {
			const copy = row.slice();
			if (time >= 0) copy[time] = daysLater(copy[time] ?? '', k);
			if (lon >= 0 && copy[lon]) copy[lon] = (Number(copy[lon]) + east_deg).toFixed(8);
			if (lat >= 0 && copy[lat]) copy[lat] = (Number(copy[lat]) + north_deg).toFixed(8);
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
