/** What the operator can do, each as entries of the book. */
import {
	add,
	type Book,
	type Entry,
	find,
	inOrder,
	type Kept,
	kept,
	ledger,
	mend,
	restore,
	strike,
	things,
	undo,
	type Value,
} from '../../../lib/book/index.ts';
import { book as bookNow, cart, device, field, newId, now_s, past, set, stamp, write } from './state.ts';

type Values = { [key: string]: Value };

/** The next free number of a kind: D12 after D11. */
export function nextNumber(book: Book, kind: 'dump' | 'offload' | 'load', prefix: string): string {
	let most = 0;
	for (const t of things(book).values()) {
		if (t.kind !== kind) continue;
		const n = Number(/(\d+)$/.exec(String(t.values.number ?? ''))?.[1] ?? 0);
		most = Math.max(most, n);
	}
	return `${prefix}${most + 1}`;
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
	await write((book) => [
		add(stamp(), 'dump', id, {
			number: nextNumber(book, 'dump', 'D'),
			time_s,
			cart: cart.value!.id,
			field: field.value!.id,
			combines: [...combineIds],
			...weight,
			emptied: extras.emptied,
			moisture_pct: extras.moisture_pct,
			testWeight_kg_hl: extras.testWeight_kg_hl,
			note: extras.note,
			variety: device.value.variety,
		}),
	]);
	return id;
}

/** The open truck load, begun if there is none; part of an offload's entries. */
function openLoad(book: Book, entries: Entry[]): string {
	const chosen = find(book, 'load', device.value.load);
	if (chosen && !chosen.thing.struck && !chosen.v.closed) return chosen.id;
	let truck = find(book, 'truck', device.value.truck);
	if (!truck || truck.thing.struck) truck = kept(book, 'truck')[0] ?? null;
	const id = newId();
	entries.push(
		add(stamp(), 'load', id, {
			number: nextNumber(book, 'load', ''),
			truck: truck?.id ?? null,
			destination: device.value.destination,
			opened_s: Math.round(now_s()),
		}),
	);
	set('load', id);
	return id;
}

/** Grain from the cart into the truck beside it. */
export async function putOffload(weight: Keyed): Promise<void> {
	const time_s = Math.round(now_s());
	await write((book) => {
		const entries: Entry[] = [];
		const load = openLoad(book, entries);
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
	});
}

/** The truck has gone: the next offload begins a new load, on the truck chosen. */
export async function nextTruck(truck: string | null, destination: string | null): Promise<void> {
	const open = device.value.load;
	set('truck', truck);
	set('destination', destination);
	set('load', null);
	const load = open === null ? null : find(bookNow.value, 'load', open);
	if (load && !load.v.closed) await write((book) => [mend(book, stamp(), load.id, { closed: true }, '')], false);
}

/** The open load is on another truck, or goes elsewhere. */
export async function changeTruck(truck: string | null, destination: string | null): Promise<void> {
	set('truck', truck);
	set('destination', destination);
	const load = device.value.load === null ? null : find(bookNow.value, 'load', device.value.load);
	if (load && !load.v.closed && (load.v.truck !== truck || load.v.destination !== destination))
		await write((book) => [mend(book, stamp(), load.id, { truck, destination }, '')], false);
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
		// A second reading of the same dump mends the first: both stay in its history.
		const before = kept(book, 'reading').find(
			(r) => set_.dump !== null && r.v.dump === set_.dump && r.v.combine === set_.combine && r.v.how === set_.how,
		);
		if (before) return [mend(book, stamp(), before.id, { ...set_ }, 'read again')];
		return [add(stamp(), 'reading', newId(), { time_s: Math.round(now_s()), field: field.value?.id ?? null, ...set_ })];
	});
}

export async function putTicket(set_: Values): Promise<void> {
	await write(() => [add(stamp(), 'ticket', newId(), { time_s: Math.round(now_s()), ...set_ })]);
}

/** The monitor has been recalibrated: its factor begins anew. */
export async function putRecalibrated(combine: string): Promise<void> {
	await write(() => [
		add(stamp(), 'event', newId(), {
			time_s: Math.round(now_s()),
			combine,
			field: field.value?.id ?? null,
			kind: 'calibrated',
			note: null,
		}),
	]);
}

/** The scale was zeroed, or shows something else than the book has: what it shows now counts. */
export async function putZero(reading_kg: number): Promise<void> {
	await write(() => [
		add(stamp(), 'zero', newId(), { time_s: Math.round(now_s()), cart: cart.value!.id, reading_kg, note: null }),
	]);
}

export async function putThing(
	kind: 'combine' | 'truck' | 'cart' | 'destination' | 'mapping',
	values: Values,
): Promise<string> {
	const id = newId();
	await write(() => [add(stamp(), kind, id, values)], false);
	return id;
}

export async function mendThing(id: string, values: Values, why: string): Promise<void> {
	await write((book) => {
		const entry = mend(book, stamp(), id, values, why);
		return Object.keys(entry.set).length > 0 ? [entry] : [];
	});
}

export async function strikeThing(id: string, why: string): Promise<void> {
	await write((book) => [strike(book, stamp(), id, why)]);
}

export async function restoreThing(id: string, why: string): Promise<void> {
	await write((book) => [restore(book, stamp(), id, why)]);
}

/** Takes back what was done last on this device, then what was done before that. */
export async function undoLast(): Promise<void> {
	const entries = [...(past.value.at(-1) ?? [])].reverse();
	if (entries.length === 0) return;
	past.value = past.value.slice(0, -1);
	await write((book) => entries.map((e) => undo(book, stamp(), e)), false);
}

/** A new field. Crop, client, farm, season and zone are carried over from the open one where nothing is said. */
export async function startField(values: Values, combineCount: number): Promise<string> {
	const id = newId();
	await write((book) => {
		const entries: Entry[] = [add(stamp(), 'field', id, values)];
		if (kept(book, 'cart').length === 0) entries.push(add(stamp(), 'cart', newId(), { name: 'Cart' }));
		const there = kept(book, 'combine').length;
		for (let i = there; i < combineCount; i++)
			entries.push(add(stamp(), 'combine', newId(), { name: String.fromCharCode(65 + i) }));
		if (kept(book, 'truck').length === 0) entries.push(add(stamp(), 'truck', newId(), { name: 'Truck 1' }));
		return entries;
	}, false);
	set('field', id);
	return id;
}

/** Does a dump still lack what its monitor showed? */
export function lacksReading(book: Book, dump: Kept<'dump'>): string | null {
	const own = kept(book, 'reading').filter((r) => r.v.dump === dump.id);
	return dump.v.combines.find((c) => !own.some((r) => r.v.combine === c)) ?? null;
}

/** Dumps of a field, the newest first. */
export function dumpsOf(book: Book, fieldId: string | null): Kept<'dump'>[] {
	return kept(book, 'dump')
		.filter((d) => d.v.field === fieldId)
		.sort((a, b) => inOrder(b, a));
}

export function netOf(book: Book, id: string): number {
	return ledger(book).byId.get(id)?.net_kg ?? 0;
}
