import { CART, CLOCK, cartSteps, type Dump, type FieldPlan, type LoadBook, stepsByCart } from '../../model/index.ts';
import type { MatchInput } from './input.ts';
import { otherFields } from './otherfield.ts';

/** A dump as input of the match. */
export interface Observation {
	/** Index into LoadBook.dumps. */
	dump: number;
	/** Cart clock; NaN where only the order is known. */
	time_s: number;
	/** Limits of its time where it is not known, from its neighbors, cart clock. */
	from_s: number;
	to_s: number;
	/** Its time is known to the minute. */
	byMinute: boolean;
	/** Standard uncertainty of its time as that of the dump's end, the clock's offset aside, seconds. */
	sigma_s: number;
	/** Reference mass: cart weight × cart ratio. */
	kg: number;
	/** Variance of its readings, kg². */
	u2: number;
	/** What it should have been by its truckload, if that has more or less than its dumps. */
	right: { kg: number; u2: number; cost: number }[];
	/** Indices of the combines that it may be of: the noted one, or all. */
	combines: number[];
	/** The noted combine may be wrong; false where it was set by hand. */
	mayBeOther: boolean;
	/** Combines that it is noted or set as a mixed weight of; else empty. */
	mixed: number[];
	noted: boolean;
	emptied: -1 | 0 | 1;
	/** Its combine was set by hand. */
	sure: boolean;
	/** Status set by hand. */
	pinned: 'used' | 'joined' | 'aside' | null;
	lat_deg: number;
	lon_deg: number;
}

/** A dump that is not matched, and why. */
export interface Excluded {
	dump: number;
	reason: string;
}

export interface Observations {
	observations: Observation[];
	excluded: Excluded[];
	remarks: string[];
}

/** Turns the dumps of a load book into observations, in the order in which they happened. */
export function readObservations({ book, records, plan, reference, aside }: MatchInput): Observations {
	const excluded: Excluded[] = [];
	const remarks: string[] = [];
	const elsewhere = otherFields(book.dumps, plan.name, remarks);
	const all = records.combines.map((_, c) => c);
	const order = cartSteps(book);
	const gross = grossBefore(book);
	const observations: Observation[] = [];
	for (const { dump } of order) {
		if (dump < 0) continue;
		const d = book.dumps[dump]!;
		const pin = plan.pins.dumps?.[d.id];
		if (elsewhere.has(dump) && pin?.status === undefined) {
			excluded.push({ dump, reason: `entered as grain from another field, ${d.field}` });
			continue;
		}
		if (pin?.status === 'aside') {
			excluded.push({ dump, reason: pin.reason ?? 'overridden to not used' });
			continue;
		}
		const supposed = aside?.get(dump);
		// What the user has decided of it stands.
		if (supposed !== undefined && pin?.status === undefined) {
			excluded.push({ dump, reason: supposed });
			continue;
		}
		const names = pin?.combine !== undefined ? pin.combine.split('+').map((s) => s.trim()) : d.combines;
		const known = names.map((name) => records.combines.indexOf(name)).filter((c) => c >= 0);
		if (names.length > 0 && known.length === 0) {
			excluded.push({ dump, reason: `entered for combine ${names.join('+')}, which has no log here` });
			continue;
		}
		if (known.length < names.length) {
			excluded.push({ dump, reason: `holds grain from ${names.join(' and ')}, and not all of them have a log here` });
			continue;
		}
		observations.push({
			dump,
			// A clock to the minute truncates, so the middle of the minute is used.
			time_s: d.timeGrain === 'second' ? d.time_s : d.timeGrain === 'minute' ? d.time_s + 30 : Number.NaN,
			byMinute: d.timeGrain === 'minute',
			from_s: d.timeGrain === 'day' ? d.time_s : Number.NaN,
			to_s: d.timeGrain === 'day' ? d.time_s + 86_400 : Number.NaN,
			sigma_s: Math.hypot(CLOCK.delay_s, d.timeGrain === 'minute' ? CLOCK.minute_s : 0),
			kg: d.weight_kg * reference.ratio,
			u2: readingVariance(d, gross[dump]!, plan),
			right: [],
			combines: known.length === 1 ? known : all,
			mayBeOther: known.length === 1 && pin?.combine === undefined,
			mixed: known.length > 1 ? known : [],
			noted: known.length > 0,
			emptied: d.emptied,
			sure: pin?.combine !== undefined,
			pinned: pin?.status ?? null,
			lat_deg: d.lat_deg,
			lon_deg: d.lon_deg,
		});
	}
	fillWindows(observations);
	return { observations, excluded, remarks };
}

/** Limits the times of dumps without a time by those of their neighbors. */
function fillWindows(observations: Observation[]): void {
	let before = -Infinity;
	for (const s of observations) {
		if (Number.isFinite(s.time_s)) before = s.time_s;
		else s.from_s = Number.isFinite(s.from_s) ? Math.max(s.from_s, before) : before;
	}
	let after = Infinity;
	for (let i = observations.length - 1; i >= 0; i--) {
		const s = observations[i]!;
		if (Number.isFinite(s.time_s)) after = s.time_s;
		else s.to_s = Number.isFinite(s.to_s) ? Math.min(s.to_s, after) : after;
	}
}

/** Mass in the cart before each dump by the cart log, kg as indicated. */
export function grossBefore(book: LoadBook): Float64Array {
	const gross = new Float64Array(book.dumps.length);
	for (const steps of stepsByCart(book)) {
		let level = 0;
		for (const { dump, offload } of steps) {
			if (offload >= 0) {
				level = Math.max(0, level - book.offloads[offload]!.weight_kg);
				// So little is scale error, or a row was not saved: the cart is taken as empty.
				if (level < 500) level = 0;
				continue;
			}
			gross[dump] = level;
			level += book.dumps[dump]!.weight_kg;
			// In a log without offloads the cart must have been emptied before it held this much.
			if (level > 40_000) level = book.dumps[dump]!.weight_kg;
		}
	}
	return gross;
}

/** Variance of one gross reading, kg²: u² = a² + (b·gross)². */
export function grossVariance(gross_kg: number, scale: string | null, plan: FieldPlan): number {
	const given = (scale !== null ? plan.scales[scale] : undefined) ?? Object.values(plan.scales)[0];
	const a = given?.reading_a_kg ?? CART.reading_a_kg;
	const b = given?.reading_b_rel ?? CART.reading_b_rel;
	return a * a + (b * gross_kg) ** 2;
}

function readingVariance(d: Dump, gross_kg: number, plan: FieldPlan): number {
	if (d.u_kg > 0) return d.u_kg * d.u_kg;
	return grossVariance(gross_kg, d.scale, plan) + grossVariance(gross_kg + d.weight_kg, d.scale, plan);
}
