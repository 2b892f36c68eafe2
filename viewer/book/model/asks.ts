/** Questions about unlikely entries: asked before anything is written, answered by one tap. Nothing is refused. */
import { signal } from '@preact/signals';
import { fillWith, find, keptAll, type Thing } from '../../../lib/book/index.ts';
import { TANK } from '../../../lib/model/index.ts';
import { POUND_KG } from '../../../lib/units/index.ts';
import { book, cart, grain, level_kg, onTruck_kg, ratio, truck } from './state.ts';
import { combineNames, mass, nameOfThing, pct, t, truckLabel } from './words.ts';

export interface Ask {
	text: string;
	/** Label of the answer that writes the entry. */
	yes: string;
	act: () => void | Promise<void>;
}
export const ask = signal<Ask | null>(null);

/** Runs the action at once, or after the question is answered. */
export function unless(text: string | null, yes: string, act: () => void | Promise<void>): void | Promise<void> {
	if (text === null) return act();
	ask.value = { text, yes, act };
}

/** No dump, truckload or ticket weighs less (common experience: nobody unloads a combine for two bushels). */
const LEAST_KG = 100 * POUND_KG;
/** The largest road trains hold about this much. */
const MOST_LOAD_KG = 160_000 * POUND_KG;

/** Checks a dump about to be written. `net_kg` may be negative: the reading is lower than before. */
export function askDump(combines: readonly string[], net_kg: number): string | null {
	const name = combineNames(combines);
	if (net_kg < 0) return t.ask.dumpLower(mass(-net_kg), name);
	if (Math.round(net_kg) === 0) return t.ask.dumpNothing(name);
	if (net_kg < LEAST_KG) return t.ask.dumpSmall(mass(net_kg), name);
	const size = cart.value?.v.size_kg ?? null;
	if (size !== null && level_kg.value + net_kg > size * 1.02)
		return t.ask.overCart(mass(level_kg.value + net_kg), mass(size));
	const tank = combines.reduce((s, c) => s + (find(book.value, 'combine', c)?.v.tank_kg ?? Number.NaN), 0);
	if (net_kg > tank * 1.5) return t.ask.overTank(mass(net_kg), name, mass(tank));
	return net_kg > mostFrom_kg(combines) ? t.ask.dumpLarge(mass(net_kg), name) : null;
}

/** More than any tank gives while it fills, or than twice the heaviest dump before, is mostly a digit too many. */
function mostFrom_kg(combines: readonly string[]): number {
	const { byId } = grain.value;
	const before = keptAll(book.value, 'dump')
		.filter((d) => String(d.v.combines) === String(combines))
		.map((d) => byId.get(d.id)!.net_kg);
	return Math.min(1.5 * combines.length * TANK.size_kg[1], 2 * Math.max(0, ...before) || Infinity);
}

/** Checks an offload about to be written. */
export function askOffload(net_kg: number): string | null {
	if (net_kg < 0) return t.ask.offloadHigher(mass(-net_kg));
	if (Math.round(net_kg) === 0) return t.ask.offloadNothing;
	if (net_kg < LEAST_KG) return t.ask.offloadSmall(mass(net_kg));
	// An empty cart is one whose dumps nobody enters.
	if (level_kg.value > 0 && net_kg > 1.1 * level_kg.value) return t.ask.offloadMore(mass(net_kg), mass(level_kg.value));
	const room = overLimit_kg(net_kg);
	return room > 0 ? t.ask.overLimit(truck.value!.v.name, mass(room)) : null;
}

/** How far this weight would exceed the truck's limit; 0 if it would not, or if no limit is known. */
export function overLimit_kg(more_kg: number): number {
	const limit = truck.value?.v.room_kg ?? null;
	return limit === null ? 0 : Math.max(0, onTruck_kg.value + Math.max(0, more_kg) - limit);
}

/** An error larger than this is usually a typing error or a wrong unit, not the monitor's. */
const FAR_PCT = 30;

/** Checks a monitor reading about to be written. */
export function askReading(
	r: {
		combine: string;
		how: 'load' | 'total';
		value: number;
		unit: 'lb' | 'bu' | 'kg' | 't';
		basis: 'wet' | 'dry';
		at_pct: number | null;
		moisture_pct: number | null;
	},
	dump: Thing<'dump'> | null,
): string | null {
	const moisture = askMoisture(r.moisture_pct);
	if (moisture !== null) return moisture;
	if (dump === null || dump.v.combines.length !== 1) return null;
	const fill = fillWith(book.value, dump.id, { ...r, time_s: dump.v.time_s, field: dump.v.field });
	if (fill === null) return null;
	const { kg } = fill.monitor[0]!;
	const error = 100 * (kg / fill.cart_kg - 1);
	if (Math.abs(error) <= FAR_PCT) return null;
	const [name, weight, far] = [nameOfThing(r.combine), mass(fill.cart_kg), pct(error, 0)];
	return r.how === 'load'
		? t.ask.farOff(name, t.amount(r.value, r.unit), weight, far)
		: t.ask.farOffTotal(name, mass(kg), weight, far);
}

/** Grain outside this range is hardly ever harvested (common experience). */
function askMoisture(moisture_pct: number | null): string | null {
	return moisture_pct !== null && (moisture_pct < 5 || moisture_pct > 45) ? t.ask.moisture(moisture_pct) : null;
}

/** Checks a ticket about to be written. */
export function askTicket(net_kg: number, load: string | null, moisture_pct: number | null): string | null {
	if (net_kg < 1000 * POUND_KG) return t.ask.onATruck(mass(net_kg));
	if (net_kg > MOST_LOAD_KG) return t.ask.onATruck(mass(net_kg));
	const l = load === null ? undefined : grain.value.loads.get(load);
	if (l && l.cart_kg > 0 && !l.straight) {
		const expected = l.cart_kg * (ratio.value?.ratio ?? 1);
		if (Math.abs(net_kg / expected - 1) > 0.15) return t.ask.ticketOff(mass(net_kg), mass(expected), truckLabel(l.id));
	}
	return askMoisture(moisture_pct);
}

/** Checks a value about to be written into a row by hand. */
export function askValue(kind: string, key: string, value: unknown): string | null {
	if (typeof value !== 'number') return null;
	if (key === 'moisture_pct') return askMoisture(value);
	if (kind === 'ticket' && key === 'net_kg' && (value < 1000 * POUND_KG || value > MOST_LOAD_KG))
		return t.ask.onATruck(mass(value));
	if (['net_kg', 'room_kg', 'size_kg', 'tank_kg'].includes(key) && value !== 0 && Math.abs(value) < LEAST_KG)
		return t.ask.small(t.columns[key]!, mass(value));
	if (key.endsWith('_kg') && value > MOST_LOAD_KG) return t.ask.large(t.columns[key]!, mass(value));
	return null;
}
