import { load } from '../formats/bytes.ts';
import {
	caution,
	type Each,
	type Field,
	type FieldPlan,
	type Folder,
	InputFault,
	inTurn,
	type LoadBook,
	type Note,
	type Progress,
	type Records,
	type SetAside,
	type Source,
	silent,
	type TablePlan,
	wholeFile,
} from '../model/index.ts';
import type { Zone } from '../units/zone.ts';
import { readCart } from './book/cart.ts';
import { readTickets } from './book/tickets.ts';
import { readTrace } from './book/trace.ts';
import { setYearsAside } from './book/years.ts';
import { readBoundary, readVarieties } from './boundary.ts';
import type { TableContext } from './csv/read-table.ts';
import { FileFaults } from './faults.ts';
import { FilesRead } from './files-read.ts';
import { beyond } from './log/beyond.ts';
import { cautions } from './log/cautions.ts';
import { Growing, joinedRecords } from './log/grow.ts';
import { type LogInput, type LogRead, logInMemory, logRecords, MOST_COMBINES } from './log/log-records.ts';
import { lostNotes, lostRows } from './log/lost-rows.ts';
import { logNotes } from './log/notes.ts';
import { repeatedRecords } from './log/repeated-records.ts';
import { intakeNotes, openQuestions } from './plan/intake-notes.ts';
import { missingFiles, PLAN, unnamedFiles } from './plan/missing-files.ts';
import { readPlan } from './plan/plan.ts';
import { readJson } from './plan/read-json.ts';

/**
 * Reads a field folder: field.json and every file that it names. Invalid rows are set aside and the run continues;
 * `strict` makes any of them stop it; `each` does parts of the work.
 *
 * @throws InputFault with every fault of every file, if a file cannot be used.
 */
export async function readField(
	folder: Folder,
	options: { strict?: boolean; progress?: Progress; each?: Each; elsewhere?: ReadLog | null } = {},
): Promise<Field> {
	const { progress = silent, strict = false, each = inTurn, elsewhere = null } = options;
	const filesRead = new FilesRead(progress, sizeOf(folder));
	const { plan, zone, notes } = await planOf(folder, filesRead);
	const reading: Reading = { folder, plan, zone, filesRead, notes, faults: [], setAside: [], strict };
	const records = await readLogs(reading, each, elsewhere);
	const book = await readBook(reading, records);
	const trace = await readRows(reading, plan.cartTrace, readTrace, (t) => t.rows);
	const { faults } = reading;
	const source = (file: string) => folder.get(file)!;
	const boundary = plan.boundary && (await readBoundary(source(plan.boundary), filesRead, faults, notes));
	const varieties = plan.varieties && (await readVarieties(source(plan.varieties), filesRead, faults, notes));
	stopAt(faults);
	notes.push(...hourShownTwice(zone));
	const field: Field = {
		plan,
		records,
		book,
		boundary: boundary || null,
		varieties: varieties || null,
		trace: trace?.trace ?? null,
		setAside: reading.setAside,
		notes,
		inputs: filesRead.inputs,
	};
	beyond(field, faults);
	stopAt(faults);
	const lost_s = lostRows(records);
	if (lost_s !== null) records.lost_s = lost_s;
	const ofLogs = logNotes(field, each);
	notes.push(...cautions(field), ...ofLogs.notes, ...lostNotes(records, plan.logs));
	// From here on, a record stands for the time since the one before, and its width is in meters.
	for (let i = 0; lost_s !== null && i < records.n; i++) records.interval_s[i]! += lost_s[i]!;
	for (let i = 0; i < records.n; i++) records.swath_m[i]! /= ofLogs.wide[records.log[i]!]!;
	progress.step('read', 1);
	return field;
}

/** A field folder while its files are read. */
interface Reading {
	folder: Folder;
	plan: FieldPlan;
	zone: Zone | null;
	filesRead: FilesRead;
	notes: Note[];
	faults: SetAside[];
	setAside: SetAside[];
	strict: boolean;
}

function stopAt(faults: SetAside[]): void {
	if (faults.length > 0) throw new InputFault(faults);
}

/** field.json, and whether the folder has what it names. */
async function planOf(
	folder: Folder,
	filesRead: FilesRead,
): Promise<{ plan: FieldPlan; zone: Zone | null; notes: Note[] }> {
	const source = folder.get(PLAN);
	if (source === undefined) {
		throw new InputFault([wholeFile(PLAN, '', 'this file is missing from the folder')]);
	}
	const json = await readJson(source, filesRead);
	if ('fault' in json) throw new InputFault([json.fault]);
	stopAt(openQuestions(json.value));
	const { plan, zone, faults, notes } = readPlan(json.value);
	faults.push(...missingFiles(json.value, folder, faults));
	if (plan === null || faults.length > 0) throw new InputFault(faults);
	return { plan, zone, notes: [...notes, ...intakeNotes(json.value), ...unnamedFiles(json.value, folder)] };
}

