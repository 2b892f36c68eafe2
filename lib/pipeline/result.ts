import {
	appliedFactor,
	type DumpFate,
	type Factor,
	FLAGS,
	type Note,
	type Result,
	type ResultCombine,
	type ResultDump,
	type ResultFactor,
	type RunSoFar,
	type SetAside,
} from '../model/index.ts';
import { moistureSlips, statedReference, truckLoads } from '../reference/index.ts';
import { AS_RECORDED } from '../units/index.ts';
import { fieldHalves } from './intervals.ts';
import { keptShare, statementsOf } from './statements.ts';

/** result.json's object from everything that the run knows. */
export function buildResult(run: RunSoFar): Result {
	const { field, reference, match, track, surface } = run;
	const { plan } = field;
	const { ratio, u_rel, interval } = statedReference(reference, field);
	const result: Omit<Result, 'statements'> = {
		schema: 'steelyard.result/1',
		field: {
			name: plan.name,
			season: plan.season,
			client: plan.client,
			farm: plan.farm,
			crop: plan.crop.name,
			bushel_kg: plan.crop.bushel_kg,
			market_moisture_pct: plan.crop.market_moisture_pct,
		},
		clock: {
			offset_s: finite(match.clock.offset_s),
			u_s: finite(match.clock.u_s),
			source: match.clock.source,
		},
		reference: {
			ratio,
			u_rel,
			interval,
			n: reference.n,
			source: reference.source,
		},
		dumps: resultDumps(run),
		unweighed: unweighed(run),
		trucks: truckLoads(field.book, match.fates),
		combines: Object.fromEntries(field.records.combines.map((name, c) => [name, resultCombine(run, c)])),
		seams: run.seams.jumps.map((jump) => ({
			pair: [field.records.combines[jump.combineA] as string, field.records.combines[jump.combineB] as string],
			before_pct: jump.before_pct,
			before_interval: jump.before_interval,
			after_pct: jump.after_pct,
			after_interval: jump.after_interval,
			moisture_diff_pct: jump.moisture_diff_pct,
			length_m: jump.length_m,
		})),
		totals: totals(run),
		areas: {
			cut_ha: track.areas.cut_m2 / 10000,
			distance_swath_ha: track.areas.distanceTimesSwath_m2 / 10000,
			boundary_ha: finite(track.areas.boundary_m2 / 10000),
		},
		closure: { mass_pct: finite(surface.closure.mass_pct), area_pct: finite(surface.closure.area_pct) },
		flags: flagTable(run),
		set_aside: [...field.setAside, ...weightsAside(run)],
		notes: notes(run, truckLoads(field.book, match.fates).length),
		inputs: field.inputs,
	};
	return { ...result, statements: statementsOf(run, result) };
}

/** UTC with Z, to the millisecond where there are any; null where the time is not known. */
export function isoTime(time_s: number): string | null {
	if (!Number.isFinite(time_s)) return null;
	return new Date(Math.round(time_s * 1000)).toISOString().replace('.000Z', 'Z');
}

const finite = (x: number): number | null => (Number.isFinite(x) ? x : null);

