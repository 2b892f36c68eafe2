import { MONITOR, remembered } from '../../model/index.ts';
import { movedIn } from '../answer/chain.ts';
import { factorOverAll } from '../answer/over-all.ts';
import { type Explained, explained, recalibrated, runningFactors } from '../answer/running-answer.ts';
import { runningFactor } from '../answer/running-factor.ts';
import type { Book } from '../book.ts';
import type { Thing } from '../entries/thing.ts';
import { dumpsOn, find, keptAll, readingsOf } from '../kept.ts';
import { cropNameOf } from '../values.ts';

/** A combine's error on an earlier field: what is known of it before anything is weighed on this one. */
export interface CarriedOver {
	combine: string;
	/** The field it comes from, time of the last dump there, and number of tank loads. */
	field: string;
	at_s: number;
	n: number;
	error_pct: number;
	interval_pct: [number, number];
	/** What has changed since. */
	recalibrated: boolean;
	/** The other field's crop if it differs. */
	otherCrop: string | null;
	/** Moisture here less moisture there, where the monitor showed both and the difference is large enough to matter. */
	moisture_points: number | null;
}

/** The error carried over to a field for one combine; null where it was weighed on no other field of the season. */
export function carriedOver(book: Book, combine: string, field: string): CarriedOver | null {
	const here = find(book, 'field', field);
	if (!here) return null;
	const first_s = dumpsOn(book, field)[0]?.v.time_s ?? Infinity;
	let last: { field: Thing<'field'>; dump: Thing<'dump'> } | null = null;
	for (const f of keptAll(book, 'field')) {
		if (f.id === field || f.v.season !== here.v.season) continue;
		const dump = dumpsOn(book, f.id).findLast(
			(d) => d.v.combines.includes(combine) && d.v.time_s < first_s && readingsOf(book, d.id).length > 0,
		);
		if (dump && (last === null || dump.v.time_s > last.dump.v.time_s)) last = { field: f, dump };
	}
	if (last === null) return null;
	const at_s = last.dump.v.time_s;
	const recalibratedSince = (recalibrated(book).get(combine) ?? -Infinity) > at_s;
	const there = last.field;
	const f = runningFactors(book, { field: there.id, season: there.v.season }).find((x) => x.combine === combine);
	if (!recalibratedSince && (!f || f.error_pct === null || f.errorInterval_pct === null)) return null;
	const crops = [there, here].map((x) => cropNameOf(x.v));
	const [then, now] = [there, here].map((x) => meanMoisture(book, combine, x.id));
	const step = then == null || now == null ? null : now - then;
	return {
		combine,
		field: there.id,
		at_s,
		n: f?.n ?? 0,
		error_pct: f?.error_pct ?? Number.NaN,
		interval_pct: f?.errorInterval_pct ?? [Number.NaN, Number.NaN],
		recalibrated: recalibratedSince,
		otherCrop: crops[0] === crops[1] ? null : crops[0]!,
		moisture_points: step !== null && Math.abs(step) >= MONITOR.recalibrate_points ? step : null,
	};
}

/** Mean moisture that a combine's monitor showed on a field, percent; null where it showed none. */
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

const known = new WeakMap<Book, Map<string, Explained>>();

/**
 * The error here, starting from what was carried over: both fields' weights as one chain, in which the factor may have
 * moved between them. It may have moved more with more time, another crop or another moisture. The answer is over all
 * explanations of the weights, as without it. Null where nothing was weighed here yet, or nothing can be carried over.
 */
export function withCarried(
	book: Book,
	{ combine, field: there, recalibrated }: CarriedOver,
	field: string,
): { error_pct: number; interval_pct: [number, number] } | null {
	if (recalibrated) return null;
	const { explanations }: Explained = remembered(
		remembered(known, book, () => new Map()),
		JSON.stringify([there, field]),
		() => explainedFrom(book, there, field),
	);
	const chain = explanations[0]?.solved.chain;
	const c = chain?.combines.indexOf(combine) ?? -1;
	const here = chain?.loads.slice(chain.moved?.from).some((l) => l.weighs && l.inflows.some((i) => i.combine === c));
	if (c < 0 || !chain?.moved || !here) return null;
	const all = explanations.map(({ weight, solved }) => ({ weight, factor: runningFactor(solved, c) }));
	const { error_pct, errorInterval_pct } = factorOverAll(all);
	return error_pct === null ? null : { error_pct, interval_pct: errorInterval_pct! };
}

/** All explanations of the weights of two fields. */
function explainedFrom(book: Book, there: string, field: string): Explained {
	const until_s = dumpsOn(book, field)[0]?.v.time_s ?? -Infinity;
	const scope = { field, season: find(book, 'field', field)!.v.season };
	return explained(book, scope, { field: there, until_s }, (name) => {
		const since = carriedOver(book, name, field);
		if (!since || since.recalibrated) return MONITOR.factor;
		const here_s = dumpsOn(book, field).find((d) => d.v.combines.includes(name))?.v.time_s ?? until_s;
		return Math.hypot(
			movedIn((here_s - since.at_s) / 3600),
			since.otherCrop === null ? 0 : MONITOR.factor,
			since.moisture_points === null ? 0 : MONITOR.well_pct / 100,
		);
	});
}
