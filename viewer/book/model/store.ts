/** Where the book is kept on this device: IndexedDB, every write on disk before it counts as saved. */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import { type Entry, entryText } from '../../../lib/book/index.ts';

interface Shelf extends DBSchema {
	entries: { key: string; value: Entry };
	device: { key: string; value: unknown };
}

let shelf: Promise<IDBPDatabase<Shelf>> | null = null;

function open(): Promise<IDBPDatabase<Shelf>> {
	shelf ??= openDB<Shelf>('steelyard-book', 1, {
		upgrade(db) {
			db.createObjectStore('entries');
			db.createObjectStore('device');
		},
		// Another page wants to change the shape of the store: let go, so that it can.
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

/** Two entries that claim one id are both kept: the key holds a short hash (FNV-1a) of the content. */
function keyOf(entry: Entry): string {
	let hash = 0x81_1c_9d_c5;
	for (const c of entryText(entry)) hash = Math.imul(hash ^ c.codePointAt(0)!, 0x01_00_01_93);
	return `${entry.id} ${(hash >>> 0).toString(36)}`;
}

export async function readEntries(): Promise<Entry[]> {
	return (await open()).getAll('entries');
}

/** Resolves once the entries are on disk: durability "strict" flushes before the transaction completes. */
export async function writeEntries(entries: readonly Entry[]): Promise<void> {
	const tx = (await open()).transaction('entries', 'readwrite', { durability: 'strict' });
	await Promise.all([...entries.map((e) => tx.store.put(e, keyOf(e))), tx.done]);
}

/** What this device alone remembers: its name, which field is open, how the scale is read. */
export async function readDevice(): Promise<Record<string, unknown>> {
	const tx = (await open()).transaction('device');
	const [keys, values] = await Promise.all([tx.store.getAllKeys(), tx.store.getAll()]);
	return Object.fromEntries(keys.map((k, i) => [k, values[i]]));
}

export async function writeDevice(key: string, value: unknown): Promise<void> {
	await (await open()).put('device', value, key);
}
