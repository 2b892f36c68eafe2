/** Rows of a scale head’s own list, put into the book. */
import {
	add,
	type Book,
	type Entry,
	edit,
	kept,
	ledger,
	type ScaleLoad,
	type ScaleMapping,
	type ScaleTable,
	thingById,
	type Value,
} from '../../../lib/book/index.ts';
import { CART } from '../../../lib/model/index.ts';
import { nextNumber, usualMonitor } from './acts.ts';
import { allCombines, allTrucks, cart, device, field, fields, newId, stamp, write } from './state.ts';
import { t } from './words.ts';

/** What a name in a list refers to: a thing's id, or '' for a new one of that name. */
export type Names = Record<NameKind, Record<string, string>>;

const NAME_KINDS = ['field', 'combine', 'truck'] as const;

type NameKind = (typeof NAME_KINDS)[number];

export const listOf = (kind: NameKind) =>
	(kind === 'field' ? fields : kind === 'combine' ? allCombines : allTrucks).value;

/** Names of a row by kind; a weight of two combines has two. */
const namesIn = (l: ScaleLoad, kind: NameKind): string[] =>
	(kind === 'combine' ? l.combine.split(/[+&/]/) : [kind === 'field' ? l.field : l.truck])
		.map((w) => w.trim())
		.filter((w) => w !== '');

/** The thing of that name: as answered before, or with the same name. */
export function known(kind: NameKind, name: string, names: Names): string | undefined {
	const said = names[kind][name.toLowerCase()];
	if (said) return said;
	return listOf(kind).find((x) => x.v.name.toLowerCase() === name.toLowerCase())?.id;
}

export function unknownNames(loads: readonly ScaleLoad[]): [NameKind, string][] {
	return NAME_KINDS.flatMap((kind) => {
		const found = new Map<string, string>();
		for (const l of loads)
			for (const n of namesIn(l, kind))
				if (!listOf(kind).some((x) => x.v.name.toLowerCase() === n.toLowerCase())) found.set(n.toLowerCase(), n);
		return [...found.values()].map((n): [NameKind, string] => [kind, n]);
	});
}

/** A list as it was read, and what its columns and names are. */
export interface ScaleList {
	names: Names;
	/** Of the file. */
	name: string;
	table: ScaleTable;
	mapping: ScaleMapping;
	/** Its columns were identified before. */
	remembered: boolean;
}

/**
 * Puts a list's rows into the book. A row that is already there, by its key, is left as it is, including edits.
 *
 * @returns how many rows were added, and how many were known
 */
export async function takeRows(
	list: ScaleList,
	loads: readonly ScaleLoad[],
): Promise<{ added: number; known: number }> {
	let counts = { added: 0, known: 0 };
	await write(
		(b) => {
			const fresh = loads.filter((l) => thingById(b, rowId(l)) === undefined);
			counts = { added: fresh.length, known: loads.length - fresh.length };
			const { names, entries } = nameThings(list.names, loads);
			const mapping = mappingEntries(b, list, names);
			const rows = rowEntries(b, fresh, names);
			return [...entries, ...mapping, ...rows, ...settleCart(b, rows)];
		},
		{ label: () => t.manyRows(counts.added) },
	);
	return counts;
}

/** The same row read on another tablet is the same thing: its id comes from the row, not from the device. */
const rowId = (l: ScaleLoad) => `list ${cart.value!.id} ${l.key}`;

/** Each unknown name becomes a new thing. */
function nameThings(before: Names, loads: readonly ScaleLoad[]): { names: Names; entries: Entry[] } {
	const names = structuredClone(before);
	const entries: Entry[] = [];
	for (const [kind, name] of unknownNames(loads)) {
		if (names[kind][name.toLowerCase()]) continue;
		const id = newId();
		names[kind][name.toLowerCase()] = id;
		entries.push(add(stamp(), kind, id, newThing(kind, name)));
	}
	return { names, entries };
}

