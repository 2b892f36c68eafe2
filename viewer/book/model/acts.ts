/** What the operator can do, each action as entries of the book. */
import {
	add,
	type Book,
	dumpsOn,
	type Entry,
	edit,
	find,
	kept,
	keptAll,
	ledger,
	type MonitorSetup,
	readingsOf,
	restore,
	strike,
	type Thing,
	thingsOf,
	type Value,
} from '../../../lib/book/index.ts';
import { book as bookNow, cart, device, field, newId, now_s, openLoads, set, stamp, truck, write } from './state.ts';
import { labelOf } from './undo.ts';
import { massUnit, t } from './words.ts';

type Values = { [key: string]: Value };
const labeled = { label: labelOf };

/**
 * The next number of a kind, continuing from the last one entered by hand: D12 after D11, N8 after N7. Rows of a list
 * keep the list's numbers and do not change this sequence.
 */
export function nextNumber(book: Book, kind: 'dump' | 'offload' | 'load', prefix: string): string {
	const all = keptAll(book, kind);
	const last = all.findLast((x) => !x.id.startsWith('list ') && /\d$/.test(x.v.number));
	const [, head = prefix, digits = '0'] = last ? /^(.*?)(\d+)$/.exec(last.v.number)! : [];
	// A voided row keeps its number: no two rows of the book share one.
	const taken = new Set([...thingsOf(book, kind).values()].map((x) => x.values.number));
	let n = Number(digits) + 1;
	while (taken.has(`${head}${n}`)) n++;
	return `${head}${n}`;
}

/** A weight as keyed: the scale's running reading, or the net. */
export type Keyed = { reading_kg: number } | { net_kg: number };

export interface DumpExtras {
	emptied: 'yes' | 'no' | null;
	moisture_pct: number | null;
	testWeight_kg_hl: number | null;
	note: string | null;
}

/** A dump, in one tap. */
export async function putDump(combineIds: readonly string[], weight: Keyed, extras: DumpExtras): Promise<string> {
	const id = newId();
	const time_s = Math.round(now_s());
	await write(
		(book) => [
			add(stamp(), 'dump', id, {
				number: nextNumber(book, 'dump', 'D'),
				time_s,
				cart: cart.value!.id,
				field: field.value!.id,
				combines: [...combineIds],
				...weight,
				...extras,
				variety: device.value.variety,
			}),
		],
		labeled,
	);
	return id;
}

/** Grain from the cart into the truck shown on the page. */
export async function putOffload(weight: Keyed): Promise<void> {
	const time_s = Math.round(now_s());
	// Capture what is on the screen at the moment of the tap.
	const [truckId, destination] = [truck.value?.id ?? null, device.value.destination];
	const chosen = device.value.load;
	await write((book) => {
		const entries: Entry[] = [];
		const open = find(book, 'load', chosen);
		let load = open && !open.struck && !open.v.closed ? open.id : null;
		if (load === null) {
			load = newId();
			entries.push(
				add(stamp(), 'load', load, {
					number: nextNumber(book, 'load', ''),
					truck: truckId,
					destination,
					opened_s: time_s,
				}),
			);
			set('load', load);
		}
		entries.push(
			add(stamp(), 'offload', newId(), {
				number: nextNumber(book, 'offload', 'O'),
				time_s,
				cart: cart.value!.id,
				load,
				...weight,
			}),
		);
		return entries;
	}, labeled);
}

/** The truck for the next offload: its open load if it has one, else a new one. No load is renamed. */
export function chooseTruck(id: string): void {
	const open = openLoads.value.findLast((l) => l.v.truck === id);
	set('truck', id);
	set('load', open?.id ?? null);
	if (open) set('destination', open.v.destination);
}

/** Closes the chosen load. Another open load is chosen next, else the same truck for a new load. */
export async function truckLeft(): Promise<void> {
	const id = device.value.load;
	const load = id === null ? null : find(bookNow.value, 'load', id);
	if (!load) return;
	const other = openLoads.value.findLast((l) => l.id !== load.id);
	await write((book) => [edit(book, stamp(), load.id, { closed: true }, '')], labeled);
	set('truck', other?.v.truck ?? load.v.truck);
	set('load', other?.id ?? null);
}

/** Reopens a load that was closed by mistake. */
export async function reopen(id: string): Promise<void> {
	await write((book) => [edit(book, stamp(), id, { closed: false, opened_s: Math.round(now_s()) }, '')], labeled);
	const load = find(bookNow.value, 'load', id);
	set('truck', load?.v.truck ?? null);
	set('load', id);
}

