import { CROPS, unitFactor, wetWeight } from '../../units/index.ts';
import { append, type Book } from '../book.ts';
import { following } from '../entries/following.ts';
import type { Thing } from '../entries/thing.ts';
import { find, inOrder, kept, readingsOf } from '../kept.ts';
import { ledger } from '../ledger/ledger.ts';
import { cropKnown, type ValuesOf } from '../values.ts';

/** Grain weighed by the cart and seen by a monitor: one dump, or several where their grain cannot be separated. */
export interface BookFill {
	dumps: string[];
	field: string;
	cart: string;
	/** Weight the cart showed. */
	cart_kg: number;
	/** Wet mass by combine: two entries for a weight of both. */
	monitor: { combine: string; kg: number }[];
	time_s: number;
	/** When each of these combines last dumped before, on any field; null = never. */
	since_s: (number | null)[];
	/** Set aside by the operator: the grain counts, and its weight is in no factor. */
	aside: boolean;
}

/** A dump that is in no fill, with the reason. */
export interface Waiting {
	dump: string;
	reason:
		| 'set aside'
		| 'no combine'
		| 'no monitor'
		| 'no weight'
		| 'not emptied'
		| 'no moisture'
		| 'no crop'
		| 'first total';
}

/** What each combine cut between two dumps, and the dumps whose monitor reading is still to come. */
export interface Fills {
	/** In order of time, including those set aside. */
	fills: BookFill[];
	waiting: Waiting[];
}

/**
 * Groups dumps and assigns monitor readings to them. A load reading belongs to its dump; a running total gives the
 * grain since the previous total, for all dumps in between; where a tank was entered as not emptied, its dump is
 * grouped with the next.
 */
export const bookFills: (book: Book) => Fills = following((book) => {
	const l = ledger(book);
	const dumps = kept(book, 'dump').sort(inOrder);
	const readings = kept(book, 'reading').sort(inOrder);
	const seen = new Map<string, Seen>();
	const waiting: Waiting[] = [];
	for (const combine of new Set(dumps.flatMap((d) => d.v.combines))) {
		const own = dumps.filter((d) => d.v.combines.includes(combine));
		monitorByDump(book, combine, own, readings, seen);
	}

	const fills: BookFill[] = [];
	const last_s = new Map<string, number>();
	const open = new Map<string, { group: Thing<'dump'>[]; since_s: (number | null)[] }>();
	for (const d of dumps) {
		const net = l.byId.get(d.id)?.net_kg ?? 0;
		const since = d.v.combines.map((c) => last_s.get(c) ?? null);
		for (const c of d.v.combines) last_s.set(c, d.v.time_s);
		if (net <= 0 || d.v.combines.length === 0) {
			waiting.push({ dump: d.id, reason: net <= 0 ? 'no weight' : 'no combine' });
			continue;
		}
		const key = [...d.v.combines].sort().join('+');
		const begun = open.get(key) ?? { group: [], since_s: since };
		const group = [...begun.group, d];
		open.delete(key);
		// Kept open: the tank was entered as not emptied, or the running total was not read after this dump.
		const unread = d.v.combines.some((c) => seen.get(`${c} ${d.id}`)?.status === 'between');
		if (d.v.emptied === 'no' || unread) {
			open.set(key, { group, since_s: begun.since_s });
			continue;
		}
		const aside = group.some((g) => g.v.aside);
		if (aside) for (const g of group) waiting.push({ dump: g.id, reason: 'set aside' });
		const monitor = d.v.combines.map((combine) => ({
			combine,
			parts: group.map((g): Seen => seen.get(`${combine} ${g.id}`) ?? { status: 'none', kg: 0 }),
		}));
		const reason = lackOf(
			book,
			d.v.field,
			monitor.flatMap((m) => m.parts),
		);
		if (reason !== null) {
			if (!aside) for (const g of group) waiting.push({ dump: g.id, reason });
			continue;
		}
		fills.push({
			dumps: group.map((g) => g.id),
			field: d.v.field,
			cart: d.v.cart,
			cart_kg: group.reduce((s, g) => s + (l.byId.get(g.id)?.net_kg ?? 0), 0),
			monitor: monitor.map((m) => ({ combine: m.combine, kg: m.parts.reduce((s, p) => s + p.kg, 0) })),
			time_s: d.v.time_s,
			since_s: begun.since_s,
			aside,
		});
	}
	for (const { group } of open.values())
		for (const g of group) waiting.push({ dump: g.id, reason: g.v.emptied === 'no' ? 'not emptied' : 'no monitor' });
	return { fills, waiting };
});

