import {
	type CartStep,
	type LoadBook,
	nextOffload,
	type Records,
	type Reference,
	stepsByCart,
} from '../../model/index.ts';
import { COSTS } from './costs.ts';
import type { Observation } from './observations.ts';

/**
 * An unloading without a dump row, deduced from the cart's level or a ticket; or, of kind `excess` and below zero, what the dumps
 * of a cart load have more than the cart gave to the truck.
 */
export interface Deduced {
	kind: 'unsaved' | 'straight' | 'excess';
	/** Combine index; −1 = unknown. */
	combine: number;
	/** Reference mass. */
	kg: number;
	variance: number;
	/** It was between these times, cart clock (for a ticket, the certified scale's). */
	from_s: number;
	to_s: number;
	/** Index into LoadBook.tickets; −1 where deduced from the cart. */
	ticket: number;
}

/** Unloadings smaller than this are scale error, kg. */
const LEAST_KG = 500;
/** A truck is weighed at most this long after its loading, seconds. */
const TRUCK_AWAY_S = 4 * 3600;

/**
 * Deduces unloadings without a dump row from the cart's level and the tickets.
 *
 * @param most_kg - more than any tank gives at once
 */
export function deductions(book: LoadBook, records: Records, reference: Reference, most_kg: number): Deduced[] {
	const carts = stepsByCart(book).flatMap((steps) => cartLevel(book, steps, reference));
	return [...carts, ...straightLoads(book, records, reference, most_kg)];
}

/**
 * What a dump should have weighed by each thing that its cart load has more or less than its dumps. Where the dumps have more,
 * one of them is as likely wrong as the offload, which else must be; where they have less, one may not have been saved.
 */
export function rightWeights(deduced: readonly Deduced[], s: Observation): Observation['right'] {
	if (s.pinned !== null) return [];
	return deduced
		.filter((d) => d.kind !== 'straight' && s.time_s >= d.from_s - 60 && s.time_s <= d.to_s + 60)
		.map((d) => ({ kg: s.kg + d.kg, u2: s.u2 + d.variance, cost: d.kind === 'excess' ? 0 : COSTS.wrong }));
}

/**
 * Follows the cart's level. Where more was taken out than entered, a dump was not saved or its weight is too low. Where the next
 * offload fits its own dumps without what would be left, a dump's weight is too high in every load whose dumps left
 * something in the cart for good. Any other amount stays in the cart.
 */
function cartLevel(book: LoadBook, steps: readonly CartStep[], reference: Reference): Deduced[] {
	const deduced: Deduced[] = [];
	let level = 0;
	let since = -Infinity;
	let through = 0;
	/** Offloads since the cart was empty, with what was left after each. */
	let left: { from_s: number; to_s: number; kg: number }[] = [];
	steps.forEach(({ dump, offload, key_s }, at) => {
		if (dump >= 0) {
			level += book.dumps[dump]!.weight_kg;
			through += book.dumps[dump]!.weight_kg;
			return;
		}
		level -= book.offloads[offload]!.weight_kg;
		left.push({ from_s: left.at(-1)?.to_s ?? since, to_s: key_s, kg: level });
		const slack = 60 + 0.012 * through;
		const least = Math.max(LEAST_KG, slack);
		const add = (kind: 'unsaved' | 'excess', kg: number, from_s: number, to_s: number): void => {
			if (!(Math.abs(kg) > least)) return;
			const variance = (slack / 2) ** 2;
			deduced.push({ kind, combine: -1, kg: kg * reference.ratio, variance, from_s, to_s, ticket: -1 });
		};
		if (level < -least) add('unsaved', -level, since, key_s);
		const excess = level > least && nextFitsAlone(book, steps, at, level);
		for (const [k, kg] of (excess ? stayed(left) : []).entries()) add('excess', -kg, left[k]!.from_s, left[k]!.to_s);
		if (level < -least || excess) level = 0;
		if (Math.abs(level) > slack) return;
		level = 0;
		through = 0;
		left = [];
		since = key_s;
	});
	return deduced;
}

/** What each load added of that which was left after the last one: no later truck took it. */
function stayed(left: readonly { kg: number }[]): number[] {
	const sums = left.map((_, k) => Math.max(0, Math.min(...left.slice(k).map((l) => l.kg))));
	return sums.map((kg, k) => kg - (sums[k - 1] ?? 0));
}

/** Whether the next offload is of the dumps after step `at` alone, without what would be left in the cart. */
function nextFitsAlone(book: LoadBook, steps: readonly CartStep[], at: number, left_kg: number): boolean {
	const next = nextOffload(book, steps, at);
	return next !== null && Math.abs(next.dumped_kg - next.offload_kg) <= 60 + 0.012 * (next.dumped_kg + left_kg);
}

/** Tickets of grain that did not pass through the cart, since they name a combine or no offload has their load number. */
function straightLoads(book: LoadBook, records: Records, reference: Reference, most_kg: number): Deduced[] {
	if (book.dumps.length === 0) return [];
	const offloaded = new Map<string, number>();
	for (const o of book.offloads) {
		if (o.truckLoad !== null) offloaded.set(o.truckLoad, (offloaded.get(o.truckLoad) ?? 0) + o.weight_kg);
	}
	const deduced: Deduced[] = [];
	book.tickets.forEach((t, i) => {
		const combine = t.combine === null ? -1 : records.combines.indexOf(t.combine);
		const byCart = t.truckLoad === null ? 0 : (offloaded.get(t.truckLoad) ?? 0);
		// A ticket without a load number may be of any truck; it is of straight grain only where it names a combine.
		if (t.combine === null && (t.truckLoad === null || byCart > 0 || offloaded.size === 0)) return;
		if (t.combine !== null && combine < 0) return;
		const kg = t.net_kg - byCart * reference.ratio;
		// More than a tank gives at once and no name with it: more likely offloads that were not entered.
		if (kg < LEAST_KG || (t.combine === null && kg > most_kg)) return;
		const timed = t.timeGrain === 'second' || t.timeGrain === 'minute';
		const day = t.timeGrain === 'day';
		deduced.push({
			kind: 'straight',
			combine,
			kg,
			variance: (0.002 * t.net_kg) ** 2 + (byCart > 0 ? (0.006 * byCart) ** 2 : 0) + 100,
			from_s: timed ? t.time_s - TRUCK_AWAY_S : day ? t.time_s : -Infinity,
			to_s: timed ? t.time_s : day ? t.time_s + 86_400 : Infinity,
			ticket: i,
		});
	});
	return deduced;
}
