/** The book on this device as signals: what is in it, what is open, and the one way by which it is written. */
import { computed, signal } from '@preact/signals';
import {
	against,
	append,
	type Book,
	bookOf,
	conflicts,
	type Entry,
	emptyBook,
	find,
	type Kept,
	kept,
	ledger,
	mergeBooks,
	reconcile,
	runningFactors,
	type Stamp,
	scaleRatios,
	twins,
} from '../../../lib/book/index.ts';
import { readDevice, readEntries, writeDevice, writeEntries } from './store.ts';

export const book = signal<Book>(emptyBook);
/** null until the store has answered. */
export const ready = signal<'opening' | 'open' | { failed: string }>('opening');

/** What became of the last write. `saved` only ever after the disk has it. */
export const saving = signal<{ state: 'idle' | 'saving' | 'saved' } | { state: 'failed'; why: string }>({
	state: 'idle',
});
/** What was done by hand on this device, the latest last: what undo takes back, step by step. */
export const past = signal<readonly (readonly Entry[])[]>([]);

/** This device's own settings, each kept under its name. */
export interface Device {
	/** Its name in the book: who wrote an entry. */
	name: string;
	field: string | null;
	cart: string | null;
	load: string | null;
	truck: string | null;
	destination: string | null;
	variety: string | null;
	/** How the scale is read: its running total, or each dump's net. */
	scaleShows: 'running' | 'net';
	/** The unit a monitor was last read in. */
	monitor: { how: 'load' | 'total'; unit: 'lb' | 'bu' | 'kg' | 't'; basis: 'wet' | 'dry'; at_pct: number | null };
	line: { pattern: string; stable: string; moving: string; unit: 'kg' | 'lb' | 't'; baud: number };
}

export const device = signal<Device>({
	name: '',
	field: null,
	cart: null,
	load: null,
	truck: null,
	destination: null,
	variety: null,
	scaleShows: 'running',
	monitor: { how: 'load', unit: 'lb', basis: 'wet', at_pct: null },
	line: { pattern: '{status},{kind},{weight}{unit}', stable: 'ST S', moving: 'US M', unit: 'lb', baud: 9600 },
});

export function set<K extends keyof Device>(key: K, value: Device[K]): void {
	if (device.value[key] === value) return;
	device.value = { ...device.value, [key]: value };
	writeDevice(key, value).catch(() => {});
}

export const now_s = (): number => Date.now() / 1000;

/** A new id of this device. */
export function newId(): string {
	return `${device.value.name}.${crypto.randomUUID().slice(0, 13)}`;
}

let stamped_ms = 0;

/** Who and when; no two of this device at one moment, so that what was written first comes first. */
export function stamp(): Stamp {
	stamped_ms = Math.max(stamped_ms + 1, Date.now());
	return { id: newId(), by: device.value.name, at_s: stamped_ms / 1000 };
}

/** Other pages of this device's browser: what one writes the others read. */
const others = new BroadcastChannel('steelyard-book');
others.onmessage = async () => {
	book.value = mergeBooks(book.value, bookOf(await readEntries()));
};

/** One write after another: entries come after those before them. */
let queue: Promise<unknown> = Promise.resolve();

/**
 * Writes entries made from the book as it stands when their turn comes. The page shows them, and says saved, once
 * the disk has them; never before.
 */
export function write(make: (book: Book) => readonly Entry[], byHand = true): Promise<readonly Entry[]> {
	const run = async () => {
		saving.value = { state: 'saving' };
		try {
			const entries: Entry[] = [];
			let next = book.value;
			for (const e of make(book.value)) {
				entries.push(e);
				next = append(next, e);
			}
			await writeEntries(entries);
			book.value = mergeBooks(next, book.value);
			if (byHand && entries.length > 0) past.value = [...past.value, entries];
			saving.value = { state: 'saved' };
			others.postMessage('written');
			return entries;
		} catch (e) {
			saving.value = { state: 'failed', why: String((e as Error).message ?? e) };
			throw e;
		}
	};
	const done = queue.then(run, run);
	queue = done.catch(() => {});
	return done;
}

/** Reads the store. A device without a name gets one. */
export async function openBook(): Promise<void> {
	try {
		const [entries, kept_] = await Promise.all([readEntries(), readDevice()]);
		device.value = { ...device.value, ...(kept_ as Partial<Device>) };
		if (device.value.name === '') set('name', `tablet-${crypto.randomUUID().slice(0, 4)}`);
		book.value = bookOf(entries);
		past.value = lately(book.value.entries);
		ready.value = 'open';
	} catch (e) {
		ready.value = { failed: String((e as Error).message ?? e) };
	}
}

const HAND = new Set(['dump', 'offload', 'reading', 'ticket', 'zero', 'event']);

/** After a restart undo still reaches this device's last half hour. */
function lately(entries: readonly Entry[]): Entry[][] {
	const own = entries.filter((e) => e.by === device.value.name && HAND.has(e.kind) && e.at_s > now_s() - 1800);
	return own.filter((e) => e.why !== 'taken back').map((e) => [e]);
}

// What follows from the book. Each is worked out once a change, and only when somebody looks.
export const fields = computed(() => kept(book.value, 'field'));
export const field = computed<Kept<'field'> | null>(() => {
	const chosen = find(book.value, 'field', device.value.field);
	return chosen && !chosen.thing.struck ? chosen : null;
});
export const season = computed(() => field.value?.v.season ?? null);
const byName = (a: { v: { name: string } }, b: { v: { name: string } }) =>
	a.v.name.localeCompare(b.v.name, undefined, { numeric: true });
export const combines = computed(() => kept(book.value, 'combine').sort(byName));
export const carts = computed(() => kept(book.value, 'cart').sort(byName));
export const trucks = computed(() => kept(book.value, 'truck').sort(byName));
export const destinations = computed(() => kept(book.value, 'destination').sort(byName));
export const cart = computed(() => {
	const chosen = find(book.value, 'cart', device.value.cart);
	return chosen && !chosen.thing.struck ? chosen : (carts.value[0] ?? null);
});
export const grain = computed(() => ledger(book.value));
export const level_kg = computed(() => grain.value.carts.get(cart.value?.id ?? '')?.level_kg ?? 0);

/** The truck load being filled. */
export const load = computed(() => {
	const chosen = find(book.value, 'load', device.value.load);
	return chosen && !chosen.thing.struck && !chosen.v.closed ? chosen : null;
});
/** The truck beside the cart: of the open load, or the one chosen for the next. */
export const truck = computed(() => {
	const chosen = find(book.value, 'truck', load.value ? load.value.v.truck : device.value.truck);
	return chosen && !chosen.thing.struck ? chosen : load.value ? null : (trucks.value[0] ?? null);
});
/** What the truck can still take; null where its room is not known. */
export const room_kg = computed(() => {
	const room = truck.value?.v.room_kg ?? null;
	const on = load.value ? (grain.value.loads.get(load.value.id)?.cart_kg ?? 0) : 0;
	return room === null ? null : room - on;
});

export const ratios = computed(() => scaleRatios(book.value, season.value));
export const ratio = computed(() => ratios.value.get(cart.value?.id ?? '') ?? null);
/** Factors from the open field's dumps. */
export const factors = computed(() =>
	runningFactors(book.value, { field: field.value?.id ?? '', season: season.value }),
);
export const pairs = computed(() => against(factors.value));
export const torn = computed(() => conflicts(book.value));
export const doubled = computed(() => twins(book.value));
export const sheet = computed(() => reconcile(book.value));
