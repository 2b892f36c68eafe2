import { csvCell } from '../../formats/cell.ts';
import { fieldsOf } from '../account/pieces.ts';
import type { Book } from '../book.ts';
import { type Thing, thingsOf } from '../entries/thing.ts';
import { ledger } from '../ledger.ts';
import { dumpsOn, find, inOrder, type Kept, kept, nameOf, ticketNet_kg } from '../values.ts';

/** A field folder's text files, as the contract defines them: everything but the logs. */
export interface FieldFiles {
	'field.json': string;
	'cart.csv': string;
	'tickets.csv': string;
}

/**
 * Extracts one field's folder from the season's book. The cart's rows of other fields are included where they affect
 * this one: grain on the same truckloads or in the cart together with it, and truckloads with a ticket, since a
 * scale's ratio belongs to the scale, not to a field. Each dump names its field, so no other grain counts for this
 * field. A dump of two fields becomes one row per field.
 *
 * @param logs - the logs that the folder will hold: file name and combine's name
 */
export function exportField(
	book: Book,
	field: string,
	logs: readonly { file: string; combine: string }[] = [],
): FieldFiles {
	const own = find(book, 'field', field);
	if (!own) throw new RangeError(`The book has no field "${field}".`);
	const l = ledger(book);
	const names = namer(book);
	const { dumps, offloads, tickets } = bearing(book, field);
	const loads = new Set<string>();

	const rows: { time_s: number; id: string; row: Record<string, string | number> }[] = [];
	for (const d of dumps) {
		const w = l.byId.get(d.id)!;
		const parts = fieldsOf(d.v.field, d.v.split);
		parts.forEach(([part, share], i) => {
			rows.push({
				time_s: d.v.time_s,
				id: d.id,
				row: {
					id: parts.length > 1 ? `${names.dump(d)}/${i + 1}` : names.dump(d),
					time: iso(d.v.time_s),
					event: 'dump',
					combine: d.v.combines.map(names.combine).join('+'),
					weight_kg: round(w.net_kg * share),
					emptied: d.v.emptied ?? '',
					truck_load: '',
					scale: nameOf(book, d.v.cart),
					field: nameOf(book, part),
					moisture_pct: d.v.moisture_pct ?? '',
					test_weight_kg_hl: d.v.testWeight_kg_hl ?? '',
					variety: d.v.variety ?? '',
					destination: '',
					note: [d.v.note ?? '', parts.length > 1 ? `${round(100 * share)} % of one dump of ${round(w.net_kg)} kg` : '']
						.filter((t) => t !== '')
						.join('; '),
				},
			});
		});
	}
	for (const o of offloads) {
		const w = l.byId.get(o.id)!;
		const load = find(book, 'load', o.v.load);
		if (load) loads.add(load.id);
		const fields = new Set(w.took.map((p) => find(book, 'dump', p.dump)?.v.field ?? ''));
		rows.push({
			time_s: o.v.time_s,
			id: o.id,
			row: {
				id: names.offload(o),
				time: iso(o.v.time_s),
				event: 'offload',
				combine: '',
				weight_kg: round(w.net_kg),
				emptied: '',
				truck_load: load ? names.load(load) : '',
				scale: nameOf(book, o.v.cart),
				field: fields.size === 1 ? nameOf(book, [...fields][0]!) : '',
				moisture_pct: o.v.moisture_pct ?? '',
				test_weight_kg_hl: o.v.testWeight_kg_hl ?? '',
				variety: '',
				destination: nameOf(book, load?.v.destination ?? null),
				note: o.v.note ?? '',
			},
		});
	}
	// Rows of the same second are in the order of the ledger.
	const place = new Map(l.weighings.map((w, i) => [w.id, i]));
	rows.sort((a, b) => a.time_s - b.time_s || place.get(a.id)! - place.get(b.id)!);

	const ticketRows = tickets.map((t) => {
		const load = find(book, 'load', t.v.load);
		return {
			ticket: names.ticket(t),
			time: iso(t.v.time_s),
			truck_load: load ? names.load(load) : '',
			net_kg: round(ticketNet_kg(t.v) ?? 0),
			combine: t.v.combine === null ? '' : names.combine(t.v.combine),
			moisture_pct: t.v.moisture_pct ?? '',
			test_weight_kg_hl: t.v.testWeight_kg_hl ?? '',
			destination: nameOf(book, t.v.destination ?? load?.v.destination ?? null),
			note: t.v.note ?? '',
		};
	});
	return {
		'field.json': `${JSON.stringify(fieldJson(book, own, dumps, offloads, logs), null, '\t')}\n`,
		'cart.csv': csv(
			rows.map((r) => r.row),
			CART_COLUMNS,
		),
		'tickets.csv': csv(ticketRows, TICKET_COLUMNS),
	};
}

