/** A book written line by line, as a tablet would write it: ids and times counted up. */
import {
	add,
	append,
	type Book,
	type Entry,
	edit,
	emptyBook,
	KINDS,
	type Kind,
	restore,
	type Stamp,
	strike,
	type Thing,
	thingsOf,
	type Value,
} from '../../lib/book/index.ts';

/** All things of a book, kind by kind. */
export const allThings = (book: Book): Thing[] => KINDS.flatMap((kind) => [...thingsOf(book, kind).values()]);

export class Writer {
	book: Book;
	private count = 0;
	constructor(
		readonly by = 'cart',
		public now_s = Date.UTC(2026, 9, 7, 14) / 1000,
		book: Book = emptyBook,
	) {
		this.book = book;
	}

	stamp(): Stamp {
		this.count++;
		this.now_s += 60;
		return { id: `${this.by}.${this.count}`, by: this.by, at_s: this.now_s };
	}

	put(entry: Entry): Entry {
		this.book = append(this.book, entry);
		return entry;
	}

	/** Adds a thing and gives its id; `time_s` is stamped where the kind has one and it is not given. */
	add(kind: Kind, set: Record<string, Value>, id?: string): string {
		const stamp = this.stamp();
		const thing = id ?? `${kind}-${stamp.id}`;
		const timed = ['dump', 'offload', 'zero', 'ticket', 'reading', 'event'].includes(kind);
		this.put(add(stamp, kind, thing, timed ? { time_s: stamp.at_s, ...set } : set));
		return thing;
	}

	edit(thing: string, set: Record<string, Value>, why = 'typing error'): Entry {
		return this.put(edit(this.book, this.stamp(), thing, set, why));
	}

	strike(thing: string, why = 'never happened'): Entry {
		return this.put(strike(this.book, this.stamp(), thing, why));
	}

	restore(thing: string, why = 'it did'): Entry {
		return this.put(restore(this.book, this.stamp(), thing, why));
	}
}

/** A field, a cart, combines A and B, a truck: ids as their names. */
export function ground(w: Writer, set: { limit_pct?: number | null } = {}): Writer {
	w.add('field', { name: 'North Forty', season: 2026, crop: 'corn', timeZone: 'America/Chicago' }, 'north');
	w.add('cart', { name: 'cart', size_kg: 20000, limit_pct: set.limit_pct ?? null }, 'cart');
	w.add('combine', { name: 'A', tank_kg: 9500 }, 'A');
	w.add('combine', { name: 'B', tank_kg: 9500 }, 'B');
	w.add('truck', { name: 'Red', room_kg: 26000 }, 'red');
	return w;
}

let count = 0;
/** One dump told by its net, with what the monitor showed for it. */
export function dump(
	w: Writer,
	combine: string,
	net_kg: number,
	monitor_kg: number | null,
	more: Record<string, Value> = {},
): string {
	const id = w.add('dump', {
		number: `D${++count}`,
		cart: 'cart',
		field: 'north',
		combines: [combine],
		net_kg,
		...more,
	});
	if (monitor_kg !== null)
		w.add('reading', { combine, dump: id, field: 'north', how: 'load', value: monitor_kg, unit: 'kg', basis: 'wet' });
	return id;
}

/** A truck load taken from the cart with its ticket, if any. */
export function truckLoad(
	w: Writer,
	number: string,
	net_kg: number,
	ticket_kg: number | null,
	more: Record<string, Value> = {},
): string {
	const load = w.add('load', { number, truck: 'red', destination: null, opened_s: w.now_s });
	w.add('offload', { number: `O${number}`, cart: 'cart', load, net_kg });
	if (ticket_kg !== null) w.add('ticket', { number: `T${number}`, load, net_kg: ticket_kg, ...more });
	return load;
}
