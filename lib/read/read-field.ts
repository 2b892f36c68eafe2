import type {
	Each,
	Field,
	Folder,
	LoadBook,
	Note,
	Progress,
	SetAside,
	Source,
	TablePlan,
	WeightTrace,
} from '../model/index.ts';
import { InputFault, inTurn, silent } from '../model/index.ts';
import { readCart } from './book/cart.ts';
import { readTickets } from './book/tickets.ts';
import { readTrace } from './book/trace.ts';
import { setYearsAside } from './book/years.ts';
import { readBoundary, readVarieties } from './boundary.ts';
import type { TableContext } from './csv/table.ts';
import { FileFaults } from './faults.ts';
import { beyond } from './log/beyond.ts';
import { cautions } from './log/cautions.ts';
import { Growing } from './log/grow.ts';
import { readLog } from './log/log.ts';
import { logNotes } from './log/notes.ts';
import { repeatedRecords } from './log/repeats.ts';
import { intakeNotes, openQuestions } from './plan/intake.ts';
import { readJson } from './plan/json.ts';
import { nameInside, readPlan } from './plan/plan.ts';
import { Tally } from './tally.ts';

const PLAN = 'field.json';

/**
 * Reads a field folder: field.json and every file that it names. Invalid rows are set aside and the run continues;
 * `strict` makes any of them stop it; `each` does parts of the work.
 *
 * @throws InputFault with every fault of every file, if a file cannot be used.
 */
