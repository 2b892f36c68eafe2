/**
 * An operator's day as it comes into the load book, with every error that an interval allows for: monitors that err slowly and
 * from load to load, a cart scale within its limits, readings that round, tickets. What goes wrong on such a day is put in
 * by `mishaps.ts`.
 */
import type { Book, Value } from '../../lib/book/index.ts';
import { CART, MONITOR } from '../../lib/model/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { cropNamed, POUND_KG } from '../../lib/units/index.ts';
import { Writer } from './build.ts';

/** What is entered of one dump. */
export interface DumpAct {
	do: 'dump';
	id: string;
	combine: number;
	time_s: number;
	/** The scale's reading after it, and its change. */
	reading_kg: number;
	net_kg: number;
	/** What the monitor shows for it, and in all since the morning; as entered, in the monitor's unit, unless null. */
	monitor_kg: number | null;
	counter_kg: number;
	entered: number | null;
	/** Grain that came in, as it was and by the monitor. */
	truth_kg: number;
	shown_kg: number;
	/** It is not entered; something about it is wrong. */
	lost: boolean;
	bad: boolean;
}
export interface OffloadAct {
	do: 'offload';
	load: number;
	time_s: number;
	reading_kg: number;
	net_kg: number;
	lost: boolean;
}
export interface TicketAct {
	do: 'ticket';
	load: number;
	time_s: number;
	net_kg: number;
	moisture_pct: number;
}

/** How a day goes; what is not given is drawn. */
export interface DayOptions {
	dumps?: number;
	combines?: number;
	/** Limits of the cart's scale, percent; null = never checked. */
	limit_pct?: number | null;
	tickets?: 'none' | 'some' | 'all';
	/** The operator enters the scale's reading or each dump's net. */
	keys?: 'reading' | 'net';
	/** The monitor counts on over the day. */
	total?: boolean;
	/** Change of a combine's factor, and of the cart's scale, when so much of the day has gone. */
	factorAt?: (combine: number, share: number) => number;
	scaleAt?: (share: number, load: number) => number;
}

export interface OperatorDay {
	acts: (DumpAct | OffloadAct | TicketAct)[];
	/** Each combine's factor at the end of the day. */
	factors: number[];
	limit_pct: number | null;
	keys: 'reading' | 'net';
	total: boolean;
	unit: 'bu' | 'lb';
	/** When a combine's recalibration was recorded. */
	recalibrated_s: (number | null)[];
	random: ReturnType<typeof seeded>;
}

const CORN = cropNamed('corn')!;
export const nameOf = (combine: number): string => 'ABC'[combine]!;
export const unitOf_kg = (unit: 'bu' | 'lb'): number => (unit === 'bu' ? CORN.bushel_kg : POUND_KG);
export const dumpsOf = (day: OperatorDay): DumpAct[] => day.acts.filter((a) => a.do === 'dump');
export const ticketsOf = (day: OperatorDay): TicketAct[] => day.acts.filter((a) => a.do === 'ticket');

const CART_KG = 20_000;
/** Grain coming into a tank, kg/s. */
const RATE = 9;

export function operatorDay(seed: number, options: DayOptions = {}): OperatorDay {
	const random = seeded(1000 + 77 * seed);
	const { normal, uniform } = { normal: () => random.normal(), uniform: () => random.uniform() };
	const combines = options.combines ?? 1 + (seed % 3);
	const dumps = options.dumps ?? Math.round(4 + 26 * uniform());
	const drawn = (['none', 'some', 'all'] as const)[Math.floor(3 * uniform())]!;
	const tickets = options.tickets ?? drawn;
	const keys = options.keys ?? (uniform() < 0.5 ? 'reading' : 'net');
	const total = options.total ?? uniform() < 0.25;
	const unit = uniform() < 0.5 ? 'bu' : 'lb';
	const limit_pct = options.limit_pct === undefined ? 1 : options.limit_pct;
	const scale = 1 + ((limit_pct ?? 100 * CART.unchecked_rel) / 100) * (2 * uniform() - 1);
	const certified = 1 + CART.certified_rel * (2 * uniform() - 1);
	const begin_s = Date.UTC(2026, 9, 7, 14) / 1000;
	const of = Array.from({ length: combines }, (_, c) => ({
		factor: Math.exp(0.05 * normal()),
		slow: MONITOR.slow * normal(),
		left_kg: 0,
		last_s: begin_s,
		next_s: begin_s + 600 + 300 * c + 200 * uniform(),
		counter_kg: 0,
	}));
	const acts: OperatorDay['acts'] = [];
	const later: TicketAct[] = [];
	let [reading_kg, gross_kg, grain_kg, load, last_s] = [0, 0, 0, 1, begin_s];
	const read = (kg: number) =>
		Math.max(0, 10 * Math.round((kg + normal() * Math.hypot(CART.reading_a_kg, CART.reading_b_rel * kg)) / 10));
	const offload = (time_s: number) => {
		const before = reading_kg;
		reading_kg = read(0);
		acts.push({ do: 'offload', load, time_s, reading_kg, net_kg: before - reading_kg, lost: false });
		const net_kg = 20 * Math.round((grain_kg * certified * (1 + 0.0008 * normal())) / 20);
		if (tickets === 'all' || (tickets === 'some' && load % 3 === 1))
			later.push({ do: 'ticket', load, time_s: time_s + 1800, net_kg, moisture_pct: 18.5 + normal() });
		load++;
		gross_kg = 0;
		grain_kg = 0;
	};
	for (let i = 0; i < dumps; i++) {
		const combine = of.reduce((best, x, c) => (x.next_s < of[best]!.next_s ? c : best), 0);
		const x = of[combine]!;
		const time_s = x.next_s;
		const [seconds, share] = [time_s - x.last_s, i / Math.max(1, dumps - 1)];
		const rho = Math.exp(-seconds / MONITOR.slow_s);
		x.slow = rho * x.slow + Math.sqrt(1 - rho * rho) * MONITOR.slow * normal();
		const truth_kg = RATE * seconds;
		const factor = x.factor * (options.factorAt?.(combine, share) ?? 1);
		const shown_kg = (truth_kg / factor) * (1 + x.slow + MONITOR.fill * normal());
		const left_kg = Math.max(0, 40 * normal());
		const dumped_kg = truth_kg + x.left_kg - left_kg;
		Object.assign(x, { left_kg, last_s: time_s, next_s: time_s + 500 + 400 * uniform() });
		x.counter_kg += shown_kg;
		if (grain_kg + dumped_kg > CART_KG) offload((last_s + time_s) / 2);
		last_s = time_s;
		grain_kg += dumped_kg;
		gross_kg += dumped_kg * scale * (options.scaleAt?.(share, load) ?? 1) * (1 + CART.stand_rel * normal());
		const before = reading_kg;
		reading_kg = read(gross_kg);
		acts.push({
			do: 'dump',
			id: `D${i + 1}`,
			combine,
			time_s,
			reading_kg,
			net_kg: reading_kg - before,
			monitor_kg: shown_kg,
			counter_kg: x.counter_kg,
			entered: null,
			truth_kg,
			shown_kg,
			lost: false,
			bad: false,
		});
	}
	offload(last_s + 200);
	acts.push(...later);
	const factors = of.map((x, c) => x.factor * (options.factorAt?.(c, 1) ?? 1));
	return { acts, factors, limit_pct, keys, total, unit, recalibrated_s: of.map(() => null), random };
}