function resultDumps(run: RunSoFar): ResultDump[] {
	const { match, field } = run;
	const { dumps } = field.book;
	// Dumps that share a fill carry its masses once, on the last of them.
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

function fateMasses(
	run: RunSoFar,
	fate: DumpFate,
	last: boolean,
): Pick<ResultDump, 'reference_kg' | 'monitor_kg' | 'error_pct'> {
	const { match, field, reference } = run;
	const dump = field.book.dumps[fate.dump];
	if (!dump || reference.source === 'none') return { reference_kg: null, monitor_kg: null, error_pct: null };
	if (fate.status === 'aside' || fate.fill === null) {
		return { reference_kg: dump.weight_kg * reference.ratio, monitor_kg: null, error_pct: null };
	}
	if (!last) return { reference_kg: null, monitor_kg: null, error_pct: null };
	let cart_kg = 0;
	const unloadings = new Set<number>();
	for (const other of match.fates) {
		if (other.fill !== fate.fill || other.status === 'aside') continue;
		cart_kg += field.book.dumps[other.dump]?.weight_kg ?? 0;
		for (const u of other.unloadings) unloadings.add(u);
	}
	let monitor_kg = 0;
	for (const u of unloadings) monitor_kg += match.unloadings[u]?.account_kg ?? 0;
	const reference_kg = cart_kg * reference.ratio;
	return { reference_kg, monitor_kg, error_pct: finite((100 * (monitor_kg - reference_kg)) / reference_kg) };
}

function unweighed(run: RunSoFar): Result['unweighed'] {
	const { match, field } = run;
	const list: Result['unweighed'] = [];
	for (const u of match.unloadings) {
		const straight = u.dump < 0 && u.ticket >= 0;
		if (u.unweighed === null && !straight) continue;
		const previous = previousEnd(run, u.combine, u.from);
		list.push({
			combine: field.records.combines[u.combine] as string,
			start: isoTime(previous) as string,
			end: isoTime(u.end_s) as string,
			monitor_kg: u.account_kg,
			...(Number.isFinite(u.deduced_kg) ? { deduced_kg: u.deduced_kg } : {}),
			reason: u.unweighed ?? `direct to truck, ticket ${field.book.tickets[u.ticket]?.ticket ?? ''}`,
		});
	}
	return list;
}

/** End of that combine's previous unloading, or the log's start. */
function previousEnd(run: RunSoFar, combine: number, from: number): number {
	let end = Number.NaN;
	for (const u of run.match.unloadings) if (u.combine === combine && u.to === from) end = u.end_s;
	if (Number.isFinite(end)) return end;
	const { records } = run.field;
	for (let i = 0; i < records.n; i++) {
		const t = records.time_s[i] as number;
		if (records.combine[i] === combine && !(t >= end)) end = t;
	}
	return end;
}

function resultCombine(run: RunSoFar, c: number): ResultCombine {
	const { field, track, match, account } = run;
	const { records } = field;
	const lag = track.lags.find((l) => l.combine === c);
	const factor = run.factors.factors.find((f) => f.combine === c);
	const moisture = run.moisture.find((m) => m.combine === c);
	let count = 0;
	let flagged = 0;
	let monitor_kg = 0;
	let account_kg = 0;
	let corrected_kg = 0;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== c) continue;
		count++;
		if (run.yields.flag[i] !== 0) flagged++;
		monitor_kg += account.monitor_kg[i] as number;
		account_kg += account.account_kg[i] as number;
		corrected_kg += (account.account_kg[i] as number) * appliedFactor(run.factors.factor[i] as number);
	}
	return {
		lag_s: lag ? finite(lag.lag_s) : null,
		lag_u_s: lag ? finite(lag.u_s) : null,
		lag_source: lag?.source ?? 'assumed',
		records: count,
		flagged,
		fills: match.unloadings.filter((u) => u.combine === c).length,
		factor: factor ? resultFactor(factor, corrected_kg / account_kg) : null,
		moisture: {
			offset_pct: moisture?.offset_pct ?? 0,
			u_pct: moisture?.u_pct ?? 0.6,
			n: moisture?.n ?? 0,
			source: moisture?.source ?? 'none',
		},
		monitor_kg,
		account_kg,
		corrected_kg,
		advice: factor?.advice ?? [],
		budget: factor?.budget ?? [],
		more_dumps: factor ? finite(factor.moreDumps) : null,
	};
}

function resultFactor(f: Factor, value: number): ResultFactor | null {
	if (f.source === null || !Number.isFinite(f.value)) return null;
	return {
		form: f.form,
		value: Number.isFinite(value) && f.source !== 'pinned' ? value : f.value,
		u_rel: f.u_rel,
		interval: f.interval,
		next_interval: f.next_interval,
		n: f.n,
		source: f.source,
		...(f.source === 'pinned' ? { weighed: f.weighed ?? null } : {}),
		...(f.form === 'step'
			? { changes: f.changes.map((p) => ({ time: isoTime(p.time_s) as string, value: p.value })) }
			: {}),
		...(f.form === 'trend'
			? { knots: f.knots.map((p) => ({ time: isoTime(p.time_s) as string, value: p.value })) }
			: {}),
		...(f.form === 'flow' ? { curve: f.curve } : {}),
	};
}

function flagTable(run: RunSoFar): Result['flags'] {
	const rows = FLAGS.map((flag) => ({ flag: flag as string, records: 0, account_kg: 0 }));
	for (let i = 0; i < run.field.records.n; i++) {
		const row = rows[run.yields.flag[i] as number];
		if (!row) continue;
		row.records++;
		row.account_kg += run.account.account_kg[i] as number;
	}
	return rows.filter((row, code) => code > 0 && row.records > 0);
}

