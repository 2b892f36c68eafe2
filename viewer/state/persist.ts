/** Saved in the browser: the files of the field last opened, and overrides by field, keyed by content. */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { Scene } from '../../lib/model/index.ts';
import type { Answers } from '../import/understood.ts';
import type { History } from './edits.ts';
import { isHistory } from './kept-check.ts';
import type { GivenFile } from './protocol.ts';

interface Kept extends DBSchema {
	/** Work on a field, by the content of its files. */
	work: { key: string; value: { key: string; name: string; history: History } };
	/** Files of the field last opened here; key "last". */
	files: { key: string; value: { key: string; files: GivenFile[] } };
	/** Answers about the columns of a kind of file, by the signature of its column names; key "all". */
	answers: { key: string; value: { key: string; answers: Answers } };
}

let opened: Promise<IDBPDatabase<Kept>> | null = null;

function database(): Promise<IDBPDatabase<Kept>> {
	opened ??= openDB<Kept>('steelyard-viewer', 2, {
		upgrade(db, from) {
			if (from < 1) {
				db.createObjectStore('work', { keyPath: 'key' });
				db.createObjectStore('files', { keyPath: 'key' });
			}
			if (from < 2) db.createObjectStore('answers', { keyPath: 'key' });
		},
	});
	return opened;
}

/** Key of the field's content: names and hashes of its files, without field.json, since pins are saved in it. */
export function contentKey(s: Scene): string | null {
	const inputs = s.facts.evidence?.inputs;
	if (!inputs) return null;
	return inputs
		.filter((f) => f.file !== 'field.json')
		.map((f) => `${f.file}:${f.sha256}`)
		.sort()
		.join('\n');
}

export async function keepWork(key: string, name: string, history: History): Promise<void> {
	const db = await database();
	const t = db.transaction('work', 'readwrite', { durability: 'strict' });
	await Promise.all([t.store.put({ key, name, history }), t.done]);
}

/** Saves work on several fields, all or none. */
export async function keepAll(work: readonly Kept['work']['value'][]): Promise<void> {
	const db = await database();
	const t = db.transaction('work', 'readwrite', { durability: 'strict' });
	await Promise.all([...work.map((one) => t.store.put(one)), t.done]);
}

/** Saved work on a field; null where there is none, or none that this page can have written. */
export async function workOn(key: string): Promise<History | null> {
	const kept: unknown = (await (await database()).get('work', key))?.history;
	return isHistory(kept) ? kept : null;
}

export async function allWork(): Promise<Kept['work']['value'][]> {
	return (await (await database()).getAll('work')).filter((work) => isHistory(work.history));
}

export async function keepFiles(files: GivenFile[]): Promise<void> {
	const db = await database();
	const t = db.transaction('files', 'readwrite', { durability: 'strict' });
	await Promise.all([t.store.put({ key: 'last', files }), t.done]);
}

export async function lastFiles(): Promise<GivenFile[] | null> {
	return (await (await database()).get('files', 'last'))?.files ?? null;
}

export async function keepAnswers(answers: Answers): Promise<void> {
	await (await database()).put('answers', { key: 'all', answers });
}

export async function keptAnswers(): Promise<Answers> {
	return (await (await database()).get('answers', 'all'))?.answers ?? {};
}
