// How answers on partial or wrong evidence do: npx tsx test/sim/partial.ts [words of situations|all|mishaps] [seeds: 1-6] [-v]
import { accountMass } from '../../lib/account/index.ts';
import { matchField } from '../../lib/match/index.ts';
import { silent } from '../../lib/model/index.ts';
import { factorsOf } from '../../lib/pipeline/factors.ts';
import { readField } from '../../lib/read/index.ts';
import { moistureOffsets, moistureSlips, scaleReference } from '../../lib/reference/index.ts';
import { findSeams, sampleSeams, seamJumps } from '../../lib/seams/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { folderOf, type Sim, simulate } from './index.ts';
import { MISHAPS } from './mishaps.ts';
import { Files, SITUATIONS, type Situation } from './situations.ts';

const words = process.argv.slice(2);
const verbose = words.includes('-v');
const [nameWord = 'all', seedWord = '301-306'] = words.filter((w) => !w.startsWith('-'));
const chosen =
	nameWord === 'mishaps'
		? MISHAPS
		: nameWord === 'all'
			? SITUATIONS
			: [...SITUATIONS, ...MISHAPS].filter((s) => nameWord.split(';').some((w) => s.name.includes(w)));
const seeds = seedWord.split(',').flatMap((part) => {
	const [from, to] = part.split('-').map(Number);
	return Array.from({ length: (to ?? from!) - from! + 1 }, (_, i) => from! + i);
});

interface Answer {
	/** Per combine: error per cent, half-width per cent, form. */
	factors: { error_pct: number; half_pct: number; form: string; weighed: boolean }[];
	cautions: string[];
	named: boolean;
	dumps: [number, number];
	clock: { error_s: number; u_s: number };
	ms: number;
}

/** Logs are the slow part: one that many situations share is read and tracked once. */
const prepared = new Map<string, ReturnType<typeof tracked>>();

async function tracked(files: Map<string, string>) {
	const field = await readField(folderOf(files), { strict: false, progress: silent });
	const { plan, records, boundary, varieties } = field;
	const account = accountMass(records);
	const track = trackField({ records, plan, boundary, varieties, account }, silent);
	const seams = findSeams({ records, track, plan, varieties });
	const unknown = records.combines.map(() => 0);
	const sampled = sampleSeams({ records, account, track, seams });
	const rough = seamJumps(sampled, { level_log: null, covariance: null, moistureOffset_pct: unknown });
	return { field, account, track, seams, rough };
}

async function answer(situation: Situation, seed: number): Promise<Answer> {
	const sim = simulate({
		seed,
		kind: situation.kind,
		overrides: (s) => {
			situation.scenario?.(s);
			if (situation.clock_s) s.cart.clockOffset_s += situation.clock_s(seed);
		},
	});
	const files = new Files(sim.files);
	situation.edit(files, sim);
	const logs = [...files.texts]
		.filter(([name]) => !/cart|ticket/.test(name))
		.map(([, text]) => text)
		.join('\n');
	const pristine = [...sim.files].every(
		([name, text]) => /cart|ticket|field.json/.test(name) || files.texts.get(name) === text,
	);
	const key = pristine
		? `${situation.kind} ${seed} ${sim.scenario.log.auger} ${logs.length}`
		: `${logs.length} ${situation.name} ${seed}`;
	const began = performance.now();
	if (!prepared.has(key)) prepared.set(key, tracked(files.texts));
	const at = await prepared.get(key)!;
	if (!pristine) prepared.delete(key);
	const { account, track, seams, rough } = at;
	const { plan, book, records, notes } = await readField(folderOf(light(files.texts)), {
		strict: false,
		progress: silent,
	}).then((f) => ({ ...f, records: at.field.records, notes: pristine ? f.notes : at.field.notes }));
	const reference = scaleReference({ book, plan });
	const begun = performance.now();
	const aligned = matchField({ records, account, track, book, plan, reference, seams: rough }, silent);
	const moisture = moistureOffsets({ book, plan, records, account, track, match: aligned, seams: rough });
	const jumps = rough;
	const { factors: solved, match } = factorsOf(
		{ records, account, track, match: aligned, reference, seams, jumps, moisture, book, plan },
		silent,
	);
	const ms = performance.now() - begun;
	void began;
	const cautions = [
		...notes.filter((n) => n.level === 'caution').map((n) => n.text),
		...(reference.remarks ?? []),
		...moistureSlips(book, moisture),
		...match.cautions,
		...match.notes,
		...(solved.cautions ?? []),
		...(solved.notes ?? []),
		...(track.remarks ?? []).map((n) => n.text),
	];
	return {
		factors: sim.truth.combines.flatMap((c) => {
			const i = records.combines.indexOf(c.name);
			const f = solved.factors[i];
			if (!f) return [];
			const truth =
				(situation.unit_kg ? 1 / situation.unit_kg(sim) : 1) *
				(c.wet_kg / (situation.asSimulated ? c.clean_kg : monitorSum(at.field, i, c)));
			return {
				error_pct: 100 * (f.value / truth - 1),
				half_pct: (50 * (f.interval[1] - f.interval[0])) / f.value,
				form: f.form,
				weighed: match.weighings.some((w) => w.used && w.unloadings.some((u) => match.unloadings[u]!.combine === i)),
			};
		}),
		cautions,
		named: cautions.some((text) => situation.names.test(text)),
		dumps: dumpsRight(sim, match, records.combines, book),
		clock: { error_s: match.clock.offset_s - sim.truth.clock_offset_s, u_s: match.clock.u_s },
		ms,
	};
}

