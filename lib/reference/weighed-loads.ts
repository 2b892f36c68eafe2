/** Truckloads with both weights, and why some of them are not used. */

import type { LoadBook, ReferenceLoad } from '../model/index.ts';
import { groupBy, mode, outOfLine } from '../stats/index.ts';
import { confusedUnits } from '../units/index.ts';
import { cartSides } from './cart-sides.ts';

/** A ticket within this of the cart's weight, or of that in another unit, is of the same grain; relative. */
const ALIKE = 0.08;
/** A ratio nearer to one than this, as a logarithm, has other causes as well. */
const OTHER = Math.LN2 / 2;
/** The reason against loads with one weight twice. */
export const COPY = 'the offload is the weight on the ticket to the last digit, so the cart did not weigh it';
/** So many loads with both weights equal, and this share of all, are no chance: of weights to 10 kg one in eight is. */
const COPIED = 3;
const COPIED_SHARE = 1 / 3;

export interface Load extends ReferenceLoad {
	/** True where both weights are of the same grain as far as noted. */
	fair: boolean;
	offload_kg: number;
	/** Sum of the dumps that made the load; NaN where the cart was not emptied between loads. */
	dumps_kg: number;
}

/** A load without its working columns, for reports. */
export function reported(l: Load, rel = Number.NaN, side_kg = l.offload_kg): ReferenceLoad {
	const { truckLoad, cart_kg, ticket_kg, used, reason, time_s, scale, other } = l;
	return { truckLoad, cart_kg, ticket_kg, used, reason, time_s, scale, rel, side_kg, ...(other && { other }) };
}

/** Every truckload that has cart weights or a ticket, in the order of the book. */
export function weighedLoads(book: LoadBook): Load[] {
	const sides = cartSides(book);
	const loads = new Map<string, Load>();
	const load = (name: string): Load => {
		let found = loads.get(name);
		if (!found) {
			found = {
				truckLoad: name,
				cart_kg: 0,
				ticket_kg: 0,
				used: false,
				reason: null,
				time_s: Number.NaN,
				scale: null,
				rel: Number.NaN,
				side_kg: 0,
				fair: false,
				offload_kg: 0,
				dumps_kg: 0,
			};
			loads.set(name, found);
		}
		return found;
	};
	book.offloads.forEach((o, i) => {
		if (o.truckLoad === null) return;
		const l = load(o.truckLoad);
		l.offload_kg += o.weight_kg;
		l.dumps_kg += sides[i]!;
		l.scale = o.scale;
		if (o.timeGrain !== 'day' && !(o.time_s < l.time_s)) l.time_s = o.time_s;
	});
	const straight = new Set<string>();
	for (const t of book.tickets) {
		if (t.truckLoad === null) continue;
		load(t.truckLoad).ticket_kg += t.net_kg;
		if (t.combine !== null) straight.add(t.truckLoad);
	}
	const main = mainScale(book, [...loads.values()]);
	for (const l of loads.values()) {
		l.cart_kg = l.offload_kg;
		if (l.ticket_kg === 0) l.reason = 'no ticket';
		else if (straight.has(l.truckLoad)) l.reason = 'the truck also took grain straight from a combine';
		else if (l.offload_kg === 0) l.reason = 'no offload from the cart is entered for it';
		l.used = l.reason === null;
		l.fair = l.used;
	}
	const list = [...loads.values()];
	for (const [scale, own] of groupBy(list, (l) => l.scale ?? main)) {
		setCopiesAside(own);
		setUnitsAside(own);
		setOutliersAside(own);
		if (scale === main) continue;
		// They check their own scale, if at all.
		for (const l of own) {
			l.fair = l.used;
			if (!l.used) continue;
			l.used = false;
			l.other = true;
			l.reason = `weighed by scale ${l.scale}, which has a ratio of its own`;
		}
	}
	return list;
}

/** Marks loads as not used whose offload is the ticket's own weight, entered in the cart log: no cart weighed them. */
function setCopiesAside(loads: readonly Load[]): void {
	const used = loads.filter((l) => l.used);
	const copied = used.filter((l) => l.ticket_kg === l.offload_kg);
	if (copied.length < Math.max(COPIED, COPIED_SHARE * used.length)) return;
	for (const l of copied) {
		l.used = false;
		l.reason = COPY;
	}
}

/** Marks loads whose ticket is in another unit than that of other loads, which agree with the cart, as not used. */
function setUnitsAside(loads: readonly Load[]): void {
	const used = loads.filter((l) => l.used);
	const off = (l: Load) => Math.abs(Math.log(l.ticket_kg / l.offload_kg));
	if (!used.some((l) => off(l) < ALIKE)) return;
	for (const l of used) {
		const unit = confusedUnits(l.ticket_kg / l.offload_kg, ALIKE);
		if (unit === null || off(l) < OTHER) continue;
		l.used = false;
		l.reason = `the ticket is ${(l.ticket_kg / l.offload_kg).toPrecision(3)} times the cart's weight; possible cause: ${unit}`;
	}
}

/** The scale that weighed the most truckloads, or else the most dumps. */
function mainScale(book: LoadBook, loads: readonly Load[]): string | null {
	const rows = loads.some((l) => l.scale !== null && l.ticket_kg > 0)
		? loads.filter((l) => l.ticket_kg > 0)
		: book.dumps;
	return mode(rows.map((row) => row.scale).filter((scale) => scale !== null)) ?? null;
}

/** Marks loads whose ratio is far from that of most others as not used, with a reason. */
function setOutliersAside(loads: Load[]): void {
	const used = loads.filter((l) => l.used);
	const offs = outOfLine(used.map((l) => l.ticket_kg / l.offload_kg));
	for (const [i, l] of used.entries()) {
		const off = offs[i]!;
		if (off === 0) continue;
		l.used = false;
		l.reason =
			off > 0
				? `the ticket is ${(100 * off).toFixed(1)}% over the cart's weight; possible cause: grain from elsewhere, an offload that was not entered, or a scale that changed`
				: `the ticket is ${(-100 * off).toFixed(1)}% under the cart's weight; possible cause: some of the cart's grain went elsewhere, or a scale that changed`;
	}
}
