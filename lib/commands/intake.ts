import { createHash } from 'node:crypto';
import { readFile, stat } from 'node:fs/promises';
import { basename, join, resolve } from 'node:path';
import {
	answersFault,
	CallFault,
	CROPS,
	cropGiven,
	type Folder,
	folderOf,
	formatNumber,
	type Given,
	InputFault,
	type Intake,
	type IntakeOptions,
	intakeJson,
	isZone,
	massInBoth,
	type Output,
	readSources,
	type Source,
	understand,
	wholeFile,
} from '../index.ts';
import { folderFromDisk, sourceFromDisk } from './folder-from-disk.ts';
import type { Written } from './place/manifest.ts';
import { Place } from './place/place.ts';
import { plain, table } from './terminal.ts';

const HA_PER_AC = 0.404_685_642_24;
/** Exports of a season of many growers nest deeper than a field folder. */
const DEEPEST = 12;

interface IntakeCall {
	crop?: string;
	timeZone?: string;
	answers?: string;
}

/** `intake SOURCE… --out ROOT`: field folders and intake.json from exports as they come. */
export async function intake(
	paths: readonly string[],
	options: IntakeCall & { out: string; replace?: boolean },
): Promise<string> {
	const call = await optionsOf(options);
	const place = await Place.take(options.out, { inputs: paths, replace: options.replace ?? false, listed: false });
	try {
		const done = understand(await readSources(await sourcesFromDisk(paths)), call);
		if (done.fields.length === 0) throw new InputFault(whyNothing(done, paths));
		await place.publish(await listed(done));
		return summaryOf(done, options.out);
	} finally {
		await place.release();
	}
}

/** The files, with a list of them in intake.json that shows a later run what it may replace. */
async function listed(done: Intake): Promise<Output[]> {
	const outputs = done.outputs.filter((o) => o.name !== 'intake.json');
	const files: Written[] = [];
	for (const { name, chunks } of outputs) {
		const hash = createHash('sha256');
		let bytes = 0;
		for await (const chunk of chunks()) {
			hash.update(chunk);
			bytes += chunk.length;
		}
		files.push({ file: name, bytes, sha256: hash.digest('hex') });
	}
	return [...outputs, intakeJson({ ...done.report, files })];
}

/**
 * A field for `check` and `correct`: a field folder, or any source that `intake` takes if it holds one field and leaves no
 * blocking question.
 */
export async function fieldFrom(path: string): Promise<Folder> {
	const about = await stat(path).catch(() => null);
	if (about === null || (about.isDirectory() && (await stat(join(path, 'field.json')).catch(() => null)) !== null)) {
		return folderFromDisk(path);
	}
	const done = understand(await readSources(await sourcesFromDisk([path])));
	const [field, ...others] = done.fields;
	if (field === undefined) throw new InputFault(whyNothing(done, [path]));
	const missing = about.isDirectory() ? 'there is no field.json here, so its files are read as exported: ' : '';
	const fault = (why: string) => wholeFile(path, '', missing + why);
	if (others.length > 0) {
		const names = done.fields.map((f) => f.report.name).join(', ');
		throw new InputFault([
			fault(`this holds ${done.fields.length} fields (${names}); steelyard intake writes a folder for each`),
		]);
	}
	if (field.blocking.length > 0) {
		throw new InputFault(
			field.blocking.map((q) => ({
				...fault(
					`open question (${q.about}): ${q.text}${q.choices.length > 0 ? ` (${q.choices.join(', ')})` : ''}. Answer it with steelyard intake --answers`,
				),
				file: q.file ?? path,
			})),
		);
	}
	return folderOf(field);
}

async function optionsOf({ crop, timeZone, answers }: IntakeCall): Promise<IntakeOptions> {
	const out: IntakeOptions = {};
	if (crop !== undefined) {
		if (cropGiven(crop) === null) {
			throw new CallFault(`--crop ${crop} is not known; expected one of ${CROPS.map((c) => c.name).join(', ')}`);
		}
		out.crop = crop;
	}
	if (timeZone !== undefined) {
		if (!isZone(timeZone))
			throw new CallFault(`--time-zone ${timeZone} is not a time zone; expected a name such as America/Chicago`);
		out.timeZone = timeZone;
	}
	if (answers !== undefined) out.answers = await answersFrom(answers);
	return out;
}

