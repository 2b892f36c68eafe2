/** The book on this device as signals: its contents, what is open, and the only function that writes it. */
import { batch, computed, effect, signal } from '@preact/signals';
import {
	append,
	type Book,
	bookOf,
	conflicts,
	type Entry,
	emptyBook,
	find,
	type Kind,
	keptAll,
	ledger,
	mergeBooks,
	reconcile,
	running,
	type Stamp,
	scaleRatios,
	type Thing,
	twins,
	usualLine,
} from '../../../lib/book/index.ts';
import { strings } from '../../strings/index.ts';
import { pack, readDevice, readEntries, writeDevice, writeEntries } from './store.ts';

export const book = signal<Book>(emptyBook);
/** null until the store has been read. */
export const ready = signal<'opening' | 'open' | { failed: string }>('opening');

/** Result of the last write. `saved` only once it is on disk. */
export const saving = signal<{ state: 'idle' | 'saving' | 'saved' } | { state: 'failed'; why: string }>({
	state: 'idle',
});
/** One action on this device, with one entry or many: what Undo reverts and Redo restores. */
export interface Act {
	/** Id of its first entry. */
	id: string;
	at_s: number;
	/** The field that was open: undo does not affect other fields. */
	field: string | null;
	/** Its label, in the words and units of that time. */
	label: string;
	/** The entries to revert, or, once undone, those that reverted it. */
	entries: readonly Entry[];
	undone: boolean;
}
/** Actions on this device, the latest last. */
export const acts = signal<readonly Act[]>([]);
/** Number of actions kept. */
const REMEMBERED = 40;

/** This device's own settings, each saved under its name. */
export interface Device {
	/** Its name in the book: the author of its entries. */
	name: string;
	field: string | null;
	cart: string | null;
	load: string | null;
	truck: string | null;
	destination: string | null;
	variety: string | null;
	/** How the scale is entered: its running total, or each dump's net. */
	scaleShows: 'running' | 'net';
	line: { pattern: string; stable: string; moving: string; unit: 'kg' | 'lb' | 't'; baud: number };
	/** A cable was in use: look for it again when the page opens. */
	cable: boolean;
	/** When the last backup was saved from this device, and the number of its actions since the beginning. */
	backup_s: number | null;
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
	line: { ...usualLine, stable: usualLine.stable.join(' '), moving: usualLine.moving.join(' '), baud: 9600 },
	cable: false,
	backup_s: null,
});

export function set<K extends keyof Device>(key: K, value: Device[K]): void {
	if (device.value[key] === value) return;
	device.value = { ...device.value, [key]: value };
	stored = writeDevice(key, value).then(
		() => others.postMessage('written'),
		() => {},
	);
}

/** The last write, of a setting or of entries. */
let stored: Promise<unknown> = Promise.resolve();

export const now_s = (): number => Date.now() / 1000;

/** A new unique id from this device. */
export function newId(): string {
	return `${device.value.name}.${crypto.randomUUID().slice(0, 13)}`;
}

let stamped_ms = 0;

/** Author and time; no two stamps of this device are equal, so that entries keep their order. */
export function stamp(): Stamp {
	stamped_ms = Math.max(stamped_ms + 1, Date.now());
	return { id: newId(), by: device.value.name, at_s: stamped_ms / 1000 };
}

/** Other tabs of this browser: each reads what the others write, so that all show the same field, truckload and last entries. */
const others = new BroadcastChannel('steelyard-book');
others.onmessage = async () => {
	await stored;
	const last = stored;
	const [entries, kept] = await Promise.all([readEntries(), readDevice()]);
	batch(() => {
		book.value = mergeBooks(book.value, bookOf(entries));
		// What this tab wrote meanwhile holds.
		if (stored === last) take(kept);
	});
};

function take({ acts: list, ...kept }: Record<string, unknown>): void {
	device.value = { ...device.value, ...(kept as Partial<Device>) };
	acts.value = (list as readonly Act[] | undefined) ?? [];
}

/** One write at a time: entries come after those before them. */
let queue: Promise<unknown> = Promise.resolve();

/** How a write is listed for undo; `label` gets the book with the new entries in it. */
export interface Undoable {
	label: (entries: readonly Entry[], book: Book) => string;
	/** The list of actions afterward, if the write is itself an undo or redo. */
	acts?: (entries: readonly Entry[], before: readonly Act[]) => readonly Act[];
}

/**
 * Writes entries made from the book as it is when their turn comes. The page shows them, and reports them as saved,
 * only once they are on disk. The list of actions is written in the same transaction.
 */
export function write(make: (book: Book) => readonly Entry[], undoable: Undoable | null): Promise<readonly Entry[]> {
	const run = async () => {
		saving.value = { state: 'saving' };
		try {
			const was = book.value;
			const entries = [...make(was)];
			const grows = (b: Book) => (entries.length > 64 ? mergeBooks(b, bookOf(entries)) : append(b, ...entries));
			const next = grows(was);
			const listed = (before: readonly Act[] = []) => {
				if (undoable?.acts) return undoable.acts(entries, before);
				if (!undoable || entries.length === 0) return before;
				const act = { id: entries[0]!.id, at_s: now_s(), field: device.value.field, entries, undone: false };
				return [...before, { ...act, label: undoable.label(entries, next) }].slice(-REMEMBERED);
			};
			const list = await writeEntries(entries, 'acts', listed);
			batch(() => {
				// Another tab may have written in the meantime.
				book.value = book.value === was ? next : grows(book.value);
				acts.value = list;
				saving.value = { state: 'saved' };
			});
			others.postMessage('written');
			return entries;
		} catch (e) {
			const { name, message } = e as Error;
			saving.value = {
				state: 'failed',
				why: name === 'QuotaExceededError' ? strings.book.noRoom : String(message ?? e),
			};
			throw e;
		}
	};
	const done = queue.then(run, run);
	queue = done.catch(() => {});
	stored = queue;
	return done;
}

