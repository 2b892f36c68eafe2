/** Each stage and each file, as a multiple of parsing the same logs with PapaParse alone. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import type { Field, Run } from '../../lib/index.ts';
import { folderOf } from '../sim/index.ts';
import { door } from './door.ts';
import { fieldOf } from './jobs.ts';
import { type Row, spent_ms } from './row.ts';

class Timed extends door.Stages {
	readonly took: [string, number][] = [];
	override stage<T>(name: string, read: readonly unknown[], make: () => T): T {
		return super.stage(name, read, () => {
			const from = spent_ms();
			const made = make();
			this.took.push([name, spent_ms() - from]);
			return made;
		});
	}
}

export async function stages(copies: number): Promise<Row[]> {
	const room = mkdtempSync(join(tmpdir(), 'steelyard-bench-'));
	const { folder, records } = fieldOf(copies, room);
	const files = new Map(readdirSync(folder).map((name) => [name, readFileSync(join(folder, name), 'utf8')] as const));
	rmSync(room, { recursive: true });
	const timed = async (work: () => unknown) => {
		const from = spent_ms();
		await work();
		return spent_ms() - from;
	};
	const parse = await timed(() => {
		for (const [name, text] of files) if (name.startsWith('combine-')) Papa.parse(text, { header: false });
	});
	const source = folderOf(files);
	let field!: Field;
	let run!: Run;
	const kept = new Timed();
	const parts: [string, number][] = [['read', await timed(async () => (field = await door.openField(source)))]];
	run = door.solveField(field, undefined, { stages: kept });
	parts.push(...kept.took);
	const drain = async (chunks: Iterable<unknown> | AsyncIterable<unknown>) => {
		for await (const _ of chunks) {
			// Only made.
		}
	};
	const writers: [string, () => unknown][] = [
		['points.csv', () => drain(door.pointsCsv(run))],
		['points.geojson', () => drain(door.pointsGeojson(run))],
		['clean.csv', () => drain(door.cleanCsv(run, source, 'us'))],
		['clean-points.zip', () => door.shapefileZip(run, 'us')],
		['points.parquet', () => door.geoparquet(run)],
		['swaths.geojson', () => drain(door.swathsGeojson(run))],
		['map.tif', () => door.mapTif(run)],
		['report.html', () => drain(door.reportHtml(run, 'us'))],
	];
	for (const [name, write] of writers) parts.push([`write ${name}`, await timed(write)]);
	return parts
		.filter(([, ms]) => ms > 0.1 * parse)
		.map(([name, ms]) => ({
			what: `stage: ${name}`,
			value: ms / parse,
			unit: '×',
			bound: null,
			note: `the parse alone, ${records.toLocaleString('en-US')} records; ${ms.toFixed(0)} ms`,
		}));
}
