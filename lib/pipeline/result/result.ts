import {
	type Flag,
	type Note,
	type Result,
	type RunSoFar,
	type SetAside,
	type Ticket,
	unrecordedShares,
} from '../../model/index.ts';
import { joinTickets, moistureGaps, moistureSlips, statedReference, truckLoads } from '../../reference/index.ts';
import { AS_RECORDED, FLAG_WORDS } from '../../units/index.ts';
import { resultCombine } from './combines.ts';
import { resultDumps, unweighed } from './dumps.ts';
import { finite } from './finite.ts';
import { groundsOf } from './intervals.ts';
import { keptShare, statementsOf } from './statements.ts';
import { flagTable, totals } from './totals.ts';

/** Builds the content of result.json from a run. */
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
			pair: [field.records.combines[jump.combineA]!, field.records.combines[jump.combineB]!],
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
		set_aside: [...field.setAside, ...weightsAside(run), ...ticketsAside(run)],
		notes: notes(run, truckLoads(field.book, match.fates).length),
		inputs: field.inputs,
	};
	return { ...result, statements: statementsOf(run, result) };
}

/** Dump weights not used, for `set_aside`. */
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

/** Tickets that neither check the cart nor weigh an unloading, and moistures of tickets that are not used, for `set_aside`. */
function ticketsAside({ field, reference, match, moisture }: RunSoFar): SetAside[] {
	const { tickets } = joinTickets(field.book);
	const loads = new Map(reference.loads.map((l) => [l.truckLoad, l]));
	const weighed = new Set(match.weighings.map((w) => w.ticket));
	const aside = (t: Ticket, column: string | null, why: string): SetAside => ({
		...t.origin,
		column,
		found: t.ticket,
		why,
	});
	const weights = tickets.flatMap((t, i) => {
		const load = t.truckLoad === null ? undefined : loads.get(t.truckLoad);
		if (weighed.has(i) || load?.used || load?.other) return [];
		return [aside(t, null, load?.reason ?? 'no offload and no unloading was found that it is of')];
	});
	const moistures = (moisture[0]?.odd ?? []).map(({ ticket, by_pct }) =>
		aside(
			tickets[ticket]!,
			'moisture_pct',
			`${Math.abs(by_pct).toFixed(1)} points ${by_pct > 0 ? 'above' : 'below'} what the other tickets make of the sensors; the rest of the row is used`,
		),
	);
	return [...weights, ...moistures];
}

/** If less than this share of the area is on the map, there is a caution. */
const LEAST_KEPT = 0.5;

/** A share of a combine's grain that came through unrecorded that is told. */
const UNRECORDED = 0.005;

/** A share of a combine's ground without a count of its grain that is told. */
const UNCOUNTED = 0.02;

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
	if (kept < LEAST_KEPT) {
		const [most] = [...flagTable(run)].sort((a, b) => b.account_kg - a.account_kg);
		const why = Object.keys(field.plan.flags).length > 0 ? 'with the thresholds in field.json' : 'after the flags';
		caution(
			`Only ${(100 * kept).toFixed(0)}% of the area is left on the map ${why}, most of the rest because of “${FLAG_WORDS[most?.flag as Flag] ?? 'no yield'}”. Totals still count all of it.`,
		);
	}
	groundsOf(run).forEach(({ counted_m2, blank_m2 }, c) => {
		const share = blank_m2 / (counted_m2 + blank_m2);
		if (!(share > UNCOUNTED)) return;
		caution(
			`Combine ${field.records.combines[c]}: on ${Math.round(100 * share)}% of the ground it cut, its log has no flow or no seconds per record, or a flow of 0 for minutes on end. No grain is counted there: the field’s weight may be too low, or, where dumps hold that grain, the factor and the yields elsewhere too high. Was a sensor unplugged, or stuck?`,
		);
	});
	unrecordedShares(field.records, run.account).forEach((share, c) => {
		if (!(share > UNRECORDED)) return;
		caution(
			`Combine ${field.records.combines[c]}: ${(100 * share).toFixed(1)}% of its grain came through while its log held nothing, most while the header was up. That much follows from the ground cut within the header-to-sensor delay and the yield before; it is counted at the ends of passes and left off the map.`,
		);
	});
	list.push(...(run.track.remarks ?? []));
	for (const text of reference.remarks ?? []) caution(text);
	for (const text of moistureSlips(field.book, run.moisture)) caution(text);
	const { records, plan } = field;
	for (const text of moistureGaps({ records, track: run.track, moisture: run.moisture, plan })) caution(text);
	for (const text of match.cautions) caution(text);
	for (const text of match.notes) remark(text);
	for (const jump of run.seams.jumps) for (const text of jump.remarks) remark(text);
	if (weighed)
		remark(
			'Do not settle sales or crop shares on cart weights or on this report. Use tickets from a scale approved for trade.',
		);
	return list;
}
