import { MONITOR } from '../../model/index.ts';
import { halfWidth } from '../../stats/index.ts';
import type { Book } from '../book.ts';
import { errorOf_pct, type RunningFactor, recalibrated, runningFactors } from '../factor.ts';
import { scaleRatio } from '../scale.ts';
import { cropOf, dumpsOn, find, type Kept, keptAll, readingsOf } from '../values.ts';

/** What a combine's error was on the field before: what is known of it before anything is weighed on this one. */
export interface Carried {
	combine: string;
	/** The field it was learned on, when last, and from how many tank loads. */
	field: string;
	at_s: number;
	n: number;
	error_pct: number;
	interval_pct: [number, number];
	/** What has changed since. */
	recalibrated: boolean;
	/** The other field's crop where it is another one. */
	otherCrop: string | null;
	/** Moisture here less moisture there, where the monitor showed both and they differ enough to matter. */
	moisture_points: number | null;
}

/** What is carried over to a field for one combine; null where it was weighed on no other field of the season. */
export function carriedOver(book: Book, combine: string, field: string): Carried | null {
	const here = find(book, 'field', field);
	if (!here) return null;
	const first_s = dumpsOn(book, field)[0]?.v.time_s ?? Number.POSITIVE_INFINITY;
	let last: { field: Kept<'field'>; dump: Kept<'dump'> } | null = null;
	for (const f of keptAll(book, 'field')) {
		if (f.id === field || f.v.season !== here.v.season) continue;
		const dump = dumpsOn(book, f.id).findLast(
			(d) => d.v.combines.includes(combine) && d.v.time_s < first_s && readingsOf(book, d.id).length > 0,
		);
		if (dump && (last === null || dump.v.time_s > last.dump.v.time_s)) last = { field: f, dump };
	}
	if (last === null) return null;
	const at_s = last.dump.v.time_s;
	const anew = (recalibrated(book).get(combine) ?? Number.NEGATIVE_INFINITY) > at_s;
	const there = last.field;
	const f = runningFactors(book, { field: there.id, season: there.v.season }).find((x) => x.combine === combine);
	if (!anew && (!f || f.error_pct === null || f.errorInterval_pct === null)) return null;
	const crops = [there, here].map((x) => cropOf(x.v).name);
	const [then, now] = [there, here].map((x) => meanMoisture(book, combine, x.id));
	const step = then == null || now == null ? null : now - then;
	return {
		combine,
		field: there.id,
		at_s,
		n: f?.n ?? 0,
		error_pct: f?.error_pct ?? Number.NaN,
		interval_pct: f?.errorInterval_pct ?? [Number.NaN, Number.NaN],
		recalibrated: anew,
		otherCrop: crops[0] === crops[1] ? null : crops[0]!,
		moisture_points: step !== null && Math.abs(step) >= MONITOR.recalibrate_points ? step : null,
	};
}

/** Mean of what a combine's monitor showed on a field, percent; null where it showed none. */
function meanMoisture(book: Book, combine: string, field: string): number | null {
	let [n, sum] = [0, 0];
	for (const d of dumpsOn(book, field))
		for (const r of readingsOf(book, d.id))
			if (r.v.combine === combine && r.v.moisture_pct !== null) {
				n++;
				sum += r.v.moisture_pct;
			}
	return n > 0 ? sum / n : null;
}

/**
 * The error here with what was carried over as a start: the two weighted by their precision on the log scale, the
 * one carried over widened by how errors wander between fields; the cart's scale, common to both, added once.
 * Null where nothing was weighed here yet, or nothing can be carried over.
 */
export function withCarried(
	book: Book,
	carried: Carried,
	there: RunningFactor,
	here: RunningFactor,
	cart: string,
): { error_pct: number; interval_pct: [number, number] } | null {
	if (carried.recalibrated || here.value === null || there.value === null || !Number.isFinite(there.u_rel)) return null;
	const scatter = Math.max(there.scatter_rel, Number.isFinite(here.scatter_rel) ? here.scatter_rel : 0);
	const [before, own] = [1 / (there.u_rel ** 2 + MONITOR.slow ** 2), here.n / scatter ** 2];
	const log = (before * Math.log(there.value) + own * Math.log(here.value)) / (before + own);
	const half = Math.hypot(1.96 / Math.sqrt(before + own), halfWidth(scaleRatio(book, cart).parts));
	return {
		error_pct: errorOf_pct(Math.exp(log)),
		interval_pct: [errorOf_pct(Math.exp(log + half)), errorOf_pct(Math.exp(log - half))],
	};
}