/** The folder with its logs cut to a few rows, for reading the book alone; a total is checked against whole logs. */
function light(texts: Map<string, string>): Map<string, string> {
	if (texts.get('field.json')!.includes('"total"')) return texts;
	return new Map(
		[...texts].map(([name, text]) => [name, /^combine/.test(name) ? text.split('\n').slice(0, 40).join('\n') : text]),
	);
}

/** What the log's monitor came to, faults left out as in the truth: the written log's own sum over what it was. */
function monitorSum(
	field: Awaited<ReturnType<typeof tracked>>['field'],
	c: number,
	truth: Sim['truth']['combines'][number],
): number {
	const { records } = field;
	let now = 0;
	const seen = new Set<string>();
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== c) continue;
		const at = `${records.time_s[i]} ${records.lat_deg[i]}`;
		const kg = records.flow_kg_s[i]! * records.interval_s[i]!;
		// A row given twice is one row.
		if (kg > 0 && !seen.has(at)) now += kg;
		seen.add(at);
	}
	return truth.clean_kg * (now / truth.monitor_kg);
}

function dumpsRight(
	sim: Sim,
	match: ReturnType<typeof matchField>,
	names: string[],
	book: { dumps: { id: string }[] },
): [number, number] {
	let right = 0;
	book.dumps.forEach((d, i) => {
		const truth = sim.truth.dumps.find((t) => t.id === d.id);
		const fate = match.fates[i];
		if (!truth || !fate) return;
		if (fate.status !== 'aside' && fate.combines.map((c) => names[c]).join('+') === truth.combines.join('+')) right++;
	});
	return [right, book.dumps.length];
}

const fix = (x: number, d = 1): string => (Number.isFinite(x) ? x.toFixed(d) : '–');
console.log(`${'situation'.padEnd(40)} right warn WRONG | errors % (half-width %) … | dumps | clock error s (u) | ms`);
let wrongs = 0;
for (const situation of chosen) {
	const all: Answer[] = [];
	for (const seed of seeds) {
		try {
			all.push(await answer(situation, seed));
		} catch (error) {
			console.log(`${situation.name} ${seed}: ${error instanceof Error ? error.stack : error}`);
		}
	}
	const fine = (f: Answer['factors'][number]): boolean =>
		!Number.isFinite(f.error_pct) ? !f.weighed : Math.abs(f.error_pct) <= Math.max(1, 1.5 * f.half_pct);
	const right = all.filter((a) => a.factors.every(fine) && a.factors.some((f) => Number.isFinite(f.error_pct)));
	const warned = all.filter((a) => !right.includes(a) && a.named);
	wrongs += all.length - right.length - warned.length;
	const factors = all
		.map((a) =>
			a.factors.map((f) => `${fix(f.error_pct)}(${fix(f.half_pct)})${f.form === 'constant' ? '' : f.form}`).join(' '),
		)
		.join('; ');
	console.log(
		`${situation.name.padEnd(40)} ${right.length} ${warned.length} ${all.length - right.length - warned.length} | ${factors} | ${all.map((a) => a.dumps.join('/')).join(' ')} | ${all.map((a) => `${fix(a.clock.error_s, 0)}(${fix(a.clock.u_s, 0)})`).join(' ')} | ${fix(Math.max(...all.map((a) => a.ms)), 0)}`,
	);
	if (verbose) for (const [i, a] of all.entries()) console.log(`  seed ${seeds[i]}\n    ${a.cautions.join('\n    ')}`);
}
console.log(`wrong and unnamed: ${wrongs}`);