async function answersFrom(path: string): Promise<Record<string, Given>> {
	const fault = (found: string, why: string) => new InputFault([wholeFile(path, found, why)]);
	let text: string;
	try {
		text = await readFile(path, 'utf8');
	} catch (error) {
		throw fault((error as NodeJS.ErrnoException).code ?? '', 'the answers cannot be read');
	}
	let json: unknown;
	try {
		json = JSON.parse(text);
	} catch {
		throw fault('', 'this is not valid JSON');
	}
	const why = answersFault(json);
	if (why !== null) throw fault('', why);
	return json as Record<string, Given>;
}

/** Every file of the sources; names of files in a folder start with the folder's name. */
async function sourcesFromDisk(paths: readonly string[]): Promise<Source[]> {
	const out: Source[] = [];
	for (const path of paths) {
		const about = await stat(path).catch(() => null);
		if (about === null) throw new InputFault([wholeFile(path, '', 'no such file or folder')]);
		if (!about.isDirectory()) out.push(sourceFromDisk(path, basename(path), about.size));
		else {
			const above = basename(resolve(path));
			for (const source of (await folderFromDisk(path, DEEPEST)).values()) {
				out.push({ ...source, name: `${above}/${source.name}` });
			}
		}
	}
	const seen = new Map<string, number>();
	return out.map((source) => {
		const times = (seen.get(source.name) ?? 0) + 1;
		seen.set(source.name, times);
		return times === 1 ? source : { ...source, name: `${times}/${source.name}` };
	});
}

function whyNothing(done: Intake, paths: readonly string[]) {
	const sources = done.report.sources;
	if (sources.length === 0) return [wholeFile(paths.join(' and '), 'no files', 'there is nothing to read')];
	return sources.map(({ file, use, why }) => {
		const left = use === 'none' && why;
		return wholeFile(
			file,
			'',
			left || `no log of a yield monitor (${why || 'no record with a position and grain is in it'})`,
		);
	});
}

/** Summary of what was understood, for a terminal. */
function summaryOf(done: Intake, out: string): string {
	const lines: string[] = [];
	lines.push(
		table(
			['file', 'use', 'why'],
			done.report.sources.map((s) => [plain(s.file), s.use, plain(s.why)]),
		),
	);
	for (const field of done.report.fields) {
		lines.push(
			'',
			`${plain(field.name)} (${field.crop ?? 'crop not known'}), in ${field.folder}: ${plain(field.because)}`,
		);
		for (const c of field.combines) {
			lines.push(
				`  combine ${plain(c.name)}: ${formatNumber(c.records, 0)} records, ${massInBoth(c.monitor_kg)} by the monitor, ${(c.area_ha / HA_PER_AC).toFixed(1)} ac (${c.area_ha} ha)${c.start === null ? '' : `, ${c.start} to ${c.end}`}`,
			);
		}
		if (field.dumps + field.tickets > 0) lines.push(`  ${field.dumps} dumps, ${field.tickets} tickets`);
		for (const note of field.notes) lines.push(`  ${plain(note)}`);
		for (const q of field.questions) {
			lines.push(
				`  ${q.blocking ? 'Question' : 'To check'} (${plain(q.about)}): ${plain(q.text)}${q.choices.length > 0 ? ` [${q.choices.map(plain).join(' | ')}]` : ''}${q.taken === null ? '' : ` Taken: ${plain(q.taken)}.`}`,
			);
		}
	}
	const aside = done.report.set_aside.length;
	if (aside > 0)
		lines.push(
			'',
			`${aside} ${aside === 1 ? 'item is' : 'items are'} not used; intake.json lists each with its reason.`,
		);
	const open = done.fields.filter((f) => f.blocking.length > 0).length;
	lines.push(
		'',
		`${done.fields.length} ${done.fields.length === 1 ? 'field is' : 'fields are'} in ${out}${open > 0 ? `; ${open} with a question to answer first (--answers)` : ''}.`,
	);
	return lines.join('\n');
}
