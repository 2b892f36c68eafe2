// npm run bench: one table of ratios within this run and of times against stated bounds. `-- --quick` leaves the large
// fields out, `-- --large` adds three million records, `-- --no-page` needs no browser. Build first (npm run build):
// the command is run as it ships.
import { existsSync } from 'node:fs';
import { cpus, loadavg } from 'node:os';
import { book } from './book.ts';
import { dumps } from './dumps.ts';
import { frames } from './frames.ts';
import { installed, jobs } from './jobs.ts';
import { pins } from './pins.ts';
import { type Row, table } from './row.ts';
import { stages } from './stages.ts';

const words = process.argv.slice(2);
const quick = words.includes('--quick');
const rows: Row[] = [];
const add = async (name: string, work: () => Row[] | Promise<Row[]>) => {
	process.stderr.write(`${name} …\n`);
	rows.push(...(await work()));
};

await add('the command', () => jobs(quick ? [6] : words.includes('--large') ? [6, 45, 165] : [6, 45]));
await add('stages', () => stages(6));
await add('dumps', dumps);
await add('pins', () => pins(1, { pin: 0.3, threshold: 1 }));
if (!quick) await add('pins, large', () => pins(17, { pin: 1, threshold: 4 }));
if (words.includes('--no-page')) process.stderr.write('the page was left out.\n');
else if (existsSync('/usr/bin/chromium')) {
	await add('the page', frames);
	await add('the load book', book);
} else process.stderr.write('MISSING: Chromium; the page was not measured.\n');
await add('installed', () => [installed()]);
const load = loadavg()[0]!.toFixed(1);
console.log(
	`Node ${process.version}, ${cpus().length} cores, load ${load}. By the clock, so on an idle machine; processor time is of all threads.\n`,
);
console.log(table(rows));