const CART_COLUMNS = [
	'id',
	'time',
	'event',
	'combine',
	'weight_kg',
	'emptied',
	'truck_load',
	'scale',
	'field',
	'moisture_pct',
	'test_weight_kg_hl',
	'variety',
	'destination',
	'note',
];
const TICKET_COLUMNS = [
	'ticket',
	'time',
	'truck_load',
	'net_kg',
	'combine',
	'moisture_pct',
	'test_weight_kg_hl',
	'destination',
	'note',
];

/** Rows of the book that affect a field. */
function bearing(book: Book, field: string) {
	const l = ledger(book);
	const dumps = new Set<string>();
	const loads = new Set<string>();
	const isOwn = (dump: string) => {
		const d = find(book, 'dump', dump);
		return d !== null && fieldsOf(d.v.field, d.v.split).some(([f]) => f === field);
	};
	for (const d of kept(book, 'dump')) if (isOwn(d.id)) dumps.add(d.id);
	const season = find(book, 'field', field)?.v.season ?? null;
	for (const load of l.loads.values()) {
		const sameSeason = load.holds.some(
			(p) => (find(book, 'field', find(book, 'dump', p.dump)?.v.field ?? null)?.v.season ?? null) === season,
		);
		if (load.holds.some((p) => isOwn(p.dump)) || (load.ticket_kg !== null && sameSeason)) loads.add(load.id);
	}
	for (const w of l.weighings)
		if (w.kind === 'offload' && (w.took.some((p) => dumps.has(p.dump)) || (w.load !== null && loads.has(w.load))))
			for (const p of w.took) if (p.dump !== '') dumps.add(p.dump);
	const offloads = kept(book, 'offload').filter((o) => {
		const w = l.byId.get(o.id)!;
		return w.net_kg > 0 && w.took.some((p) => dumps.has(p.dump));
	});
	const tickets = kept(book, 'ticket').filter((t) =>
		t.v.load !== null && l.loads.has(t.v.load)
			? loads.has(t.v.load) || (t.v.combine !== null && t.v.field === field)
			: t.v.combine === null || t.v.field === field,
	);
	return {
		dumps: kept(book, 'dump').filter((d) => dumps.has(d.id) && (l.byId.get(d.id)?.net_kg ?? 0) > 0),
		offloads,
		tickets: tickets.filter((t) => ticketNet_kg(t.v) !== null).sort(inOrder),
	};
}

function fieldJson(
	book: Book,
	own: Kept<'field'>,
	dumps: readonly Kept<'dump'>[],
	offloads: readonly Kept<'offload'>[],
	logs: readonly { file: string; combine: string }[],
): object {
	const names = namer(book);
	const given = (entries: [string, unknown][]) => Object.fromEntries(entries.filter(([, v]) => v !== null && v !== ''));
	// A combine or truck that has left or was voided since still belongs to its dumps.
	const all = <K extends 'combine' | 'cart'>(kind: K) => thingsOf(book, kind).map((x) => find(book, kind, x.id)!);
	const combines = all('combine').filter((c) => dumps.some((d) => d.v.combines.includes(c.id)));
	const carts = all('cart').filter((c) => [...dumps, ...offloads].some((w) => w.v.cart === c.id));
	const rules = kept(book, 'destination').filter((d) => d.v.shrink_pct_per_point !== null);
	const f = own.v;
	return given([
		['name', f.name],
		['season', f.season],
		['client', f.client],
		['farm', f.farm],
		['crop', f.crop],
		['timeZone', f.timeZone],
		['logs', logs],
		['cartLog', { file: 'cart.csv' }],
		['tickets', { file: 'tickets.csv' }],
		[
			'combines',
			Object.fromEntries(
				combines.map((c) => [
					names.combine(c.id),
					given([
						['swath_m', c.v.swath_m],
						['row_m', c.v.row_m],
						['tank_kg', c.v.tank_kg],
						['header_ahead_m', c.v.header_ahead_m],
					]),
				]),
			),
		],
		[
			'scales',
			Object.fromEntries(
				carts.map((c) => [
					c.v.name,
					given([
						['limit_pct', c.v.limit_pct],
						['size_kg', c.v.size_kg],
					]),
				]),
			),
		],
		['events', eventsOf(book, own.id)],
		[
			'destinations',
			rules.length === 0
				? null
				: Object.fromEntries(
						rules.map((d) => [
							d.v.name,
							{ shrink_pct_per_point: d.v.shrink_pct_per_point, handling_pct: d.v.handling_pct ?? 0 },
						]),
					),
		],
	]);
}

