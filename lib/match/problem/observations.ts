import {
	CART,
	CLOCK,
	cartSteps,
	type Dump,
	type FieldPlan,
	type LoadBook,
	type Records,
	type Reference,
	stepsByCart,
} from '../../model/index.ts';
import { otherFields } from './otherfield.ts';

/** A dump as the alignment sees it. */
export interface Observation {
	/** Index into LoadBook.dumps. */
	dump: number;
	/** Cart clock; NaN where only the order is known. */
	time_s: number;
	/** Between the neighbors' times where its own is not known, cart clock. */
	from_s: number;
	to_s: number;
	/** Its time is known to the minute. */
	byMinute: boolean;
	/** How far its time is off the dump's end, beside the clock: standard deviation, seconds. */
	sigma_s: number;
	/** Reference mass (indicated × ratio). */
	kg: number;
	/** Variance of its reading. */
	u2: number;
	/** Combine indices that it may be of: the noted one, or all. */
	combines: number[];
	/** The combine may be noted wrongly: not where it was decided by hand. */
	mayBeOther: boolean;
	/** Noted (or pinned) as one weight of these; empty where not. */
	mixed: number[];
	noted: boolean;
	emptied: -1 | 0 | 1;
	/** Its combine was decided by hand. */
	sure: boolean;
	/** Decided beforehand. */
	pinned: 'used' | 'joined' | 'aside' | null;
	lat_deg: number;
	lon_deg: number;
}

/** A dump that takes no part, and why. */
export interface Excluded {
	dump: number;
	reason: string;
}

export interface Observations {
	observations: Observation[];
	excluded: Excluded[];
	remarks: string[];
}

/** Dumps in the order in which they happened, with what is noted of each. */
export function readObservations(
	book: LoadBook,
	records: Records,
	plan: FieldPlan,
	reference: Reference,
): Observations {
	const excluded: Excluded[] = [];
	const remarks: string[] = [];
	const elsewhere = otherFields(book.dumps, plan.name, remarks);
	const all = records.combines.map((_, c) => c);
	const order = cartSteps(book);
	const gross = grossBefore(book);
	const observations: Observation[] = [];
	for (const { dump } of order) {
		if (dump < 0) continue;
		const d = book.dumps[dump] as Dump;
		const pin = plan.pins.dumps?.[d.id];
		if (elsewhere.has(dump) && pin?.status === undefined) {
			excluded.push({ dump, reason: `entered as grain of another field, ${d.field}` });
			continue;
		}
		if (pin?.status === 'aside') {
			excluded.push({ dump, reason: pin.reason ?? 'overridden to not used' });
			continue;
		}
		const names = pin?.combine !== undefined ? pin.combine.split('+').map((s) => s.trim()) : d.combines;
		const known = names.map((name) => records.combines.indexOf(name)).filter((c) => c >= 0);
		if (names.length > 0 && known.length === 0) {
			excluded.push({ dump, reason: `entered for combine ${names.join('+')}, which has no log here` });
			continue;
		}
		if (known.length < names.length) {
			excluded.push({ dump, reason: `holds grain of ${names.join(' and ')}, and not all of them have a log here` });
			continue;
		}
		observations.push({
			dump,
			// A clock that shows minutes shows them cut off: the middle of the minute stands for it.
			time_s: d.timeGrain === 'second' ? d.time_s : d.timeGrain === 'minute' ? d.time_s + 30 : Number.NaN,
			byMinute: d.timeGrain === 'minute',
			from_s: d.timeGrain === 'day' ? d.time_s : Number.NaN,
			to_s: d.timeGrain === 'day' ? d.time_s + 86_400 : Number.NaN,
			sigma_s: Math.hypot(CLOCK.delay_s, d.timeGrain === 'minute' ? CLOCK.minute_s : 0),
			kg: d.weight_kg * reference.ratio,
			u2: readingVariance(d, gross[dump] as number, plan),
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

/** Untimed dumps lie between the timed ones around them. */
function fillWindows(observations: Observation[]): void {
	let before = Number.NEGATIVE_INFINITY;
	for (const s of observations) {
		if (Number.isFinite(s.time_s)) before = s.time_s;
		else s.from_s = Number.isFinite(s.from_s) ? Math.max(s.from_s, before) : before;
	}
	let after = Number.POSITIVE_INFINITY;
	for (let i = observations.length - 1; i >= 0; i--) {
		const s = observations[i] as Observation;
		if (Number.isFinite(s.time_s)) after = s.time_s;
		else s.to_s = Number.isFinite(s.to_s) ? Math.min(s.to_s, after) : after;
	}
}

/** What was in the cart before each dump, by the log alone: dumps since the latest offload, indicated kg. */
export function grossBefore(book: LoadBook): Float64Array {
	const gross = new Float64Array(book.dumps.length);
	for (const observations of stepsByCart(book)) {
		let level = 0;
		for (const { dump, offload } of observations) {
			if (offload >= 0) {
				level = Math.max(0, level - (book.offloads[offload]?.weight_kg as number));
				// What the two rows differ by is scale error, or a row not saved: the cart is empty for all we know.
				if (level < 500) level = 0;
				continue;
			}
			gross[dump] = level;
			level += book.dumps[dump]?.weight_kg as number;
			// Without offloads in the log the cart is emptied some time.
			if (level > 40_000) level = book.dumps[dump]?.weight_kg as number;
		}
	}
	return gross;
}

/** Variance of one gross reading, kg²: u² = a² + (b·gross)². */
export function grossVariance(gross_kg: number, scale: string | null, plan: FieldPlan): number {
	const said = (scale !== null ? plan.scales[scale] : undefined) ?? Object.values(plan.scales)[0];
	const a = said?.reading_a_kg ?? CART.reading_a_kg;
	const b = said?.reading_b_rel ?? CART.reading_b_rel;
	return a * a + (b * gross_kg) ** 2;
}

function readingVariance(d: Dump, gross_kg: number, plan: FieldPlan): number {
	if (d.u_kg > 0) return d.u_kg * d.u_kg;
	return grossVariance(gross_kg, d.scale, plan) + grossVariance(gross_kg + d.weight_kg, d.scale, plan);
}
