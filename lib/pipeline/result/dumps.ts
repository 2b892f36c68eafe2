/** Dumps and unweighed tank loads of result.json. */
import type { DumpFate, Result, ResultDump, RunSoFar } from '../../model/index.ts';
import { utcText } from '../../units/index.ts';
import { finite } from './finite.ts';

/** ISO 8601 in UTC with Z, with milliseconds only if not zero; null for an unknown time. */
export function isoTime(time_s: number): string | null {
	return Number.isFinite(time_s) ? utcText(time_s) : null;
}

export function resultDumps(run: RunSoFar): ResultDump[] {
	const { match, field } = run;
	const { dumps } = field.book;
	// The masses of a fill with several dumps go to the last of them.
	const lastOfFill = new Map<string, number>();
	match.fates.forEach((fate, i) => {
		if (fate.fill !== null && fate.status !== 'aside') lastOfFill.set(fate.fill, i);
	});
	return match.fates.map((fate, i) => {
		const dump = dumps[fate.dump];
		if (!dump) throw new Error(`a fate names dump ${fate.dump}, of which the load book has ${dumps.length}`);
		const masses = fateMasses(run, fate, lastOfFill.get(fate.fill ?? '') === i);
		return {
			id: dump.id,
			combine: fate.combines.length === 0 ? null : fate.combines.map((c) => field.records.combines[c]).join('+'),
			combine_source: fate.combineSource,
			status: fate.status,
			reason: fate.reason,
			fill: fate.fill,
			start: isoTime(fate.start_s),
			end: isoTime(fate.end_s),
			cart_kg: dump.weight_kg,
			...masses,
		};
	});
}

/** What a dump weighs on the cart: as written, or as the match supposes. */
export function dumpWeight_kg({ match, field }: RunSoFar, dump: number): number {
	return match.supposed_kg?.[dump] ?? field.book.dumps[dump]?.weight_kg ?? 0;
}

function fateMasses(
	run: RunSoFar,
	fate: DumpFate,
	last: boolean,
): Pick<ResultDump, 'reference_kg' | 'monitor_kg' | 'error_pct'> {
	const { match, field, reference } = run;
	const dump = field.book.dumps[fate.dump];
	if (!dump || reference.source === 'none') return { reference_kg: null, monitor_kg: null, error_pct: null };
	if (fate.status === 'aside' || fate.fill === null) {
		return { reference_kg: dumpWeight_kg(run, fate.dump) * reference.ratio, monitor_kg: null, error_pct: null };
	}
	if (!last) return { reference_kg: null, monitor_kg: null, error_pct: null };
	let cart_kg = 0;
	const unloadings = new Set<number>();
	for (const other of match.fates) {
		if (other.fill !== fate.fill || other.status === 'aside') continue;
		cart_kg += dumpWeight_kg(run, other.dump);
		for (const u of other.unloadings) unloadings.add(u);
	}
	let monitor_kg = 0;
	for (const u of unloadings) monitor_kg += match.unloadings[u]?.account_kg ?? 0;
	const reference_kg = cart_kg * reference.ratio;
	return { reference_kg, monitor_kg, error_pct: finite((100 * (monitor_kg - reference_kg)) / reference_kg) };
}

export function unweighed(run: RunSoFar): Result['unweighed'] {
	const { match, field } = run;
	const list: Result['unweighed'] = [];
	for (const u of match.unloadings) {
		const straight = u.dump < 0 && u.ticket >= 0;
		if (u.unweighed === null && !straight) continue;
		const previous = previousEnd(run, u.combine, u.from);
		list.push({
			combine: field.records.combines[u.combine]!,
			start: isoTime(previous)!,
			end: isoTime(u.end_s)!,
			monitor_kg: u.account_kg,
			...(Number.isFinite(u.deduced_kg) ? { deduced_kg: u.deduced_kg } : {}),
			reason: u.unweighed ?? `direct to truck, ticket ${field.book.tickets[u.ticket]?.ticket ?? ''}`,
		});
	}
	return list;
}

/** End of the combine's previous unloading, or the start of its log. */
function previousEnd(run: RunSoFar, combine: number, from: number): number {
	let end = Number.NaN;
	for (const u of run.match.unloadings) if (u.combine === combine && u.to === from) end = u.end_s;
	if (Number.isFinite(end)) return end;
	const { records } = run.field;
	for (let i = 0; i < records.n; i++) {
		const t = records.time_s[i]!;
		if (records.combine[i] === combine && !(t >= end)) end = t;
	}
	return end;
}