/** Recalibrations and similar events: of this field, or of a combine in general; null where there are none. */
function eventsOf(book: Book, field: string): object[] | null {
	const names = namer(book);
	const events = kept(book, 'event')
		.filter((e) => e.v.field === null || e.v.field === field)
		.sort(inOrder)
		.map((e) => ({
			time: iso(e.v.time_s),
			...(e.v.combine === null ? {} : { combine: names.combine(e.v.combine) }),
			kind: e.v.kind,
			...(e.v.note === null ? {} : { note: e.v.note }),
		}));
	return events.length > 0 ? events : null;
}

/**
 * Names that are unique in files: two tablets may both have had a dump 12. A repeated name gets the start of its
 * tablet's name, then a count.
 */
export function namer(book: Book) {
	const maps = {
		dump: unique(kept(book, 'dump')),
		offload: unique(kept(book, 'offload')),
		ticket: unique(kept(book, 'ticket')),
		load: unique(kept(book, 'load')),
		// Rows that count get their names first.
		combine: unique(
			kept(book, 'combine'),
			thingsOf(book, 'combine').filter((x) => x.struck),
		),
	};
	return {
		dump: (d: { id: string }) => maps.dump.get(d.id) ?? d.id,
		offload: (o: { id: string }) => maps.offload.get(o.id) ?? o.id,
		ticket: (t: { id: string }) => maps.ticket.get(t.id) ?? t.id,
		load: (x: { id: string }) => maps.load.get(x.id) ?? x.id,
		combine: (id: string) => maps.combine.get(id) ?? nameOf(book, id),
	};
}

function unique(
	list: readonly { id: string; thing: Thing; v: object }[],
	struck: readonly Thing[] = [],
): Map<string, string> {
	const taken = new Set<string>();
	const names = new Map<string, string>();
	const byId = (a: { id: string }, b: { id: string }) => (a.id < b.id ? -1 : 1);
	const others = struck.map((thing) => ({ id: thing.id, thing, v: thing.values }));
	for (const x of [...[...list].sort(byId), ...others.sort(byId)]) {
		const v = x.v as { name?: string; number?: string };
		const plain = (v.name ?? v.number ?? '').trim() || x.id;
		let name = plain;
		if (taken.has(name)) name = `${plain}-${x.thing.entries[0]!.by}`;
		for (let i = 2; taken.has(name); i++) name = `${plain}-${i}`;
		taken.add(name);
		names.set(x.id, name);
	}
	return names;
}

/** Default file names of the field's logs: one per combine with dumps on it. */
export function expectedLogs(book: Book, field: string): { file: string; combine: string }[] {
	const names = namer(book);
	const own = new Set(dumpsOn(book, field).flatMap((d) => d.v.combines));
	return [...own].map((id) => {
		const combine = names.combine(id);
		return { file: `${combine.replace(/[^\p{L}\p{N}._-]+/gu, '-')}.csv`, combine };
	});
}

/** RFC 4180, except for line ends, which are plain line feeds. */
function csv(rows: readonly object[], columns: readonly string[]): string {
	const lines = rows.map((r) => columns.map((c) => csvCell(String((r as Record<string, unknown>)[c] ?? ''))).join(','));
	return `${[columns.join(','), ...lines].join('\n')}\n`;
}

/** To the gram. */
function round(x: number): number {
	return Math.round(x * 1000) / 1000;
}

/** UTC to the second, or finer if it was given finer. */
function iso(time_s: number): string {
	return new Date(time_s * 1000).toISOString().replace('.000Z', 'Z');
}
