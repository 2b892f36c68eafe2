/** Storage of the book on this device: IndexedDB; a write counts as saved once it is on disk. */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import { type Entry, entryText } from '../../../lib/book/index.ts';

interface Shelf extends DBSchema {
	/** Entries as they were written, one by one. */
	entries: { key: string; value: Entry };
	/** Many entries as one JSON text: merged books, and older entries packed together. */
	blocks: { key: number; value: string };
	device: { key: string; value: unknown };
}

let shelf: Promise<IDBPDatabase<Shelf>> | null = null;

function open(): Promise<IDBPDatabase<Shelf>> {
	shelf ??= openDB<Shelf>('steelyard-book', 2, {
		upgrade(db, old) {
			if (old < 1) {
				db.createObjectStore('entries');
				db.createObjectStore('device');
			}
			if (old < 2) db.createObjectStore('blocks', { autoIncrement: true });
		},
		// Another tab needs to upgrade the store: close, so that it can.
		blocking(_now, _next, event) {
			(event.target as IDBDatabase).close();
			shelf = null;
		},
		terminated() {
			shelf = null;
		},
	});
	return shelf;
}

/** Two entries with the same id are both kept: the key includes a short hash (FNV-1a) of the content. */
function keyOf(entry: Entry): string {
	let hash = 0x81_1c_9d_c5;
	for (const c of entryText(entry)) hash = Math.imul(hash ^ c.codePointAt(0)!, 0x01_00_01_93);
	return `${entry.id} ${(hash >>> 0).toString(36)}`;
}

/** More single entries than this are packed into a block when the book is opened: a block is read many times faster. */
const LOOSE = 1500;

export async function readEntries(): Promise<Entry[]> {
	const tx = (await open()).transaction(['entries', 'blocks']);
	const [loose, blocks] = await Promise.all([
		tx.objectStore('entries').getAll(),
		tx.objectStore('blocks').getAll(),
		tx.done,
	]);
	const packed = blocks.map((b) => JSON.parse(b) as Entry[]);
	return [...packed.flat(), ...loose];
}

/** Packs single entries into one block, in one transaction: all or nothing. */
export async function pack(): Promise<void> {
	const db = await open();
	if ((await db.count('entries')) < LOOSE) return;
	const tx = db.transaction(['entries', 'blocks'], 'readwrite', { durability: 'strict' });
	const store = tx.objectStore('entries');
	const loose = await store.getAll();
	await Promise.all([tx.objectStore('blocks').add(JSON.stringify(loose)), store.clear(), tx.done]);
}

/** At most this many entries are stored one by one. */
const SINGLY = 300;

/**
 * Resolves once the entries, and what this device stores under a key with them, are on disk: durability "strict" flushes before
 * the transaction completes. The value is made from the one that is there: another tab may have written it.
 */
export async function writeEntries<T>(entries: readonly Entry[], key: string, from: (before?: T) => T): Promise<T> {
	const tx = (await open()).transaction(['entries', 'blocks', 'device'], 'readwrite', { durability: 'strict' });
	const store = tx.objectStore('entries');
	const device = tx.objectStore('device');
	const before = (await device.get(key)) as T | undefined;
	const value = from(before);
	await Promise.all([
		...(entries.length > SINGLY
			? [tx.objectStore('blocks').add(JSON.stringify(entries))]
			: entries.map((e) => store.put(e, keyOf(e)))),
		...(value === before ? [] : [device.put(value, key)]),
		tx.done,
	]);
	return value;
}

/** Settings of this device alone: its name, the open field, how the scale is entered. */
export async function readDevice(): Promise<Record<string, unknown>> {
	const tx = (await open()).transaction('device');
	const [keys, values] = await Promise.all([tx.store.getAllKeys(), tx.store.getAll()]);
	return Object.fromEntries(keys.map((k, i) => [k, values[i]]));
}

export async function writeDevice(key: string, value: unknown): Promise<void> {
	await (await open()).put('device', value, key);
}
