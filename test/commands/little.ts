import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';

/** The little field without weights: the quickest to correct, where only files and folders matter. */
export function unweighedField(): Record<string, string> {
	const { 'A.csv': log } = littleField() as { 'A.csv': string };
	return { 'A.csv': log, 'field.json': JSON.stringify({ crop: 'corn', logs: [{ file: 'A.csv', combine: 'A' }] }) };
}

/** A field small enough to read by eye: one combine, eight passes of 200 m, three dumps, two tickets. Made up. */
export function littleField(change: Record<string, string | null> = {}): Record<string, string> {
	const rows = ['time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct,header_down'];
	const start = Date.UTC(2026, 9, 3, 15, 0, 0) / 1000;
	const perLat = 1 / 111_100;
	const perLon = perLat / Math.cos((42 * Math.PI) / 180);
	let t = start;
	for (let pass = 0; pass < 8; pass++) {
		for (let s = 0; s <= 100; s++, t++) {
			const along = pass % 2 === 0 ? 2 * s : 200 - 2 * s;
			rows.push(row(t, along, 6 * pass, s < 10 ? 0.9 * s : 9 + ((s * 7) % 5) / 10, 2, 1));
		}
		for (let s = 1; s <= 15; s++, t++) {
			rows.push(row(t, pass % 2 === 0 ? 205 : -5, 6 * pass + (6 * s) / 15, Math.max(0, 9 - 0.9 * s), 0.4, 0));
		}
	}
	function row(time: number, along: number, across: number, flow: number, distance: number, down: number): string {
		const lat = (42 + along * perLat).toFixed(7);
		const lon = (-93 + across * perLon).toFixed(7);
		return `${iso(time)},${lat},${lon},${flow.toFixed(2)},1,${distance.toFixed(1)},6.0,18.2,${down}`;
	}
	const files: Record<string, string | null> = {
		'field.json': JSON.stringify({
			name: 'Larkhill',
			season: 2026,
			crop: 'corn',
			logs: [{ file: 'A.csv', combine: 'A' }],
			cartLog: { file: 'cart.csv' },
			tickets: { file: 'tickets.csv' },
			combines: { A: { swath_m: 6, tank_kg: 6000 } },
		}),
		'A.csv': `${rows.join('\n')}\n`,
		'cart.csv': [
			'id,time,event,combine,weight_kg,emptied,truck_load',
			`D1,${iso(start + 235)},dump,A,1950,yes,T1`,
			`D2,${iso(start + 466)},dump,A,1946,yes,T1`,
			`O1,${iso(start + 600)},offload,,3896,,T1`,
			`D3,${iso(start + 930)},dump,A,3890,yes,T2`,
			`O2,${iso(start + 1200)},offload,,3890,,T2`,
			'',
		].join('\n'),
		'tickets.csv': `ticket,time,truck_load,net_kg,moisture_pct\nK1,${iso(start + 4000)},T1,3920,18.4\nK2,${iso(start + 9000)},T2,3900,18.3\n`,
		...change,
	};
	return Object.fromEntries(Object.entries(files).filter((e): e is [string, string] => e[1] !== null));
}

const iso = (t: number) => new Date(t * 1000).toISOString().replace('.000', '');

/** Writes a field's files into a folder. */
export function writeField(dir: string, files: Record<string, string | Uint8Array>): string {
	for (const [name, content] of Object.entries(files)) {
		const path = join(dir, name);
		mkdirSync(dirname(path), { recursive: true });
		writeFileSync(path, content);
	}
	return dir;
}