/** A combine's true factor over the dumps that were entered, since its recalibration; of those given only. */
export function trueFactor(day: OperatorDay, combine: number, of = dumpsOf(day)): number {
	const since = day.recalibrated_s[combine] ?? -Infinity;
	const own = of.filter((a) => a.combine === combine && !a.lost && a.time_s > since);
	return own.reduce((s, a) => s + a.truth_kg, 0) / own.reduce((s, a) => s + a.shown_kg, 0);
}

/** The day as a book: field `f` (and `e`, where dumps are of it), cart `c`, combines and dumps by their names. */
export function keyed(
	day: OperatorDay,
	entered: (dump: DumpAct) => { combine: number; time_s: number } = (a) => a,
	fieldOf: (dump: DumpAct) => 'e' | 'f' = () => 'f',
): Book {
	const w = new Writer('cart');
	const { unit, keys } = day;
	const [begun] = dumpsOf(day);
	const first = begun ? fieldOf(begun) : 'f';
	for (const id of new Set([first, 'f'])) w.add('field', { name: id, season: 2026, crop: 'corn', timeZone: 'UTC' }, id);
	w.add('cart', { name: 'Cart', limit_pct: day.limit_pct }, 'c');
	day.factors.forEach((_, c) => {
		w.add('combine', { name: nameOf(c), tank_kg: 10_500 }, nameOf(c));
		const start: Record<string, Value> = { combine: nameOf(c), field: first, how: 'total', value: 0, unit };
		if (day.total) w.add('reading', { ...start, time_s: day.acts[0]!.time_s - 3600 });
		const at_s = day.recalibrated_s[c] ?? null;
		if (at_s !== null) w.add('event', { time_s: at_s, combine: nameOf(c), field: first, kind: 'calibrated' });
	});
	const loads = new Set<number>();
	const opened = (load: number): string => {
		if (!loads.has(load)) w.add('load', { number: String(load), opened_s: 0 }, `L${load}`);
		loads.add(load);
		return `L${load}`;
	};
	for (const a of day.acts) {
		if (a.do === 'ticket') {
			const { time_s, net_kg, moisture_pct } = a;
			w.add('ticket', { number: `T${a.load}`, time_s, load: opened(a.load), net_kg, moisture_pct });
			continue;
		}
		if (a.lost) continue;
		const weight: Record<string, Value> = keys === 'reading' ? { reading_kg: a.reading_kg } : { net_kg: a.net_kg };
		if (a.do === 'offload') {
			w.add('offload', { number: `O${a.load}`, cart: 'c', load: opened(a.load), time_s: a.time_s, ...weight });
			continue;
		}
		const { combine: c, time_s } = entered(a);
		const combine = nameOf(c);
		w.add('dump', { number: a.id, cart: 'c', field: fieldOf(a), combines: [combine], time_s, ...weight }, a.id);
		if (a.monitor_kg === null) continue;
		const how = day.total ? 'total' : 'load';
		const shown = (day.total ? a.counter_kg : a.monitor_kg) / unitOf_kg(unit);
		const value = a.entered ?? (unit === 'bu' ? Math.round(10 * shown) / 10 : 10 * Math.round(shown / 10));
		w.add('reading', { time_s, combine, dump: a.id, field: fieldOf(a), how, value, unit });
	}
	return w.book;
}