/** Sets the destination of the chosen truckload. */
export async function setDestination(destination: string | null): Promise<void> {
	set('destination', destination);
	const id = device.value.load;
	if (id !== null) await write((book) => changed(book, id, { destination }, ''), labeled);
}

/** What a monitor showed after a dump. */
export async function putReading(set_: {
	combine: string;
	dump: string | null;
	how: 'load' | 'total';
	value: number;
	unit: string;
	basis: 'wet' | 'dry';
	at_pct: number | null;
	moisture_pct: number | null;
}): Promise<void> {
	await write((book) => {
		// A second reading of the same dump edits the first: both stay in its history.
		const before =
			set_.dump === null
				? undefined
				: readingsOf(book, set_.dump).find((r) => r.v.combine === set_.combine && r.v.how === set_.how);
		if (before) return [edit(book, stamp(), before.id, { ...set_ }, 'read again')];
		return [add(stamp(), 'reading', newId(), { time_s: Math.round(now_s()), field: field.value?.id ?? null, ...set_ })];
	}, labeled);
}

export async function putTicket(set_: Values): Promise<void> {
	await write(() => [add(stamp(), 'ticket', newId(), { time_s: Math.round(now_s()), ...set_ })], labeled);
}

/** The monitor was recalibrated: its factor starts over. */
export async function putRecalibrated(combine: string): Promise<void> {
	const time_s = Math.round(now_s());
	const set_ = { time_s, combine, field: field.value?.id ?? null, kind: 'calibrated', note: null };
	await write(() => [add(stamp(), 'event', newId(), set_)], labeled);
}

/** The scale was zeroed, or differs from the book's reading: its present reading counts. */
export async function putZero(reading_kg: number): Promise<void> {
	const time_s = Math.round(now_s());
	await write(() => [add(stamp(), 'zero', newId(), { time_s, cart: cart.value!.id, reading_kg, note: null })], labeled);
}

export async function putThing(
	kind: 'combine' | 'truck' | 'cart' | 'destination' | 'mapping',
	values: Values,
): Promise<string> {
	const id = newId();
	await write(() => [add(stamp(), kind, id, values)], labeled);
	return id;
}

function changed(book: Book, id: string, values: Values, why: string): Entry[] {
	const entry = edit(book, stamp(), id, values, why);
	return Object.keys(entry.set).length > 0 ? [entry] : [];
}

export async function editThing(id: string, values: Values, why: string): Promise<void> {
	await write((book) => changed(book, id, values, why), labeled);
}

export async function strikeThing(id: string, why: string): Promise<void> {
	await write((book) => [strike(book, stamp(), id, why)], labeled);
}

export async function restoreThing(id: string, why: string): Promise<void> {
	await write((book) => [restore(book, stamp(), id, why)], labeled);
}

/** A new field, with a cart, combines and a truck if the book has none yet. */
export async function startField(values: Values, newCombines: readonly Values[]): Promise<string> {
	const id = newId();
	await write((book) => {
		const entries: Entry[] = [add(stamp(), 'field', id, values)];
		if (kept(book, 'cart').length === 0) entries.push(add(stamp(), 'cart', newId(), { name: t.firstCart }));
		for (const c of newCombines) entries.push(add(stamp(), 'combine', newId(), c));
		if (kept(book, 'truck').length === 0) entries.push(add(stamp(), 'truck', newId(), { name: t.truckNumber(1) }));
		return entries;
	}, null);
	set('field', id);
	return id;
}

/** Settings of a combine's monitor: as set for it, or as in its last reading. */
export function monitorOf(combine: string): MonitorSetup {
	const own = find(bookNow.value, 'combine', combine)?.v.monitor;
	if (own) return own;
	const last = keptAll(bookNow.value, 'reading').findLast((r) => r.v.combine === combine);
	if (last) return { how: last.v.how, unit: last.v.unit, basis: last.v.basis, at_pct: last.v.at_pct } as MonitorSetup;
	return usualMonitor();
}

export const usualMonitor = (): MonitorSetup => ({ how: 'load', unit: massUnit(), basis: 'wet', at_pct: null });

/** Whether a dump still lacks its monitor reading. */
export function lacksReading(book: Book, dump: Thing<'dump'>): string | null {
	const own = readingsOf(book, dump.id);
	return dump.v.combines.find((c) => !own.some((r) => r.v.combine === c)) ?? null;
}

/** The latest dumps of a field, newest first. */
export const latestDumps = (book: Book, fieldId: string, most: number): Thing<'dump'>[] =>
	dumpsOn(book, fieldId).slice(-most).reverse();

export function netOf(book: Book, id: string): number {
	return ledger(book).byId.get(id)?.net_kg ?? 0;
}
