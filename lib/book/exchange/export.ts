import { csvCell } from '../../formats/csv-cell.ts';
import { utcText } from '../../units/index.ts';
import { fieldsOf } from '../account/grain-pieces.ts';
import type { Book } from '../book.ts';
import type { Thing } from '../entries/thing.ts';
import { dumpsOn, find, inOrder, kept, nameOf } from '../kept.ts';
import { ledger } from '../ledger/ledger.ts';
import { ticketNet_kg } from '../values.ts';
import { fieldJson } from './field-json.ts';
import { namer } from './unique-names.ts';

/** A field folder's text files, as the contract defines them: everything but the logs. */
export interface FieldFiles {
	'field.json': string;
	'cart.csv': string;
	'tickets.csv': string;
}

type Namer = ReturnType<typeof namer>;
type Row = Record<string, string | number | null>;

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
	const { dumps, offloads, tickets } = bearing(book, field);
	const names = namer(book);
	// Rows of the same second are in the order of the ledger.
	const { weighings } = ledger(book);
	const place = new Map(weighings.map((w, i) => [w.id, i]));
	const moved = [...dumps, ...offloads].sort((a, b) => a.v.time_s - b.v.time_s || place.get(a.id)! - place.get(b.id)!);
	const cart = moved.flatMap((m) => (isDump(m) ? dumpRows(book, names, m) : [offloadRow(book, names, m)]));
	return {
		'field.json': `${JSON.stringify(fieldJson(book, own, dumps, offloads, logs), null, '\t')}\n`,
		'cart.csv': csv(CART_COLUMNS, cart),
		'tickets.csv': csv(
			TICKET_COLUMNS,
			tickets.map((t) => ticketRow(book, names, t)),
		),
	};
}

const isDump = (m: Thing<'dump'> | Thing<'offload'>): m is Thing<'dump'> => m.kind === 'dump';

/** What dumps and offloads both state. */
function movedRow(book: Book, { v, kind }: Thing<'dump'> | Thing<'offload'>): Row {
	return {
		time: utcText(v.time_s),
		event: kind,
		scale: nameOf(book, v.cart),
		moisture_pct: v.moisture_pct,
		test_weight_kg_hl: v.testWeight_kg_hl,
	};
}

/** A dump's row, or one per field that it is of. */
function dumpRows(book: Book, names: Namer, d: Thing<'dump'>): Row[] {
	const { net_kg } = ledger(book).byId.get(d.id)!;
	const parts = fieldsOf(d.v.field, d.v.split);
	return parts.map(([part, share], i) => ({
		...movedRow(book, d),
		id: parts.length > 1 ? `${names.dump(d)}/${i + 1}` : names.dump(d),
		combine: d.v.combines.map(names.combine).join('+'),
		weight_kg: round(net_kg * share),
		emptied: d.v.emptied,
		field: nameOf(book, part),
		variety: d.v.variety,
		note: [d.v.note ?? '', parts.length > 1 ? `${round(100 * share)} % of one dump of ${round(net_kg)} kg` : '']
			.filter((t) => t !== '')
			.join('; '),
	}));
}

function offloadRow(book: Book, names: Namer, o: Thing<'offload'>): Row {
	const { net_kg, took } = ledger(book).byId.get(o.id)!;
	const load = find(book, 'load', o.v.load);
	const fields = new Set(took.map((p) => find(book, 'dump', p.dump)?.v.field ?? ''));
	return {
		...movedRow(book, o),
		id: names.offload(o),
		weight_kg: round(net_kg),
		truck_load: load && names.load(load),
		field: fields.size === 1 ? nameOf(book, [...fields][0]!) : '',
		destination: nameOf(book, load?.v.destination ?? null),
		note: o.v.note,
	};
}

function ticketRow(book: Book, names: Namer, t: Thing<'ticket'>): Row {
	const load = find(book, 'load', t.v.load);
	return {
		ticket: names.ticket(t),
		time: utcText(t.v.time_s),
		truck_load: load && names.load(load),
		net_kg: round(ticketNet_kg(t.v) ?? 0),
		combine: t.v.combine && names.combine(t.v.combine),
		moisture_pct: t.v.moisture_pct,
		test_weight_kg_hl: t.v.testWeight_kg_hl,
		destination: nameOf(book, t.v.destination ?? load?.v.destination ?? null),
		note: t.v.note,
	};
}

const CART_COLUMNS =
	'id,time,event,combine,weight_kg,emptied,truck_load,scale,field,moisture_pct,test_weight_kg_hl,variety,destination,note';
const TICKET_COLUMNS = 'ticket,time,truck_load,net_kg,combine,moisture_pct,test_weight_kg_hl,destination,note';

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

/** Default file names of the field's logs: one per combine with dumps on it. */
export function expectedLogs(book: Book, field: string): { file: string; combine: string }[] {
	const names = namer(book);
	const own = new Set(dumpsOn(book, field).flatMap((d) => d.v.combines));
	return [...own].map((id) => {
		const combine = names.combine(id);
		return { file: `${combine.replace(/[^\p{L}\p{N}._-]+/gu, '-')}.csv`, combine };
	});
}

/** RFC 4180, except for line ends, which are plain line feeds. What a row lacks is blank. */
function csv(columns: string, rows: readonly Row[]): string {
	const lines = rows.map((row) =>
		columns
			.split(',')
			.map((c) => csvCell(String(row[c] ?? '')))
			.join(','),
	);
	return `${[columns, ...lines].join('\n')}\n`;
}

/** To the gram. */
function round(x: number): number {
	return Math.round(x * 1000) / 1000;
}
