// npm run bench: speed as ratios within one run, so that the machine's own pace drops out. Times stand beside them
// for a feeling only. The frames of the map are measured in Chromium where it is installed.
import { existsSync } from 'node:fs';
import Papa from 'papaparse';
import { runField } from '../../lib/index.ts';
import type { Field, Folder, Progress, Run } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { pointsCsv } from '../../lib/write/index.ts';
import { simulate } from '../sim/index.ts';

const line = (what: string, ratio: number, against: string, ms: number) =>
	console.log(
		`${what.padEnd(44)} ${ratio.toFixed(2).padStart(7)} × ${against.padEnd(36)} ${ms.toFixed(0).padStart(6)} ms`,
	);

/** The faster of three tries: the one least disturbed. */
async function fastest<T>(work: () => Promise<T> | T): Promise<{ ms: number; value: T }> {
	let best = Number.POSITIVE_INFINITY;
	let value!: T;
	for (let k = 0; k < 3; k++) {
		const from = performance.now();
		value = await work();
		best = Math.min(best, performance.now() - from);
	}
	return { ms: best, value };
}

/** A log of n rows as a field without weights, in chunks of 1 MiB. */
function longLog(rows: number): { folder: Folder; text: string } {
	const lines = ['time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct'];
	const start = Date.UTC(2026, 9, 3, 15) / 1000;
	for (let i = 0; i < rows; i++) {
		const time = new Date((start + i) * 1000).toISOString().slice(0, 19);
		lines.push(
			`${time}Z,${(42 + (i % 5000) * 1e-6).toFixed(7)},-93.1234567,${(9 + (i % 40) / 10).toFixed(2)},1,2.0,9.144,18.2`,
		);
	}
	const text = `${lines.join('\n')}\n`;
	const plan = JSON.stringify({ crop: 'corn', logs: [{ file: 'A.csv', combine: 'A' }] });
	const source = (name: string, bytes: Uint8Array) => ({
		name,
		bytes: bytes.length,
		async *chunks() {
			for (let at = 0; at < bytes.length; at += 1 << 20) yield bytes.subarray(at, at + (1 << 20));
		},
	});
	const encoder = new TextEncoder();
	const files = [source('field.json', encoder.encode(plan)), source('A.csv', encoder.encode(text))];
	return { folder: new Map(files.map((f) => [f.name, f])), text };
}

async function reading(): Promise<void> {
	const { folder, text } = longLog(200_000);
	const papa = await fastest(() => Papa.parse(text, { header: false, fastMode: true }).data.length);
	const ours = await fastest(() => readField(folder) as Promise<Field>);
	line(
		'read a log of 200,000 rows, SHA-256 included',
		ours.ms / papa.ms,
		'PapaParse on one string, no numbers',
		ours.ms,
	);
}

async function writing(run: Run): Promise<void> {
	const { records } = run.field;
	const plain = await fastest(() => {
		let length = 0;
		for (let i = 0; i < records.n; i++) {
			length += [
				records.combines[records.combine[i] as number],
				new Date((records.time_s[i] as number) * 1000).toISOString(),
				(records.lon_deg[i] as number).toFixed(7),
				(records.lat_deg[i] as number).toFixed(7),
				(run.track.area_m2[i] as number).toFixed(3),
				(run.yields.moisture_pct[i] as number).toFixed(3),
				(run.yields.monitor_kg_ha[i] as number).toFixed(2),
				(run.yields.corrected_kg_ha[i] as number).toFixed(2),
				(run.yields.u_rel[i] as number).toFixed(6),
			].join(',').length;
		}
		return length;
	});
	const ours = await fastest(() => {
		let bytes = 0;
		for (const chunk of pointsCsv(run)) bytes += chunk.length;
		return bytes;
	});
	line(`write points.csv, ${records.n} records`, ours.ms / plain.ms, 'the same numbers by toFixed', ours.ms);
}

/** Time of each stage as a share of the whole run. */
async function stages(folder: Folder): Promise<Run> {
	const spent = new Map<string, number>();
	let stage = 'start';
	let since = performance.now();
	const progress: Progress = {
		step(next) {
			const now = performance.now();
			spent.set(stage, (spent.get(stage) ?? 0) + now - since);
			[stage, since] = [next, now];
		},
	};
	const from = performance.now();
	const run = await runField(folder, {}, progress);
	progress.step('end', 1);
	const whole = performance.now() - from;
	for (const [name, ms] of spent)
		if (ms / whole > 0.005) line(`  stage after “${name}”`, ms / whole, 'the whole run', ms);
	line(`a run of ${run.field.records.n} records`, whole / run.field.records.n, 'ms a record', whole);
	return run;
}

async function matching(): Promise<void> {
	const one = simulate({ kind: 'labelled', seed: 9 }).folder;
	const wide = simulate({ kind: 'clock-7h', seed: 9 }).folder;
	const known = await fastest(() => runField(one));
	const unknown = await fastest(() => runField(wide));
	line(
		'a run whose clock is hours off, unlabelled',
		unknown.ms / known.ms,
		'the same field with all noted',
		unknown.ms,
	);
}

await reading();
const run = await stages(simulate({ kind: 'three', seed: 9 }).folder);
await writing(run);
await matching();
if (existsSync('/usr/bin/chromium')) {
	const frames = new URL('./frames.ts', import.meta.url);
	if (existsSync(frames)) await import(frames.href);
} else console.log('MISSING: Chromium; the frames of the map were not measured.');
