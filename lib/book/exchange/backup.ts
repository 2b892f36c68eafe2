import * as v from 'valibot';
import { InputFault, wholeFile } from '../../model/index.ts';
import { type Book, bookOf } from '../book.ts';
import { ACTS, canonical, type Entry, KINDS, type Value } from '../entries/entry.ts';

/** The book as one JSON file with one entry per line, so that a truncated file can still be read up to the cut. */
const SCHEMA = 'steelyard.book/1';

const ValueSchema: v.GenericSchema<Value> = v.lazy(() =>
	v.union([
		v.string(),
		v.pipe(v.number(), v.finite()),
		v.boolean(),
		v.null(),
		v.array(ValueSchema),
		v.record(v.string(), ValueSchema),
	]),
);
const EntrySchema = v.strictObject({
	id: v.pipe(v.string(), v.minLength(1)),
	by: v.string(),
	at_s: v.pipe(v.number(), v.finite()),
	thing: v.pipe(v.string(), v.minLength(1)),
	kind: v.picklist(KINDS),
	act: v.picklist(ACTS),
	after: v.array(v.string()),
	set: v.record(v.string(), ValueSchema),
	why: v.string(),
});

/** Text of a backup. The same book gives the same text. */
export function writeBackup(book: Book): string {
	const lines = book.entries.map((e) => canonical(e));
	return `{"schema":"${SCHEMA}","entries":[\n${lines.join(',\n')}\n]}\n`;
}

/** Reads a backup and checks every entry. Throws `InputFault` that names each invalid entry; takes all or nothing. */
export function readBackup(text: string, file = 'backup'): Book {
	const steps = readBackupSteps(text, file);
	for (;;) {
		const step = steps.next();
		if (step.done) return step.value;
	}
}

/** Entries checked between two steps. */
const STEP = 4000;

/** The same in steps, each yielding the fraction done, so that a page can draw in between. */
export function* readBackupSteps(text: string, file = 'backup'): Generator<number, Book> {
	const fault = (found: string, why: string, column: string | null = null) =>
		wholeFile(file, found.slice(0, 80), why, column);
	let data: unknown;
	try {
		data = JSON.parse(text);
	} catch (e) {
		throw new InputFault([fault(String(e), 'this is not a backup of a load book: its JSON is incomplete')]);
	}
	const top = data as { schema?: unknown; entries?: unknown } | null;
	if (top?.schema !== SCHEMA || !Array.isArray(top.entries))
		throw new InputFault([
			fault(String(top?.schema), `this is not a backup of a load book: expected ${SCHEMA}`, 'schema'),
		]);
	const entries: Entry[] = [];
	const faults = [];
	for (const [i, raw] of top.entries.entries()) {
		if (i % STEP === 0) yield i / top.entries.length;
		if (isEntry(raw)) {
			entries.push(raw);
			continue;
		}
		const parsed = v.safeParse(EntrySchema, raw);
		if (parsed.success) entries.push(parsed.output);
		else {
			const issue = parsed.issues[0];
			faults.push({ ...fault(canonical(raw), issue.message, v.getDotPath(issue) ?? null), row: i + 2 });
		}
	}
	if (faults.length > 0) throw new InputFault(faults);
	return bookOf(entries);
}

const kinds: ReadonlySet<unknown> = new Set(KINDS);
const acts: ReadonlySet<unknown> = new Set(ACTS);

/** Same check as the schema for valid entries, hundreds of times as fast; anything else goes to the schema for its reason. */
function isEntry(raw: unknown): raw is Entry {
	const e = raw as Entry | null;
	return (
		e !== null &&
		typeof e === 'object' &&
		Object.keys(e).length === 9 &&
		typeof e.id === 'string' &&
		e.id !== '' &&
		typeof e.by === 'string' &&
		Number.isFinite(e.at_s) &&
		typeof e.thing === 'string' &&
		e.thing !== '' &&
		kinds.has(e.kind) &&
		acts.has(e.act) &&
		Array.isArray(e.after) &&
		e.after.every((x) => typeof x === 'string') &&
		isRecord(e.set) &&
		Object.values(e.set).every(isValue) &&
		typeof e.why === 'string'
	);
}

const isRecord = (x: unknown): x is Record<string, unknown> => typeof x === 'object' && x !== null && !Array.isArray(x);

function isValue(x: unknown): boolean {
	if (x === null || typeof x === 'string' || typeof x === 'boolean') return true;
	if (typeof x === 'number') return Number.isFinite(x);
	return Array.isArray(x) ? x.every(isValue) : isRecord(x) && Object.values(x).every(isValue);
}
