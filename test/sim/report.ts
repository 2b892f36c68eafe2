// Prints how well runs do on simulated fields: npx tsx test/sim/report.ts [kind,kind|all] [seeds: 1-6 or 3,5] [-v] [-n: no grid]
import { KINDS, type Kind } from './index.ts';
import { trial } from './run.ts';
import type { Scores } from './score.ts';
import { misses } from './targets.ts';

const words = process.argv.slice(2);
const verbose = words.includes('-v');
const grid = !words.includes('-n');
const [kindWord = 'labeled', seedWord = '101-103'] = words.filter((w) => !w.startsWith('-'));
const kinds = kindWord === 'all' ? [...KINDS] : (kindWord.split(',') as Kind[]);
const seeds = seedWord.split(',').flatMap((part) => {
	const [from, to] = part.split('-').map(Number);
	return Array.from({ length: (to ?? from!) - from! + 1 }, (_, i) => from! + i);
});

const worst = (values: number[]) => {
	const known = values.filter((v) => !Number.isNaN(v));
	return known.length === 0 ? Number.NaN : known.reduce((a, b) => (Math.abs(b) > Math.abs(a) ? b : a), 0);
};
const median = (values: number[]) => {
	const sorted = values
		.filter((v) => !Number.isNaN(v))
		.map(Math.abs)
		.sort((a, b) => a - b);
	if (sorted.length === 0) return Number.NaN;
	return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2;
};
const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
const n = (value: number, digits = 2) => (Number.isNaN(value) ? '–' : value.toFixed(digits));
const share = (flags: boolean[]) => (flags.length === 0 ? '–' : `${flags.filter(Boolean).length}/${flags.length}`);

const COLUMNS: [string, (all: Scores[]) => string][] = [
	['k med', (all) => n(median(all.flatMap((s) => s.factors.map((f) => f.error_pct))))],
	['k max', (all) => n(worst(all.flatMap((s) => s.factors.map((f) => f.error_pct))))],
	['k in', (all) => share(all.flatMap((s) => s.factors.map((f) => f.covered)))],
	['k score', (all) => n(mean(all.flatMap((s) => s.factors.map((f) => f.intervalScore_pct))))],
	['form', (all) => share(all.flatMap((s) => s.factors.map((f) => f.formRight)))],
	['lag max', (all) => n(worst(all.flatMap((s) => s.lags.map((l) => l.error_s))))],
	['dumps', (all) => n((100 * total(all, (s) => s.dumps.right)) / total(all, (s) => s.dumps.n), 1)],
	['strict', (all) => n((100 * total(all, (s) => s.dumps.strict)) / total(all, (s) => s.dumps.n), 1)],
	[
		'unw f/e+inv',
		(all) =>
			`${total(all, (s) => s.unweighed.found)}/${total(all, (s) => s.unweighed.expected)}+${total(all, (s) => s.unweighed.invented)}`,
	],
	[
		'trace f/e+inv',
		(all) =>
			`${total(all, (s) => s.trace.found)}/${total(all, (s) => s.trace.expected)}+${total(all, (s) => s.trace.invented)}`,
	],
	['kg %', (all) => n(worst(all.map((s) => s.trace.weight_pct)))],
	['clock max', (all) => n(worst(all.map((s) => s.clock.error_s)), 0)],
	['in', (all) => share(all.map((s) => s.clock.covered))],
	['rmse', (all) => n(mean(all.map((s) => s.records.rmse_pct)))],
	['rmse max', (all) => n(worst(all.map((s) => s.records.rmse_pct)))],
	['bias max', (all) => n(worst(all.map((s) => s.records.bias_pct)))],
	['raw', (all) => n(mean(all.map((s) => s.records.raw_pct)), 0)],
	['kept min', (all) => n(Math.min(...all.map((s) => s.records.kept_pct)), 1)],
	['area max', (all) => n(worst(all.map((s) => s.area_pct)))],
	['place', (all) => n(worst(all.map((s) => s.place_m)))],
	['grid', (all) => n(mean(all.map((s) => s.grid.rmse_pct)))],
	['grid max', (all) => n(worst(all.map((s) => s.grid.rmse_pct)))],
	['in 1', (all) => n(mean(all.map((s) => s.grid.within1_pct)), 0)],
	['in 2', (all) => n(mean(all.map((s) => s.grid.within2_pct)), 0)],
	['seam max', (all) => n(worst(all.flatMap((s) => s.seams.map((j) => j.error_pct))))],
	['in', (all) => share(all.flatMap((s) => s.seams.map((j) => j.covered)))],
	['moist max', (all) => n(worst(all.flatMap((s) => s.moistures.map((m) => m.error_pct))))],
];

function total(all: Scores[], of: (s: Scores) => number): number {
	return all.reduce((sum, s) => sum + of(s), 0);
}

const rows: string[][] = [];
const missed: string[] = [];
for (const kind of kinds) {
	const all: Scores[] = [];
	const began = performance.now();
	for (const seed of seeds) {
		try {
			const { scores } = await trial({ seed, kind }, { grid });
			all.push(scores);
			if (verbose) {
				console.log(`\n${kind} seed ${seed}`);
				console.log(COLUMNS.map(([name, of]) => `${name} ${of([scores])}`).join(' | '));
				for (const f of scores.factors) console.log(`  factor ${f.combine} ${n(f.error_pct)} % ${f.form}`);
				for (const w of scores.dumps.wrong) console.log(`  dump ${w.id}: expected ${w.expected}, found ${w.found}`);
				for (const m of scores.unweighed.missed) console.log(`  unweighed, missed: ${m}`);
				for (const m of scores.unweighed.inventions) console.log(`  unweighed, invented: ${m}`);
			}
		} catch (error) {
			console.log(`${kind} seed ${seed}: ${error instanceof Error ? (verbose ? error.stack : error.message) : error}`);
		}
	}
	const seconds = (performance.now() - began) / 1000 / seeds.length;
	if (all.length > 0) missed.push(`${kind}: ${misses(kind, all).join('; ') || 'all targets met'}`);
	if (all.length > 0) rows.push([kind, String(all.length), ...COLUMNS.map(([, of]) => of(all)), seconds.toFixed(1)]);
}
const head = ['kind', 'n', ...COLUMNS.map(([name]) => name), 's each'];
const widths = head.map((name, i) => Math.max(name.length, ...rows.map((row) => row[i]!.length)));
for (const row of [head, ...rows]) console.log(row.map((cell, i) => cell.padStart(widths[i]!)).join('  '));

console.log(`\nMissed:\n${missed.join('\n')}`);