/** The tank load that a reading would give its dump, before it is entered; null where it would give none. */
export function fillWith(book: Book, dump: string, reading: Partial<ValuesOf['reading']>): BookFill | null {
	const set = { ...reading, dump };
	const entry = { id: '?', by: '?', at_s: Number.MAX_VALUE, thing: '?', after: [], set, why: '' };
	const { fills } = bookFills(append(book, { ...entry, kind: 'reading', act: 'add' }));
	return fills.find((f) => f.dumps.includes(dump)) ?? null;
}

/** What the monitor's side of a fill lacks; null where all of it was read. */
function lackOf(book: Book, field: string, parts: readonly Seen[]): Waiting['reason'] | null {
	const lacking = parts.find((p) => p.status !== 'read' && p.status !== 'between');
	if (lacking === undefined) return null;
	if (lacking.status === 'first') return 'first total';
	if (lacking.status !== 'dry') return 'no monitor';
	return cropKnown(find(book, 'field', field)?.v ?? null) === null ? 'no crop' : 'no moisture';
}

/** Status of a dump's monitor weight: read, counted with a later dump, not read, or not convertible to wet mass. */
interface Seen {
	status: 'read' | 'between' | 'none' | 'dry' | 'first';
	kg: number;
}

function monitorByDump(
	book: Book,
	combine: string,
	dumps: Thing<'dump'>[],
	readings: Thing<'reading'>[],
	seen: Map<string, Seen>,
): void {
	const own = readings.filter((r) => r.v.combine === combine);
	let last: { wet_kg: number; time_s: number } | null = null;
	// Counting starts at a total read before the first dump (a counter that was just reset, for example).
	for (const r of own)
		if (r.v.how === 'total' && r.v.dump === null && r.v.time_s < (dumps[0]?.v.time_s ?? 0)) {
			const wet_kg = readingWet_kg(book, r.v, null);
			if (wet_kg !== null) last = { wet_kg, time_s: r.v.time_s };
		}
	const pending: string[] = [];
	for (const d of dumps) {
		const of = readingsOf(book, d.id)
			.filter((r) => r.v.combine === combine)
			.sort(inOrder);
		const load = of.findLast((r) => r.v.how === 'load');
		const total = of.findLast((r) => r.v.how === 'total');
		const totalWet = total ? readingWet_kg(book, total.v, d.v) : null;
		const key = `${combine} ${d.id}`;
		if (load) {
			const kg = readingWet_kg(book, load.v, d.v);
			seen.set(key, kg === null ? { status: 'dry', kg: 0 } : { status: 'read', kg });
		} else if (total && totalWet === null) seen.set(key, { status: 'dry', kg: 0 });
		else if (totalWet !== null && last === null) {
			seen.set(key, { status: 'first', kg: 0 });
			for (const p of pending) seen.set(p, { status: 'none', kg: 0 });
		} else if (totalWet !== null && last !== null) {
			seen.set(key, { status: 'read', kg: totalWet - last.wet_kg });
			for (const p of pending) seen.set(p, { status: 'between', kg: 0 });
		} else {
			pending.push(key);
			seen.set(key, { status: 'none', kg: 0 });
			continue;
		}
		pending.length = 0;
		// A load reading gives no running total, so counting by totals starts over at the next one.
		last = totalWet === null ? null : { wet_kg: totalWet, time_s: d.v.time_s };
	}
}

/**
 * A reading as wet mass. Bushels are converted by the crop's bushel weight, so they need a known crop. A dry reading
 * needs the moisture that the monitor showed, or else the dump's. Null where one of these is missing.
 */
export function readingWet_kg(
	book: Book,
	r: ValuesOf['reading'],
	dump: Pick<ValuesOf['dump'], 'field' | 'moisture_pct'> | null,
): number | null {
	const crop = cropKnown(find(book, 'field', dump?.field ?? r.field)?.v ?? null);
	// The weight of a bushel of an unknown crop is unknown.
	const size = r.unit === 'bu' && crop === null ? null : unitFactor(r.unit, 'mass', crop ?? CROPS[0]!);
	if (size === null || !Number.isFinite(r.value)) return null;
	const mass = r.value * size;
	if (r.basis === 'wet') return mass;
	const moisture = r.moisture_pct ?? dump?.moisture_pct ?? null;
	const at_pct = r.at_pct ?? crop?.market_moisture_pct ?? null;
	return moisture === null || at_pct === null ? null : wetWeight(mass, moisture, at_pct);
}
