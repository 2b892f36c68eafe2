import {
	type Folder,
	fieldContours,
	InputFault,
	pointsCsv,
	type Result,
	type Run,
	reportHtml,
	resultJson,
	runField,
} from '../../lib/index.ts';
import { cleanCsv, contoursGeojson, swathsGeojson } from '../../lib/write/index.ts';
import { source } from '../read/folder.ts';
import { random } from '../sim/random.ts';
import { type Files, mutate } from './mutate.ts';
import { tinyField } from './tiny.ts';

/** Fields to mutate: the smaller, the more often, since what a run costs is paid twenty thousand times. */
const tiny = tinyField();
const first = (text: string, lines: number) => `${text.split('\n').slice(0, lines).join('\n')}\n`;
const plan = JSON.parse(tiny['field.json'] as string) as Record<string, unknown>;
const without = (...keys: string[]) =>
	JSON.stringify({ ...plan, ...Object.fromEntries(keys.map((k) => [k, undefined])) });
const BASES: [number, Record<string, string>][] = [
	[
		0.949,
		{
			'field.json': without('cartLog', 'tickets', 'total', 'pins', 'flags'),
			'a.csv': first(tiny['a.csv'] as string, 8),
			'b.csv': first(tiny['b.csv'] as string, 7),
			'boundary.geojson': tiny['boundary.geojson'] as string,
		},
	],
	[
		0.05,
		{
			...tiny,
			'field.json': without('total'),
			'a.csv': first(tiny['a.csv'] as string, 15),
			'b.csv': first(tiny['b.csv'] as string, 8),
			'cart.csv': first(tiny['cart.csv'] as string, 3),
		},
	],
	[0.001, tiny],
];

export interface Outcome {
	seed: number;
	kind: 'result' | 'fault';
	/** What is wrong with it; empty where all is well. */
	wrong: string[];
}

/** The folder of a seed. */
export function filesOf(seed: number): Files {
	const r = random(seed, 'fuzz');
	let at = r.next();
	const [, base] = BASES.find(([share]) => (at -= share) < 0) ?? (BASES[0] as (typeof BASES)[0]);
	return mutate(base, r);
}

export async function outcomeOf(seed: number): Promise<Outcome> {
	const files = filesOf(seed);
	const folder: Folder = new Map([...files].map(([name, bytes]) => [name, source(name, bytes)]));
	let run: Run;
	try {
		run = await runField(folder);
	} catch (fault) {
		if (fault instanceof InputFault) return { seed, kind: 'fault', wrong: faultWrong(fault, files) };
		return { seed, kind: 'fault', wrong: [`an exception: ${(fault as Error).stack ?? String(fault)}`] };
	}
	const wrong = [...resultWrong(run), ...massesWrong(run)];
	if (seed % 40 === 0) wrong.push(...(await filesWrong(run, folder)));
	return { seed, kind: 'result', wrong };
}

/** A fault names a file and says why. */
function faultWrong(fault: InputFault, files: Files): string[] {
	if (fault.faults.length === 0) return ['a fault that names nothing'];
	return fault.faults
		.filter((f) => f.why === '' || (f.file !== 'field.json' && !files.has(f.file) && !/not in the folder/.test(f.why)))
		.map((f) => `a fault without its place: ${JSON.stringify(f)}`);
}

/** Where a number belongs, by path. */
const NUMBERS = [
	/^reference\.(ratio|u_rel|n)$/,
	/^combines\.[^.]*\.(records|flagged|fills|monitor_kg|account_kg|corrected_kg|factor\.value)$/,
	/^totals\.(area_ha|monitor_kg|corrected_kg)$/,
	/^flags\.\d+\.(records|account_kg)$/,
	/^seams\.\d+\.(before_pct|length_m)$/,
	/^dumps\.\d+\.cart_kg$/,
];

