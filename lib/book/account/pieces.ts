import { dryWeight, paidWeight } from '../../units/index.ts';
import type { Book } from '../book.ts';
import { find, kept } from '../kept.ts';
import { joined, ledger, type Portion } from '../ledger.ts';
import { scaleRatios } from '../scale.ts';
import { cropKnown, ticketNet_kg } from '../values.ts';
import { certifiedMoisture_pct, moistureOffsets } from './moisture.ts';

/** The smallest part of grain in the accounts: of one field, from one dump (or direct to truck), on one load or none. */
export interface Piece {
	/** null = grain from no dump in the book. */
	dump: string | null;
	combines: readonly string[];
	field: string | null;
	variety: string | null;
	/** null = still in the cart, or taken out without a truckload. */
	load: string | null;
	truck: string | null;
	destination: string | null;
	time_s: number;
	/** Wet mass: the ticket's where there is one, else cart weight × cart ratio. */
	wet_kg: number;
	basis: 'ticket' | 'cart';
	moisture_pct: number | null;
	moistureFrom: 'ticket' | 'dump' | 'monitor' | 'field' | null;
	/** At the crop's market moisture; null where no moisture or no crop is known. */
	dry_kg: number | null;
	dry_bu: number | null;
	/** The buyer's deductions; null without a rule or a moisture. */
	shrink_kg: number | null;
}

const remembered = new WeakMap<Book, Piece[]>();

/**
 * The season's grain in pieces. Every total is a sum over the same pieces, so all totals agree. Every dump is in them
 * once, completely; so is every ticket direct to truck.
 */
export function pieces(book: Book): Piece[] {
	const known = remembered.get(book);
	if (known) return known;
	const l = ledger(book);
	const seasonOf = (field: string | null) => find(book, 'field', field)?.v.season ?? null;
	const ratios = new Map<number | null, ReturnType<typeof scaleRatios>>();
	const ratioOf = (cart: string, field: string | null) => {
		const season = seasonOf(field);
		if (!ratios.has(season)) ratios.set(season, scaleRatios(book, season));
		return ratios.get(season)!.get(cart)?.ratio ?? 1;
	};
	const sensed = sensedMoisture(book);
	const raw: Omit<Piece, 'moisture_pct' | 'moistureFrom' | 'dry_kg' | 'dry_bu' | 'shrink_kg'>[] = [];
	const own = new Map<number, { pct: number | null; from: Piece['moistureFrom'] }>();

	const place = (portions: readonly Portion[], load: string | null, scale: number | null, time_s: number) => {
		const where = find(book, 'load', load);
		const loadMoisture = load === null ? null : certifiedMoisture_pct(book, l.loads.get(load)?.tickets ?? []);
		for (const p of portions) {
			const dump = find(book, 'dump', p.dump);
			const cart = dump?.v.cart ?? '';
			for (const [field, share] of fieldsOf(dump?.v.field ?? null, dump?.v.split ?? null)) {
				own.set(
					raw.length,
					loadMoisture !== null
						? { pct: loadMoisture, from: 'ticket' }
						: dump && dump.v.moisture_pct !== null
							? { pct: dump.v.moisture_pct, from: 'dump' }
							: { pct: sensed.get(p.dump) ?? null, from: sensed.has(p.dump) ? 'monitor' : null },
				);
				raw.push({
					dump: dump ? p.dump : null,
					combines: dump?.v.combines ?? [],
					field,
					variety: dump?.v.variety ?? null,
					load,
					truck: where?.v.truck ?? null,
					destination: where?.v.destination ?? null,
					time_s: dump?.v.time_s ?? time_s,
					wet_kg: p.kg * share * (scale ?? ratioOf(cart, field)),
					basis: scale === null ? 'cart' : 'ticket',
				});
			}
		}
	};

	for (const load of l.loads.values()) {
		const time_s = find(book, 'load', load.id)?.v.opened_s ?? 0;
		const held = load.holds.reduce((s, p) => s + p.kg, 0);
		// With grain directly from a combine on the truck, the ticket does not give the weight of the cart's part.
		const scale = load.ticket_kg !== null && !load.straight && held > 0 ? load.ticket_kg / held : null;
		const first = raw.length;
		place(load.holds, load.id, scale, time_s);
		let fromCart_kg = 0;
		for (let i = first; i < raw.length; i++) fromCart_kg += raw[i]!.wet_kg;
		const straight = load.tickets.map((t) => find(book, 'ticket', t)!).filter((t) => t.v.combine !== null);
		const rest = held > 0 ? (load.ticket_kg ?? 0) - fromCart_kg : (load.ticket_kg ?? 0);
		for (const t of straight) {
			own.set(raw.length, { pct: t.v.moisture_pct, from: t.v.moisture_pct === null ? null : 'ticket' });
			const where = find(book, 'load', load.id);
			raw.push({
				dump: null,
				combines: [t.v.combine!],
				field: t.v.field,
				variety: null,
				load: load.id,
				truck: where?.v.truck ?? null,
				destination: where?.v.destination ?? null,
				time_s: t.v.time_s,
				wet_kg: Math.max(0, rest) / straight.length,
				basis: 'ticket',
			});
		}
	}
	// Tickets direct to truck that name no truckload of the book.
	for (const t of kept(book, 'ticket')) {
		if (t.v.combine === null || (t.v.load !== null && l.loads.has(t.v.load))) continue;
		own.set(raw.length, { pct: t.v.moisture_pct, from: t.v.moisture_pct === null ? null : 'ticket' });
		raw.push({
			dump: null,
			combines: [t.v.combine],
			field: t.v.field,
			variety: null,
			load: null,
			truck: null,
			destination: t.v.destination,
			time_s: t.v.time_s,
			wet_kg: ticketNet_kg(t.v) ?? 0,
			basis: 'ticket',
		});
	}
	for (const c of l.carts.values()) place(c.holds, null, null, 0);
	// Taken out of the cart with no truckload named: still grain of its dumps.
	const loose = l.weighings.filter((w) => w.kind === 'offload' && (w.load === null || !l.loads.has(w.load)));
	place(joined(loose.flatMap((w) => w.took)), null, null, loose[0]?.time_s ?? 0);

	const byField = fieldMoisture(raw, own);
	const result = raw.map((r, i): Piece => {
		let { pct, from } = own.get(i)!;
		if (pct === null && r.field !== null && byField.has(r.field)) [pct, from] = [byField.get(r.field)!, 'field'];
		const crop = cropKnown(find(book, 'field', r.field)?.v ?? null);
		const dry_kg = pct === null || crop === null ? null : dryWeight(r.wet_kg, pct, crop.market_moisture_pct);
		const rule = find(book, 'destination', r.destination)?.v;
		const ruled = rule && rule.shrink_pct_per_point !== null;
		return {
			...r,
			moisture_pct: pct,
			moistureFrom: from,
			dry_kg,
			dry_bu: dry_kg === null || crop === null ? null : dry_kg / crop.bushel_kg,
			shrink_kg:
				pct === null || crop === null || !ruled
					? null
					: r.wet_kg -
						paidWeight(r.wet_kg, pct, crop.market_moisture_pct, {
							shrink_pct_per_point: rule.shrink_pct_per_point!,
							handling_pct: rule.handling_pct ?? 0,
						}),
		};
	});
	remembered.set(book, result);
	return result;
}

