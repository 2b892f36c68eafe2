import { readingWet_kg } from '../answer/fills.ts';
import { runningFactors } from '../answer/running-answer.ts';
import { scaleRatios } from '../answer/scale-ratio.ts';
import type { Book } from '../book.ts';
import { kept } from '../kept.ts';
import { ledger, type Weighing } from '../ledger/ledger.ts';

/** Dumps, offloads and tickets compared, and what is still in transit. */
export interface Reconciliation {
	carts: { cart: string; in_kg: number; out_kg: number; level_kg: number; unexplained_kg: number }[];
	/** Truckloads: cart × ratio compared with the ticket. `odd`: off by more than 1% and by more than the others scatter. */
	loads: {
		load: string;
		cart_kg: number;
		expected_kg: number;
		ticket_kg: number | null;
		off_pct: number | null;
		odd: boolean;
	}[];
	/** Tickets that name no truckload of the book, and no combine either. */
	ticketsAlone: string[];
	/** Offloads that name no truckload. */
	offloadsAlone: string[];
	/** Rows with something odd. */
	odd: Weighing[];
	/** Grain in tanks, from monitor totals read since the last dump; null where no total was read. Reference mass. */
	tanks: { combine: string; kg: number | null }[];
}

/** Every kilogram of the book followed from dumps through carts and trucks to tickets, with all mismatches. */
export function reconcile(book: Book): Reconciliation {
	const l = ledger(book);
	const ratios = scaleRatios(book);
	const carts = [...l.carts.values()].map((c) => {
		const own = l.weighings.filter((w) => w.cart === c.cart);
		const sum = (kind: Weighing['kind']) => own.reduce((s, w) => s + (w.kind === kind ? w.net_kg : 0), 0);
		const [in_kg, out_kg] = [sum('dump'), sum('offload')];
		return { cart: c.cart, in_kg, out_kg, level_kg: c.level_kg, unexplained_kg: in_kg - out_kg - c.level_kg };
	});
	const loads = [...l.loads.values()].map((x) => {
		const ratio = x.carts.length === 1 ? (ratios.get(x.carts[0]!)?.ratio ?? 1) : 1;
		const expected_kg = x.cart_kg * ratio;
		const off_pct =
			x.ticket_kg === null || x.straight || expected_kg <= 0 ? null : (100 * (x.ticket_kg - expected_kg)) / expected_kg;
		return { load: x.id, cart_kg: x.cart_kg, expected_kg, ticket_kg: x.ticket_kg, off_pct, odd: false };
	});
	const all = loads.filter((x) => x.off_pct !== null);
	const squares = all.reduce((s, x) => s + x.off_pct! ** 2, 0);
	for (const x of all) {
		const others = all.length - 1;
		const scatter = others > 1 ? Math.sqrt(Math.max(0, squares - x.off_pct! ** 2) / others) : 0;
		x.odd = Math.abs(x.off_pct!) > Math.max(1, 3 * scatter);
	}
	return {
		carts,
		loads,
		ticketsAlone: kept(book, 'ticket')
			.filter((t) => t.v.combine === null && (t.v.load === null || !l.loads.has(t.v.load)))
			.map((t) => t.id),
		offloadsAlone: l.weighings
			.filter((w) => w.kind === 'offload' && (w.load === null || !l.loads.has(w.load)))
			.map((w) => w.id),
		odd: l.weighings.filter((w) => w.odd.length > 0),
		tanks: tanks(book),
	};
}

function tanks(book: Book): Reconciliation['tanks'] {
	const dumps = kept(book, 'dump');
	return kept(book, 'combine').map((c) => {
		const totals = kept(book, 'reading')
			.filter((r) => r.v.combine === c.id && r.v.how === 'total')
			.sort((a, b) => a.v.time_s - b.v.time_s);
		const last = totals.at(-1);
		const lastDump = dumps.filter((d) => d.v.combines.includes(c.id)).reduce((t, d) => Math.max(t, d.v.time_s), 0);
		const base = totals.findLast((r) => r.v.dump !== null);
		if (!last || last.v.dump !== null || !base || last.v.time_s < lastDump) return { combine: c.id, kg: null };
		const of = dumps.find((d) => d.id === base.v.dump);
		// The difference is what came in since only where the total was read at the very last dump.
		if (!of || of.v.time_s < lastDump) return { combine: c.id, kg: null };
		const [now, then] = [readingWet_kg(book, last.v, null), readingWet_kg(book, base.v, of.v)];
		if (now === null || then === null) return { combine: c.id, kg: null };
		const factor = runningFactors(book, { field: of.v.field }).find((f) => f.combine === c.id)?.value ?? 1;
		return { combine: c.id, kg: Math.max(0, now - then) * factor };
	});
}
