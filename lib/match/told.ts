import { cartSteps, type LoadBook, type Records, type Reference } from '../model/index.ts';

/** Grain that must have left a tank although no dump row says so: the cart's level or a ticket tells. */
export interface Told {
	kind: 'unsaved' | 'straight';
	/** Combine index, −1 where nothing names it. */
	combine: number;
	/** Reference mass. */
	kg: number;
	variance: number;
	/** Between these times, cart clock (or the certified scale's). */
	from_s: number;
	to_s: number;
	/** Index into LoadBook.tickets, −1 where the cart tells. */
	ticket: number;
	/** Index into LoadBook.offloads, −1 where a ticket tells. */
	offload: number;
}

/** Unloadings smaller than this are scale error, kg. */
const LEAST_KG = 500;
/** A truck is weighed within so long of its loading, seconds; and not before. */
const TRUCK_AWAY_S = 4 * 3600;

/** What the cart's level and the tickets tell of unloadings that no dump row stands for. */
export function tellings(
	book: LoadBook,
	records: Records,
	reference: Reference,
): { told: Told[]; repeated: Set<number> } {
	const cart = cartLevel(book, reference);
	return { told: [...cart.told, ...straightLoads(book, records, reference)].slice(0, 30), repeated: cart.repeated };
}

/**
 * Follows the cart's level. More taken out than logged in: a dump was not saved. As much left over as a dump logged
 * twice: that one is suspect (`repeated`, indices of dumps). Anything else left over stays in the cart.
 */
function cartLevel(book: LoadBook, reference: Reference): { told: Told[]; repeated: Set<number> } {
	const told: Told[] = [];
	const repeated = new Set<number>();
	let level = 0;
	let since = Number.NEGATIVE_INFINITY;
	let dumps: number[] = [];
	let through = 0;
	for (const { dump, offload, key_s } of cartSteps(book)) {
		if (dump >= 0) {
			level += book.dumps[dump]?.weight_kg as number;
			through += book.dumps[dump]?.weight_kg as number;
			dumps.push(dump);
			continue;
		}
		level -= book.offloads[offload]?.weight_kg as number;
		const slack = 60 + 0.012 * through;
		if (level < -Math.max(LEAST_KG, slack)) {
			told.push({
				kind: 'unsaved',
				combine: -1,
				kg: -level * reference.ratio,
				variance: (slack / 2) ** 2,
				from_s: since,
				to_s: key_s,
				ticket: -1,
				offload,
			});
			level = 0;
		} else if (level > slack) {
			const twin = twinOf(book, dumps, level, slack);
			if (twin >= 0) {
				repeated.add(twin);
				level -= book.dumps[twin]?.weight_kg as number;
			}
		}
		if (Math.abs(level) <= slack) {
			level = 0;
			through = 0;
			dumps = [];
			since = key_s;
		}
	}
	return { told, repeated };
}

/** A dump that weighs what is left over and follows one of the same weight; −1 where there is none. */
function twinOf(book: LoadBook, dumps: readonly number[], kg: number, slack: number): number {
	for (let j = dumps.length - 1; j > 0; j--) {
		const a = book.dumps[dumps[j] as number]!;
		const b = book.dumps[dumps[j - 1] as number]!;
		const same = Math.abs(a.weight_kg - b.weight_kg) <= 0.01 * a.weight_kg + 15;
		if (same && Math.abs(a.weight_kg - kg) <= slack) return dumps[j] as number;
	}
	return -1;
}

/** Tickets of grain that did not pass through the cart: by the combine they name, or since no offload joins them. */
function straightLoads(book: LoadBook, records: Records, reference: Reference): Told[] {
	if (book.dumps.length === 0) return [];
	const offloaded = new Map<string, number>();
	for (const o of book.offloads) {
		if (o.truckLoad !== null) offloaded.set(o.truckLoad, (offloaded.get(o.truckLoad) ?? 0) + o.weight_kg);
	}
	const told: Told[] = [];
	book.tickets.forEach((t, i) => {
		const combine = t.combine === null ? -1 : records.combines.indexOf(t.combine);
		const byCart = t.truckLoad === null ? 0 : (offloaded.get(t.truckLoad) ?? 0);
		// A ticket without a load number may be of any truck; only one that names a combine tells of straight grain.
		if (t.combine === null && (t.truckLoad === null || byCart > 0 || offloaded.size === 0)) return;
		if (t.combine !== null && combine < 0) return;
		const kg = t.net_kg - byCart * reference.ratio;
		if (kg < LEAST_KG) return;
		const timed = t.timeGrain === 'second' || t.timeGrain === 'minute';
		const day = t.timeGrain === 'day';
		told.push({
			kind: 'straight',
			combine,
			kg,
			variance: (0.002 * t.net_kg) ** 2 + (byCart > 0 ? (0.006 * byCart) ** 2 : 0) + 100,
			from_s: timed ? t.time_s - TRUCK_AWAY_S : day ? t.time_s : Number.NEGATIVE_INFINITY,
			to_s: timed ? t.time_s : day ? t.time_s + 86_400 : Number.POSITIVE_INFINITY,
			ticket: i,
			offload: -1,
		});
	});
	return told;
}