/** Reads the store. A device without a name gets one. */
export async function openBook(): Promise<void> {
	try {
		const [entries, kept_] = await Promise.all([readEntries(), readDevice()]);
		take(kept_);
		if (device.value.name === '') set('name', `tablet-${crypto.randomUUID().slice(0, 4)}`);
		batch(() => {
			book.value = bookOf(entries);
			settled.value = book.value;
			ready.value = 'open';
		});
		void pack().catch(() => {});
	} catch (e) {
		ready.value = { failed: String((e as Error).message ?? e) };
	}
}

/**
 * The book a moment later: slower results follow once the page has shown that a row is saved, so that a key or a tap
 * never waits for them.
 */
const settled = signal<Book>(emptyBook);
let settling = 0;
effect(() => {
	const next = book.value;
	clearTimeout(settling);
	if (next !== settled.peek()) settling = window.setTimeout(() => (settled.value = next), 25);
});

// Derived values. Each is computed once per change, and only if something reads it.
const byName = (a: { v: { name: string } }, b: { v: { name: string } }) =>
	a.v.name.localeCompare(b.v.name, undefined, { numeric: true });
type Named = 'field' | 'combine' | 'cart' | 'truck' | 'destination';
const sorted = <K extends Kind & Named>(kind: K): Thing<K>[] =>
	keptAll(book.value, kind)
		.slice()
		.sort(byName as unknown as (a: Thing<K>, b: Thing<K>) => number);
/** What is here today: on the buttons and in the lists of the working page. */
const here = <K extends 'field' | 'combine' | 'truck'>(list: Thing<K>[]) =>
	list.filter((x) => !(x.v as { away: boolean }).away);

export const fields = computed(() => keptAll(book.value, 'field'));
export const field = computed<Thing<'field'> | null>(() => {
	const chosen = find(book.value, 'field', device.value.field);
	return chosen && !chosen.struck ? chosen : null;
});
export const season = computed(() => field.value?.v.season ?? null);
export const allCombines = computed(() => sorted('combine'));
export const combines = computed(() => here(allCombines.value));
export const carts = computed(() => sorted('cart'));
export const allTrucks = computed(() => sorted('truck'));
export const trucks = computed(() => here(allTrucks.value));
export const destinations = computed(() => sorted('destination'));
export const cart = computed(() => {
	const chosen = find(book.value, 'cart', device.value.cart);
	return chosen && !chosen.struck ? chosen : (carts.value[0] ?? null);
});
export const grain = computed(() => ledger(book.value));
export const level_kg = computed(() => grain.value.carts.get(cart.value?.id ?? '')?.level_kg ?? 0);

/** An open load older than this was forgotten; it is not beside the cart. */
const OPEN_S = 36 * 3600;

/** Truckloads that have not left yet, the latest last. */
export const openLoads = computed(() =>
	keptAll(book.value, 'load')
		.filter((l) => !l.v.closed && l.v.opened_s > now_s() - OPEN_S)
		.slice(-8),
);
/** The truckload being filled. */
export const load = computed(() => {
	const chosen = find(book.value, 'load', device.value.load);
	return chosen && !chosen.struck && !chosen.v.closed ? chosen : null;
});
/** The truck beside the cart: that of the open load, or the one chosen for the next. Offloads go to this one. */
export const truck = computed(() => {
	if (load.value) {
		const of = find(book.value, 'truck', load.value.v.truck);
		return of && !of.struck ? of : null;
	}
	const chosen = find(book.value, 'truck', device.value.truck);
	return chosen && !chosen.struck && !chosen.v.away ? chosen : (trucks.value[0] ?? null);
});
/** Grain put on the current truckload by the carts. */
export const onTruck_kg = computed(() => (load.value ? (grain.value.loads.get(load.value.id)?.cart_kg ?? 0) : 0));
/** Payload left on the truck; null if its limit is not known. */
export const room_kg = computed(() => {
	const limit = truck.value?.v.room_kg ?? null;
	return limit === null ? null : limit - onTruck_kg.value;
});

export const ratios = computed(() => scaleRatios(settled.value, season.value));
export const ratio = computed(() => ratios.value.get(cart.value?.id ?? '') ?? null);
/** Factors from the open field's dumps. */
const answer = computed(() => running(settled.value, { field: field.value?.id ?? '', season: season.value }));
export const factors = computed(() => answer.value.factors);
export const pairs = computed(() => answer.value.against);
/** Causes common to many weights that the answer allows for. */
export const cautions = computed(() => answer.value.cautions);
export const conflicting = computed(() => conflicts(book.value));
export const doubled = computed(() => twins(settled.value));
export const sheet = computed(() => reconcile(settled.value));
/** The book that `factors`, `ratios` and the other slower figures were computed from. */
export const bookOfFigures = computed(() => settled.value);