/** Every log, without the records that repeat others. */
async function readLogs(reading: Reading, each: Each, elsewhere: ReadLog | null): Promise<Records> {
	const { plan, zone, faults, setAside, notes, filesRead } = reading;
	const files = plan.logs.map((log) => log.file);
	const logs = await readEach(reading, elsewhere);
	filesRead.list(files);
	for (const [index, log] of logs.entries()) {
		filesRead.rows(files[index]!, log.rows);
		faults.push(...log.stop);
		setAside.push(...log.aside);
		notes.push(...log.notes);
		zone?.count(log);
	}
	const records = joinedRecords(logs.map((log) => log.records));
	const { length } = records.combines;
	if (length > MOST_COMBINES) faults.push(wholeFile(PLAN, `${length} combines`, `expected at most ${MOST_COMBINES}`));
	const twice = repeatedRecords(records, records.untimed ?? new Uint8Array(records.n), files, each);
	setAside.push(...twice.aside);
	notes.push(...twice.notes);
	if (reading.strict) faults.push(...twice.aside);
	if (!twice.drop.includes(1)) return records;
	const growing = new Growing(records);
	growing.drop((i) => twice.drop[i] === 1);
	return joinedRecords([growing.done()]);
}

/** Reads a log that is in memory on another thread; undefined where there is none, or where it failed there. */
type ReadLog = (input: LogInput & { bytes: Uint8Array }) => Promise<LogRead | undefined>;

/** A smaller log is read before another thread has begun, and a larger one is not held in memory, bytes. */
const LARGE = 1 << 22;
const HUGE = 1 << 29;

/** What each log holds; every second one of the large logs is read elsewhere meanwhile. */
async function readEach(reading: Reading, elsewhere: ReadLog | null): Promise<LogRead[]> {
	const { folder, plan, zone, strict, filesRead } = reading;
	const begun = new Map<number, () => Promise<LogRead>>();
	const logs = plan.logs.map((log, index) => ({ log, index, plan, zone: zone?.name ?? null, strict }));
	for (const input of logs) {
		const source = folder.get(input.log.file)!;
		const size = source.bytes ?? 0;
		if (elsewhere === null || input.index % 2 === 0 || size <= LARGE || size > HUGE) continue;
		const { bytes } = await load({ ...source, chunks: () => filesRead.watch(source) });
		const whole = { ...input, bytes };
		const read = elsewhere({ ...whole });
		begun.set(input.index, async () => (await read) ?? logInMemory(whole));
	}
	const here = (input: LogInput) =>
		logRecords(filesRead.watch(folder.get(input.log.file)!), input, () => filesRead.share);
	const reads: LogRead[] = [];
	for (const input of logs) if (!begun.has(input.index)) reads[input.index] = await here(input);
	for (const [index, read] of begun) reads[index] = await read();
	return reads;
}

/** The cart log and the tickets; rows of another year than the logs are set aside. */
async function readBook(reading: Reading, records: Records): Promise<LoadBook> {
	const { plan, notes } = reading;
	const book: LoadBook = { dumps: [], offloads: [], tickets: [] };
	const into = { combines: records.combines, book, notes };
	const middle_s = middleOf(records.time_s);
	const asRows = (rows: number) => rows;
	const readCartLog: ReadRows<number> = async (source, entry, context) => {
		const rows = await readCart(source, entry, context, into);
		const kept = new Set(setYearsAside([...book.dumps, ...book.offloads], middle_s, context, notes));
		book.dumps = book.dumps.filter((dump) => kept.has(dump));
		book.offloads = book.offloads.filter((offload) => kept.has(offload));
		return rows;
	};
	const readAllTickets: ReadRows<number> = async (source, entry, context) => {
		const rows = await readTickets(source, entry, context, into);
		book.tickets = setYearsAside(book.tickets, middle_s, context, notes);
		return rows;
	};
	await readRows(reading, plan.cartLog, readCartLog, asRows);
	await readRows(reading, plan.tickets, readAllTickets, asRows);
	return book;
}

type ReadRows<T> = (source: Source, entry: TablePlan, context: TableContext) => Promise<T>;

/** Reads a table kept by hand, if field.json names one. */
async function readRows<T>(
	reading: Reading,
	entry: TablePlan | null,
	read: ReadRows<T>,
	rowsOf: (read: T) => number,
): Promise<T | null> {
	if (entry === null) return null;
	const { folder, plan, zone, filesRead, notes } = reading;
	const faults = new FileFaults(entry.file);
	const done = await read(folder.get(entry.file)!, entry, { crop: plan.crop, zone, filesRead, faults });
	close(reading, faults, rowsOf(done));
	if (rowsOf(done) === 0 && faults.stop.length === 0) {
		notes.push(caution(`${entry.file} holds a header and no rows.`));
	}
	return done;
}

function close({ strict, faults, setAside }: Reading, file: FileFaults, rows: number): void {
	file.close(rows, strict);
	faults.push(...file.stop);
	setAside.push(...file.aside);
}

/** A caution on local times that the zone's clocks show twice. */
function hourShownTwice(zone: Zone | null): Note[] {
	if (zone === null || zone.shownTwice === 0) return [];
	const day = new Date(zone.firstShownTwice_s * 1000).toISOString().slice(0, 10);
	return [
		caution(
			`${zone.shownTwice} times fall into the hour that clocks in ${zone.name} show twice on ${day}. They are distinguished by the order of rows, and taken as the first of the two where the order does not show it. Give times with their offset from UTC to be sure.`,
		),
	];
}

/** The middle record's time; NaN without records. */
function middleOf(time_s: Float64Array): number {
	return time_s[time_s.length >> 1] ?? Number.NaN;
}

function sizeOf(folder: Folder): number {
	let bytes = 0;
	for (const source of folder.values()) bytes += source.bytes ?? 0;
	return bytes;
}