/** A dump's fields with their shares, which add up to 1. */
export function fieldsOf(
	field: string | null,
	split: { readonly [field: string]: number } | null,
): [string | null, number][] {
	const others = Object.entries(split ?? {}).filter(([f, s]) => f !== field && s > 0);
	const taken = others.reduce((s, [, x]) => s + x, 0);
	const scale = taken > 1 ? 1 / taken : 1;
	const own = Math.max(0, 1 - taken);
	return [
		...(own > 0 ? [[field, own] as [string | null, number]] : []),
		...others.map(([f, s]) => [f, s * scale] as [string, number]),
	];
}

/** Moistures that monitors showed, with their offsets, weighted by mass: by dump. */
function sensedMoisture(book: Book): Map<string, number> {
	const offsets = new Map(moistureOffsets(book).map((o) => [o.combine, o.offset_pct]));
	const sums = new Map<string, { n: number; sum: number }>();
	for (const r of kept(book, 'reading')) {
		if (r.v.dump === null || r.v.moisture_pct === null) continue;
		const s = sums.get(r.v.dump) ?? { n: 0, sum: 0 };
		s.n++;
		s.sum += r.v.moisture_pct + (offsets.get(r.v.combine) ?? 0);
		sums.set(r.v.dump, s);
	}
	return new Map([...sums].map(([d, s]) => [d, s.sum / s.n]));
}

/** Mass-weighted moisture of a field's grain where it is known: used where it is not. */
function fieldMoisture(
	raw: readonly { field: string | null; wet_kg: number }[],
	own: ReadonlyMap<number, { pct: number | null }>,
): Map<string, number> {
	const sums = new Map<string, { kg: number; sum: number }>();
	raw.forEach((r, i) => {
		const pct = own.get(i)!.pct;
		if (pct === null || r.field === null) return;
		const s = sums.get(r.field) ?? { kg: 0, sum: 0 };
		s.kg += r.wet_kg;
		s.sum += r.wet_kg * pct;
		sums.set(r.field, s);
	});
	return new Map([...sums].filter(([, s]) => s.kg > 0).map(([f, s]) => [f, s.sum / s.kg]));
}