function resultWrong(run: Run): string[] {
	const wrong: string[] = [];
	const walk = (value: unknown, path: string): void => {
		if (typeof value === 'number' && !Number.isFinite(value)) wrong.push(`${path} is ${value}`);
		if (value === undefined) return;
		if (value === null && NUMBERS.some((n) => n.test(path))) wrong.push(`${path} is null`);
		if (
			typeof value === 'string' &&
			/\bNaN\b|undefined|Infinity|\[object/.test(value) &&
			!path.startsWith('set_aside')
		) {
			if (!/^(field|inputs)\.|\.found$|\.id$/.test(path) && !/found: /.test(value)) wrong.push(`${path} says ${value}`);
		}
		if (typeof value === 'object' && value !== null) {
			for (const [key, one] of Object.entries(value))
				walk(one, path === '' ? key : `${path}.${key.replaceAll('.', '_')}`);
		}
	};
	walk(run.result, '');
	const text = [...resultJson(run.result)].map((b) => new TextDecoder().decode(b)).join('');
	const back = JSON.parse(text) as Result;
	if (back.schema !== 'steelyard.result/1') wrong.push('result.json without its schema');
	return wrong;
}

const near = (a: number, b: number) => Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(a), Math.abs(b));

/** Records, masses and totals add up. */
function massesWrong(run: Run): string[] {
	const wrong: string[] = [];
	const { records, book } = run.field;
	const { combines, totals, dumps, flags } = run.result;
	const all = Object.values(combines);
	const sum = (of: (c: (typeof all)[0]) => number) => all.reduce((s, c) => s + of(c), 0);
	const say = (what: string, a: number, b: number) => {
		if (!near(a, b)) wrong.push(`${what}: ${a} for ${b}`);
	};
	say(
		'records',
		sum((c) => c.records),
		records.n,
	);
	let recorded = 0;
	for (let i = 0; i < records.n; i++) {
		const own_s = (records.interval_s[i] as number) - (records.lost_s?.[i] ?? 0);
		const kg = (records.flow_kg_s[i] as number) * own_s;
		// A flow below nothing is a sensor's zero that has drifted: no grain went back.
		if (kg > 0) recorded += kg;
	}
	say(
		'monitor_kg',
		sum((c) => c.monitor_kg),
		recorded,
	);
	for (const key of ['monitor_kg', 'corrected_kg'] as const)
		say(
			`totals.${key}`,
			totals[key],
			sum((c) => c[key]),
		);
	for (const c of all) {
		say('corrected_kg', c.corrected_kg, c.account_kg * (c.factor?.value ?? 1));
		if (c.flagged > c.records) wrong.push('more flagged than there are');
		if (c.factor && !(c.factor.value > 0)) wrong.push(`a factor of ${c.factor.value}`);
	}
	say(
		'flagged',
		flags.reduce((s, f) => s + f.records, 0),
		sum((c) => c.flagged),
	);
	say('dumps', dumps.length, book.dumps.length);
	if (!(totals.area_ha >= 0)) wrong.push(`an area of ${totals.area_ha}`);
	return wrong;
}

async function filesWrong(run: Run, folder: Folder): Promise<string[]> {
	const wrong: string[] = [];
	const text = async (name: string, chunks: Iterable<Uint8Array> | AsyncIterable<Uint8Array>) => {
		const decoder = new TextDecoder();
		let all = '';
		try {
			for await (const chunk of chunks) all += decoder.decode(chunk, { stream: true });
		} catch (fault) {
			wrong.push(`${name}: ${(fault as Error).stack}`);
		}
		return all;
	};
	const points = await text('points.csv', pointsCsv(run));
	const lines = points.trimEnd().split('\n').length - 1;
	// A combine's name may hold a line break in quotes.
	if (lines < run.field.records.n) wrong.push(`points.csv has ${lines} rows for ${run.field.records.n}`);
	if (
		/(^|,)(NaN|Infinity|-Infinity|undefined)(,|$)/m.test(points) &&
		!run.field.records.combines.some((c) => /NaN|Inf/.test(c))
	) {
		wrong.push('points.csv holds what is no number');
	}
	for (const [name, chunks] of [
		['swaths.geojson', swathsGeojson(run)],
		['contours.geojson', contoursGeojson(run, fieldContours(run))],
	] as const) {
		const json = await text(name, chunks);
		try {
			JSON.parse(json);
		} catch (fault) {
			wrong.push(`${name}: ${(fault as Error).message}`);
		}
	}
	await text('clean.csv', cleanCsv(run, folder, 'us'));
	await text('report.html', reportHtml(run, 'us'));
	return wrong;
}
