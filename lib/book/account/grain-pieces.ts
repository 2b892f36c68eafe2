import { dryWeight, paidWeight } from '../../units/index.ts';
import { scaleRatios } from '../answer/scale-ratio.ts';
import type { Book } from '../book.ts';
import { following } from '../entries/following.ts';
import type { Thing } from '../entries/thing.ts';
import { find, kept } from '../kept.ts';
import { joined, ledger, type Portion } from '../ledger/ledger.ts';
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
	/** At the crop's market moisture; null where no moisture or no crop is known. */
	dry_kg: number | null;
	dry_bu: number | null;
	/** The buyer's deductions; null without a rule or a moisture. */
	shrink_kg: number | null;
}

/** A piece with what is known of its own moisture, before the buyer's and the crop's rules. */
type Grain = Omit<Piece, 'dry_kg' | 'dry_bu' | 'shrink_kg'>;

/**
 * The season's grain in pieces. Every total is a sum over the same pieces, so all totals agree. Every dump is in them
 * once, completely; so is every ticket direct to truck.
 */
export const pieces: (book: Book) => Piece[] = following((book) => {
	const grain = grainOf(book);
	const byField = fieldMoisture(grain);
	return grain.map((g) => {
		const usual_pct = g.moisture_pct === null && g.field !== null ? byField.get(g.field) : undefined;
		return ruled(book, usual_pct === undefined ? g : { ...g, moisture_pct: usual_pct });
	});
});

/** A piece by the rules of its crop and its buyer. */
function ruled(book: Book, g: Grain): Piece {
	const { wet_kg, moisture_pct } = g;
	const crop = cropKnown(find(book, 'field', g.field)?.v ?? null);
	if (moisture_pct === null || crop === null) return { ...g, dry_kg: null, dry_bu: null, shrink_kg: null };
	const dry_kg = dryWeight(wet_kg, moisture_pct, crop.market_moisture_pct);
	const { shrink_pct_per_point = null, handling_pct = null } = find(book, 'destination', g.destination)?.v ?? {};
	const shrink_kg =
		shrink_pct_per_point === null
			? null
			: wet_kg -
				paidWeight(wet_kg, moisture_pct, crop.market_moisture_pct, {
					shrink_pct_per_point,
					handling_pct: handling_pct ?? 0,
				});
	return { ...g, dry_kg, dry_bu: dry_kg / crop.bushel_kg, shrink_kg };
}

function grainOf(book: Book): Grain[] {
	const l = ledger(book);
	const ratioOf = cartRatios(book);
	const sensed = sensedMoisture(book);
	/** Grain of dumps on a truckload, or on none; `scale` is the load's ticket over the cart's weights. */
	const ofDumps = (portions: readonly Portion[], load: string | null, time_s: number, scale: number | null = null) => {
		const where = find(book, 'load', load)?.v;
		const ticket_pct = load === null ? null : certifiedMoisture_pct(book, l.loads.get(load)?.tickets ?? []);
		return portions.flatMap((p) => {
			const dump = find(book, 'dump', p.dump);
			const v = dump?.v;
			const moisture_pct = ticket_pct ?? v?.moisture_pct ?? sensed.get(p.dump) ?? null;
			return fieldsOf(v?.field ?? null, v?.split ?? null).map(
				([field, share]): Grain => ({
					dump: dump && p.dump,
					combines: v?.combines ?? [],
					field,
					variety: v?.variety ?? null,
					load,
					truck: where?.truck ?? null,
					destination: where?.destination ?? null,
					time_s: v?.time_s ?? time_s,
					wet_kg: p.kg * share * (scale ?? ratioOf(v?.cart ?? '', field)),
					basis: scale === null ? 'cart' : 'ticket',
					moisture_pct,
				}),
			);
		});
	};
	const onTrucks = [...l.loads.values()].flatMap((load) => {
		const where = find(book, 'load', load.id)?.v;
		const held_kg = load.holds.reduce((s, p) => s + p.kg, 0);
		// With grain directly from a combine on the truck, the ticket does not give the weight of the cart's part.
		const scale = load.ticket_kg !== null && !load.straight && held_kg > 0 ? load.ticket_kg / held_kg : null;
		const fromCart = ofDumps(load.holds, load.id, where?.opened_s ?? 0, scale);
		const rest_kg = (load.ticket_kg ?? 0) - fromCart.reduce((s, g) => s + g.wet_kg, 0);
		const direct = load.tickets.map((t) => find(book, 'ticket', t)!).filter((t) => t.v.combine !== null);
		const place = { load: load.id, truck: where?.truck ?? null, destination: where?.destination ?? null };
		return [...fromCart, ...direct.map((t) => ofTicket(t, Math.max(0, rest_kg) / direct.length, place))];
	});
	const direct = kept(book, 'ticket')
		.filter((t) => t.v.combine !== null && (t.v.load === null || !l.loads.has(t.v.load)))
		.map((t) => ofTicket(t, ticketNet_kg(t.v) ?? 0, { load: null, truck: null, destination: t.v.destination }));
	const inCarts = [...l.carts.values()].flatMap((c) => ofDumps(c.holds, null, 0));
	// Taken out of the cart with no truckload named: still grain of its dumps.
	const loose = l.weighings.filter((w) => w.kind === 'offload' && (w.load === null || !l.loads.has(w.load)));
	const unnamed = ofDumps(joined(loose.flatMap((w) => w.took)), null, loose[0]?.time_s ?? 0);
	return [...onTrucks, ...direct, ...inCarts, ...unnamed];
}

/** Grain that a combine put on a truck without the cart. */
function ofTicket({ v }: Thing<'ticket'>, wet_kg: number, place: Pick<Grain, 'load' | 'truck' | 'destination'>): Grain {
	const { combine, field, time_s, moisture_pct } = v;
	const grain = { dump: null, combines: [combine!], field, variety: null, time_s, wet_kg, moisture_pct };
	return { ...grain, ...place, basis: 'ticket' };
}

/** The ratio of a cart over the season of a field, 1 where the cart is not known. */
function cartRatios(book: Book): (cart: string, field: string | null) => number {
	const bySeason = new Map<number | null, ReturnType<typeof scaleRatios>>();
	return (cart, field) => {
		const season = find(book, 'field', field)?.v.season ?? null;
		if (!bySeason.has(season)) bySeason.set(season, scaleRatios(book, season));
		return bySeason.get(season)!.get(cart)?.ratio ?? 1;
	};
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
function fieldMoisture(grain: readonly Grain[]): Map<string, number> {
	const sums = new Map<string, { kg: number; sum: number }>();
	for (const { moisture_pct, field, wet_kg } of grain) {
		if (moisture_pct === null || field === null) continue;
		const s = sums.get(field) ?? { kg: 0, sum: 0 };
		s.kg += wet_kg;
		s.sum += wet_kg * moisture_pct;
		sums.set(field, s);
	}
	return new Map([...sums].filter(([, s]) => s.kg > 0).map(([f, s]) => [f, s.sum / s.kg]));
}