export async function readField(
	folder: Folder,
	options: { strict?: boolean; progress?: Progress; each?: Each } = {},
): Promise<Field> {
	const { progress = silent, strict = false, each = inTurn } = options;
	const tally = new Tally(progress, sizeOf(folder));
	const source = folder.get(PLAN);
	if (source === undefined) {
		throw new InputFault([
			{ file: PLAN, row: null, column: null, found: '', why: 'this file is missing from the folder' },
		]);
	}
	const json = await readJson(source, tally);
	if ('fault' in json) throw new InputFault([json.fault]);
	const open = openQuestions(json.value);
	if (open.length > 0) throw new InputFault(open);
	const { plan, zone, faults, notes } = readPlan(json.value);
	notes.push(...intakeNotes(json.value));
	faults.push(...missingFiles(json.value, folder, faults));
	notes.push(...unnamedFiles(json.value, folder));
	if (plan === null || faults.length > 0) throw new InputFault(faults);

	const setAside: SetAside[] = [];
	const close = (file: FileFaults, rows: number) => {
		file.close(rows, strict);
		faults.push(...file.stop);
		setAside.push(...file.aside);
	};

	const growing = new Growing();
	for (const [index, log] of plan.logs.entries()) {
		const read = await readLog(folder.get(log.file) as Source, log, index, { growing, plan, zone, tally, notes });
		close(read.faults, read.rows);
	}
	const files = plan.logs.map((log) => log.file);
	let records = growing.done();
	const twice = repeatedRecords(records, growing.untimed, files, each);
	setAside.push(...twice.aside);
	notes.push(...twice.notes);
	if (strict) faults.push(...twice.aside);
	if (twice.drop.includes(1)) {
		growing.drop(0, (i) => twice.drop[i] === 1);
		records = growing.done();
	}

	const book: LoadBook = { dumps: [], offloads: [], tickets: [] };
	const table = async <T>(
		entry: TablePlan | null,
		read: (s: Source, p: TablePlan, r: TableContext) => Promise<T>,
		rows: (t: T) => number,
	) => {
		if (entry === null) return null;
		const file = new FileFaults(entry.file);
		const done = await read(folder.get(entry.file) as Source, entry, { crop: plan.crop, zone, tally, faults: file });
		close(file, rows(done));
		if (rows(done) === 0 && file.stop.length === 0) {
			notes.push({ level: 'caution', text: `${entry.file} holds a header and no rows.` });
		}
		return done;
	};
	const asRows = (rows: number) => rows;
	const middle_s = middleOf(records.time_s);
	const into = { combines: records.combines, book, notes };
	const readLoads = async (s: Source, p: TablePlan, r: TableContext) => {
		const rows = await readCart(s, p, r, into);
		const kept = new Set(setYearsAside([...book.dumps, ...book.offloads], middle_s, r, notes));
		book.dumps = book.dumps.filter((dump) => kept.has(dump));
		book.offloads = book.offloads.filter((offload) => kept.has(offload));
		return rows;
	};
	await table(plan.cartLog, readLoads, asRows);
	const readAllTickets = async (s: Source, p: TablePlan, r: TableContext) => {
		const rows = await readTickets(s, p, r, into);
		book.tickets = setYearsAside(book.tickets, middle_s, r, notes);
		return rows;
	};
	await table(plan.tickets, readAllTickets, asRows);
	const traced = await table(plan.cartTrace, readTrace, (t) => t.rows);
	const trace: WeightTrace | null = traced?.trace ?? null;

	const boundary = plan.boundary ? await readBoundary(folder.get(plan.boundary) as Source, tally, faults, notes) : null;
	const varieties = plan.varieties
		? await readVarieties(folder.get(plan.varieties) as Source, tally, faults, notes)
		: null;
	if (faults.length > 0) throw new InputFault(faults);

	if (zone !== null && zone.shownTwice > 0) {
		const day = new Date(zone.firstShownTwice_s * 1000).toISOString().slice(0, 10);
		notes.push({
			level: 'caution',
			text: `${zone.shownTwice} times fall into the hour that clocks in ${zone.name} show twice on ${day}. They are told apart by the order of rows, and taken for the first of the two where nothing tells. Give times with their offset from UTC to be sure.`,
		});
	}
	const field: Field = { plan, records, book, boundary, varieties, trace, setAside, notes, inputs: tally.inputs };
	beyond(field, faults);
	if (faults.length > 0) throw new InputFault(faults);
	notes.push(...cautions(field), ...logNotes(field, each));
	progress.step('read', 1);
	return field;
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

/** Files that field.json names and the folder does not have, checked even if field.json has other faults. */
function missingFiles(json: unknown, folder: Folder, known: readonly SetAside[]): SetAside[] {
	if (typeof json !== 'object' || json === null) return [];
	const faults: SetAside[] = [];
	for (const [column, name] of filesNamed(json as Record<string, unknown>)) {
		if (typeof name !== 'string' || known.some((f) => f.column === column)) continue;
		const inside = nameInside(name);
		if (inside === null || folder.has(inside)) continue;
		faults.push({
			file: inside,
			row: null,
			column: null,
			found: '',
			why: `${PLAN} names this file (${column}), and it is not in the folder`,
		});
	}
	return faults;
}

/** Every file that field.json names, with its place there. */
function filesNamed(json: Record<string, unknown>): [string, unknown][] {
	const { boundary, varieties, logs } = json;
	return [
		['boundary', boundary],
		['varieties', varieties],
		...['cartLog', 'cartTrace', 'tickets'].map((key): [string, unknown] => [`${key}.file`, fileOf(json[key])]),
		...(Array.isArray(logs) ? logs.map((log, i): [string, unknown] => [`logs.${i}.file`, fileOf(log)]) : []),
	];
}

/** Files named one by one in the note on those that nothing names. */
const MOST_NAMED = 8;

/** A note on files that lie in the folder and are not read: a log that was forgotten, say. Notes for people and earlier results are no input. */
function unnamedFiles(json: unknown, folder: Folder): Note[] {
	if (typeof json !== 'object' || json === null) return [];
	const named = new Set(filesNamed(json as Record<string, unknown>).map(([, name]) => nameInside(String(name))));
	const results = [...folder.keys()].flatMap((name) => /^(.*\/)result\.json$/.exec(name)?.[1] ?? []);
	const others = [...folder.keys()]
		.filter(
			(name) =>
				name !== PLAN &&
				!named.has(name) &&
				!/(^|\/)(\.|Thumbs\.db$)|\.md$/i.test(name) &&
				!results.some((dir) => name.startsWith(dir)),
		)
		.sort();
	if (others.length === 0) return [];
	const more = others.length > MOST_NAMED ? ` and ${others.length - MOST_NAMED} more` : '';
	const text = `In the folder but not named in ${PLAN}, so not used: ${others.slice(0, MOST_NAMED).join(', ')}${more}.`;
	return [{ level: 'note', text }];
}

function fileOf(entry: unknown): unknown {
	return typeof entry === 'object' && entry !== null ? (entry as Record<string, unknown>).file : undefined;
}
