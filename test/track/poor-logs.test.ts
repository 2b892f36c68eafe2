import { beforeAll, describe, expect, it } from 'vitest';
import { accountMass } from '../../lib/account/index.ts';
import { silent } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { folderOf, type Sim, simulate } from '../sim/index.ts';
import { Files, type Row } from '../sim/situations.ts';

/** Ways in which logs hold less than they might, each with the share of the area that is on the map all the same. */
const WAYS: [string, number, (rows: Row[]) => Row[]][] = [
	['nothing is written while the header is up', 0.85, (rows) => rows.filter((r) => r.header_down === '1')],
	[
		'no flow is written while the header is up',
		0.9,
		(rows) => rows.map((r) => (r.header_down === '0' ? { ...r, flow_kg_s: '' } : r)),
	],
	[
		'the receiver gives a place every five seconds',
		0.9,
		(rows) => rows.map((r, i) => ({ ...r, lat: rows[i - (i % 5)]!.lat!, lon: rows[i - (i % 5)]!.lon! })),
	],
	['distances are all zero', 0.9, (rows) => rows.map((r) => ({ ...r, distance_m: '0' }))],
	['there is no moisture', 0.9, (rows) => rows.map((r) => ({ ...r, moisture_pct: '' }))],
	['every tenth row is lost', 0.9, (rows) => rows.filter((_, i) => (i * 7919) % 10 !== 3)],
	['every third row is lost', 0.9, (rows) => rows.filter((_, i) => i % 3 !== 1)],
	['intervals are blank', 0.9, (rows) => rows.map((r) => ({ ...r, interval_s: '' }))],
	[
		'0 and 1 of the header are exchanged',
		0.9,
		(rows) => rows.map((r) => ({ ...r, header_down: r.header_down === '1' ? '0' : '1' })),
	],
	['times lost their seconds', 0.9, (rows) => rows.map((r) => ({ ...r, time: r.time!.slice(0, 16) }))],
	['rows run backward', 0.9, (rows) => [...rows].reverse()],
];

describe('a log in which', () => {
	let sim: Sim;
	let recorded_kg: number;
	beforeAll(async () => {
		sim = simulate({ seed: 603, kind: 'labeled' });
		recorded_kg = (await read(sim.files)).account.account_kg.reduce((sum, kg) => sum + kg, 0);
	});

	async function read(files: ReadonlyMap<string, string>) {
		const field = await readField(folderOf(new Map(files)), { strict: false, progress: silent });
		return { ...field, account: accountMass(field.records) };
	}

	it.each(WAYS)('%s keeps its ground, its lag and most of its map', async (way, least, edit) => {
		const files = new Files(sim.files);
		for (const { name } of sim.truth.combines) files.log(name, edit);
		const { records, plan, boundary, varieties, account } = await read(files.texts);
		const track = trackField({ records, plan, boundary, varieties, account }, silent);
		expect(Math.abs(track.areas.cut_m2 / sim.truth.area_m2 - 1)).toBeLessThan(0.005);
		for (const lag of track.lags) {
			const truth = sim.truth.combines.find((c) => c.name === records.combines[lag.combine])!;
			expect(Math.abs(lag.lag_s - truth.lag_s)).toBeLessThan(Math.max(0.5, 2.5 * lag.u_s));
		}
		const kept = track.area_m2.reduce((sum, a, i) => sum + (track.flag[i] === 0 ? a : 0), 0);
		expect(kept / track.areas.cut_m2).toBeGreaterThan(least);
		// Rows lost within passes count by those around them; what came in while nothing was written at all is not there.
		const kg = account.account_kg.reduce((sum, m) => sum + m, 0);
		if (!/is written/.test(way)) expect(Math.abs(kg / recorded_kg - 1)).toBeLessThan(0.015);
	});
});