/** What the list's columns and names are, for the next list like it. */
function mappingEntries(b: Book, list: ScaleList, names: Names): Entry[] {
	const { signature } = list.table;
	const mapping = { ...list.mapping };
	const before = kept(b, 'mapping').find((m) => m.values.signature === signature);
	if (!before) return [add(stamp(), 'mapping', newId(), { name: list.name, signature, mapping, names })];
	if (JSON.stringify(before.values.names) === JSON.stringify(names)) return [];
	return [edit(b, stamp(), before.id, { names, mapping }, '')];
}

function rowEntries(b: Book, loads: readonly ScaleLoad[], names: Names): Entry[] {
	const dump = numbers(b, 'dump', 'D');
	const offload = numbers(b, 'offload', 'O');
	const load = numbers(b, 'load', '');
	const ids = (l: ScaleLoad, kind: NameKind) =>
		namesIn(l, kind)
			.map((n) => known(kind, n, names))
			.filter((x): x is string => x !== undefined);
	return loads.flatMap((l) => {
		const common = {
			time_s: l.time_s,
			cart: cart.value!.id,
			net_kg: l.weight_kg,
			moisture_pct: l.moisture_pct,
			note: l.note || null,
		};
		if (!l.out) {
			const set = {
				number: l.number || dump.next(),
				field: ids(l, 'field')[0] ?? field.value!.id,
				combines: ids(l, 'combine'),
				variety: device.value.variety,
				...common,
			};
			return [add(stamp(), 'dump', rowId(l), set)];
		}
		// Each row that goes out is a truckload of its own.
		const own = `list load ${cart.value!.id} ${l.key}`;
		const truck = ids(l, 'truck')[0] ?? null;
		return [
			add(stamp(), 'load', own, { number: load.next(), truck, opened_s: l.time_s, closed: true }),
			add(stamp(), 'offload', rowId(l), { number: l.number || offload.next(), load: own, ...common }),
		];
	});
}

/**
 * A list with dumps but without the offloads after them leaves the cart full in the book. Its scale then continues
 * from its reading before the list, so that no reading entered by hand changes.
 */
function settleCart(b: Book, entries: readonly Entry[]): Entry[] {
	const rows = entries.filter((e) => e.kind === 'dump' || e.kind === 'offload');
	if (rows.length === 0) return [];
	const sum = (kind: string) => rows.reduce((s, e) => s + (e.kind === kind ? Number(e.set.net_kg) : 0), 0);
	const [into, out] = [sum('dump'), sum('offload')];
	if (Math.abs(into - out) <= CART.same_kg + CART.same_rel * into) return [];
	const last = rows.reduce((m, e) => (Number(e.set.time_s) > Number(m.set.time_s) ? e : m));
	const time_s = Number(last.set.time_s);
	const before = ledger(b).weighings.findLast((w) => w.cart === cart.value!.id && w.time_s <= time_s);
	const set = { time_s: time_s + 1, cart: cart.value!.id, reading_kg: before?.after_kg ?? 0, note: t.afterList };
	return [add(stamp(), 'zero', `list end ${last.thing}`, set)];
}

/** Numbers that continue from the book's. */
function numbers(b: Book, kind: 'dump' | 'offload' | 'load', prefix: string): { next: () => string } {
	const [, head = '', digits = '1'] = /^(.*?)(\d+)$/.exec(nextNumber(b, kind, prefix))!;
	let n = Number(digits);
	return { next: () => `${head}${n++}` };
}

function newThing(kind: NameKind, name: string): { [key: string]: Value } {
	if (kind === 'truck') return { name };
	if (kind === 'combine') return { name, monitor: { ...usualMonitor() } };
	const { crop, season, client, farm, timeZone, tolerance_pct } = field.value!.v;
	return { name, crop: crop as Value, season, client, farm, timeZone, tolerance_pct };
}
