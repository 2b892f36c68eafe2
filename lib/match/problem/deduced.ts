import {
	type CartStep,
	type LoadBook,
	nextOffload,
	type Records,
	type Reference,
	stepsByCart,
} from '../../model/index.ts';

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
	/** Earliest `from_s` of this and all later ones. */
	earliest_s: number;
	/** Index into LoadBook.tickets; −1 where deduced from the cart. */
	ticket: number;
	/** Index into LoadBook.offloads; −1 where deduced from a ticket. */
	offload: number;
	/** Numbers of the offloads or tickets it is deduced from; each is used by at most one deduction of a hypothesis. */
	facts: number[];
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
export function deductions(book: LoadBook, records: Records, reference: Reference, most_kg: number): Deductions {
	const carts = stepsByCart(book).flatMap((steps) => cartLevel(book, steps, reference));
	const deduced = [...carts, ...straightLoads(book, records, reference, most_kg)].sort((a, b) =>
		a.to_s === b.to_s ? 0 : a.to_s - b.to_s,
	);
	const numbers = new Map<number, number>();
	for (const d of deduced) {
		for (const f of d.facts) if (!numbers.has(f)) numbers.set(f, numbers.size);
		d.facts = d.facts.map((f) => numbers.get(f) as number);
	}
	let earliest_s = Number.POSITIVE_INFINITY;
	for (const d of deduced.toReversed()) d.earliest_s = earliest_s = Math.min(earliest_s, d.from_s);
	return { deduced, facts: numbers.size };
}

/** Index of the first deduction, in order of `to_s`, that may be after this time. */
export function firstAfter(deduced: readonly Deduced[], after_s: number): number {
	let low = 0;
	let high = deduced.length;
	while (low < high) {
		const mid = (low + high) >> 1;
		if (deduced[mid]!.to_s < after_s) low = mid + 1;
		else high = mid;
	}
	return low;
}

export interface Deductions {
	/** In order of their latest time. */
	deduced: Deduced[];
	/** Number of facts used. */
	facts: number;
}

/**
 * Follows the cart's level. Where more was taken out than entered, a dump was not saved or its weight is too low. Where the
 * amount left equals a dump that was entered twice, that one is subtracted; where the next offload fits its own dumps without the
 * amount left, a dump's weight is too high. Any other amount stays in the cart.
 */
function cartLevel(book: LoadBook, steps: readonly CartStep[], reference: Reference): Deduced[] {
	const deduced: Deduced[] = [];
	let level = 0;
	let since = Number.NEGATIVE_INFINITY;
	let dumps: number[] = [];
	let through = 0;
	steps.forEach(({ dump, offload, key_s }, at) => {
		if (dump >= 0) {
			level += book.dumps[dump]?.weight_kg as number;
			through += book.dumps[dump]?.weight_kg as number;
			dumps.push(dump);
			return;
		}
		level -= book.offloads[offload]?.weight_kg as number;
		const slack = 60 + 0.012 * through;
		const odd = (kind: 'unsaved' | 'excess') => {
			deduced.push({
				kind,
				combine: -1,
				kg: -level * reference.ratio,
				variance: (slack / 2) ** 2,
				from_s: since,
				to_s: key_s,
				earliest_s: Number.NaN,
				ticket: -1,
				offload,
				facts: [offload],
			});
			level = 0;
		};
		if (level < -Math.max(LEAST_KG, slack)) odd('unsaved');
		else if (level > slack) {
			const twin = twinsAmong(book, dumps).find((d) => Math.abs((book.dumps[d]?.weight_kg as number) - level) <= slack);
			if (twin !== undefined) level -= book.dumps[twin]?.weight_kg as number;
			else if (level > LEAST_KG && nextFitsAlone(book, steps, at, level)) odd('excess');
		}
		if (Math.abs(level) <= slack) {
			level = 0;
			through = 0;
			dumps = [];
			since = key_s;
		}
	});
	return [...deduced, ...oneForTwo(deduced.filter((d) => d.kind === 'unsaved'))];
}

/** Whether the next offload is of the dumps after step `at` alone, without what would be left in the cart. */
function nextFitsAlone(book: LoadBook, steps: readonly CartStep[], at: number, left_kg: number): boolean {
	const next = nextOffload(book, steps, at);
	return next !== null && Math.abs(next.dumped_kg - next.offload_kg) <= 60 + 0.012 * (next.dumped_kg + left_kg);
}

/** Two consecutive cart loads that both lack grain may be one unsaved dump, part of which went into the next truck. */
function oneForTwo(deduced: readonly Deduced[]): Deduced[] {
	const merged: Deduced[] = [];
	for (const first of deduced) {
		for (const second of deduced) {
			if (second.from_s !== first.to_s || second.offload === first.offload) continue;
			merged.push({
				...first,
				kg: first.kg + second.kg,
				variance: first.variance + second.variance,
				facts: [...first.facts, ...second.facts],
			});
		}
	}
	return merged;
}

/** Dumps shortly after another of the same weight. */
function twinsAmong(book: LoadBook, dumps: readonly number[]): number[] {
	return dumps.filter((d, j) => {
		const a = book.dumps[d]!;
		return dumps.slice(Math.max(0, j - 2), j).some((e) => {
			const b = book.dumps[e]!;
			const apart = a.time_s - b.time_s;
			const soon = !Number.isFinite(apart) || apart < 900;
			return soon && Math.abs(a.weight_kg - b.weight_kg) <= 0.01 * a.weight_kg + 20;
		});
	});
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
			from_s: timed ? t.time_s - TRUCK_AWAY_S : day ? t.time_s : Number.NEGATIVE_INFINITY,
			to_s: timed ? t.time_s : day ? t.time_s + 86_400 : Number.POSITIVE_INFINITY,
			earliest_s: Number.NaN,
			ticket: i,
			offload: -1,
			facts: [-1 - i],
		});
	});
	return deduced;
}