function totals(run: RunSoFar): Result['totals'] {
	const { field, account, yields, match } = run;
	const { market_moisture_pct, bushel_kg } = field.plan.crop;
	let monitor_kg = 0;
	let corrected_kg = 0;
	let dry_kg = 0;
	const byCombine = field.records.combines.map(() => 0);
	// A record whose moisture is missing dries like the mean of its field.
	let wetKnown = 0;
	let dryKnown = 0;
	for (let i = 0; i < field.records.n; i++) {
		const wet = (account.account_kg[i] as number) * appliedFactor(run.factors.factor[i] as number);
		monitor_kg += account.monitor_kg[i] as number;
		corrected_kg += wet;
		byCombine[field.records.combine[i] as number]! += wet;
		const moisture = yields.moisture_pct[i] as number;
		if (!Number.isFinite(moisture)) continue;
		wetKnown += wet;
		dryKnown += (wet * (100 - moisture)) / (100 - market_moisture_pct);
	}
	dry_kg = wetKnown > 0 ? dryKnown * (corrected_kg / wetKnown) : corrected_kg;
	const dry_bu = dry_kg / bushel_kg;
	const moisture_pct = 100 - ((100 - market_moisture_pct) * dry_kg) / corrected_kg;
	const halves = fieldHalves(run, byCombine, moisture_pct);
	let cart_kg = 0;
	for (const fate of match.fates) {
		if (fate.status !== 'aside') cart_kg += field.book.dumps[fate.dump]?.weight_kg ?? 0;
	}
	let ticket_kg = 0;
	for (const t of field.book.tickets) ticket_kg += t.net_kg;
	return {
		// Ground cut, also where a log stopped writing before the last of its grain came through.
		area_ha: run.track.areas.cut_m2 / 10000,
		monitor_kg,
		corrected_kg,
		cart_kg,
		ticket_kg,
		dry_kg,
		dry_bu,
		corrected_interval: around(corrected_kg, halves.wet),
		dry_bu_interval: around(dry_bu, halves.dry),
	};
}

/** An interval from its relative half-widths below and above; null where they are not known. */
function around(value: number, [below, above]: [number, number]): [number, number] | null {
	const interval: [number, number] = [value * (1 - below), value * (1 + above)];
	return interval.every(Number.isFinite) ? interval : null;
}

/** Weights that the alignment does not believe stand among what was set aside, too. */
function weightsAside(run: RunSoFar): SetAside[] {
	const aside: SetAside[] = [];
	for (const fate of run.match.fates) {
		const dump = run.field.book.dumps[fate.dump];
		if (fate.status !== 'aside' || !dump) continue;
		aside.push({
			file: dump.origin.file,
			row: dump.origin.row,
			column: null,
			found: dump.id,
			why: fate.reason ?? 'not used',
		});
	}
	return aside;
}

/** A map of less than this share of the area, by thresholds that somebody set, is worth a caution. */
const LEAST_KEPT = 0.5;

function notes(run: RunSoFar, trucks: number): Note[] {
	const { field, match, reference } = run;
	const list: Note[] = [...field.notes];
	const caution = (text: string) => list.push({ level: 'caution', text });
	const remark = (text: string) => list.push({ level: 'note', text });
	const weighed = run.factors.factors.some((f) => f.source !== null);
	if (!weighed) {
		caution(
			field.book.dumps.length + trucks === 0
				? `Nothing was weighed, so the level of the map is unknown. ${AS_RECORDED}`
				: `None of the weights given fits the logs of this field, so the level of the map is unknown. ${AS_RECORDED}`,
		);
	}
	const kept = keptShare(run);
	if (kept < LEAST_KEPT && Object.keys(field.plan.flags).length > 0) {
		caution(
			`Only ${(100 * kept).toFixed(0)}% of the area is left on the map with the thresholds in field.json. Totals still count all of it.`,
		);
	}
	list.push(...(run.track.remarks ?? []));
	for (const text of reference.remarks ?? []) caution(text);
	for (const text of moistureSlips(field.book, run.moisture)) caution(text);
	for (const text of match.cautions) caution(text);
	for (const text of match.notes) remark(text);
	for (const jump of run.seams.jumps) for (const text of jump.remarks) remark(text);
	if (weighed)
		remark(
			'Do not settle sales or crop shares on cart weights or on this report. Use tickets from a scale approved for trade.',
		);
	return list;
}
