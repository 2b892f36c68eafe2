import { caution, type FieldPlan, type LogPlan, type Note, type Records, remark } from '../../model/index.ts';
import type { Zone } from '../../units/zone.ts';
import type { Head } from '../csv/csv.ts';
import type { FileFaults } from '../faults.ts';
import { Columns, type Place, text, type Wanted } from '../plan/mapping.ts';
import { Clock } from '../time/clock.ts';
import { DistinctTexts } from './distinct-texts.ts';
import type { Growing } from './grow.ts';

const NUMBERS = [
	{ key: 'lat', name: 'lat', kind: 'angle', unit: 'degrees', into: 'lat_deg', needed: true },
	{ key: 'lon', name: 'lon', kind: 'angle', unit: 'degrees', into: 'lon_deg', needed: true },
	{ key: 'interval', name: 'interval_s', kind: 'time', unit: 's', into: 'interval_s', needed: true },
	{ key: 'distance', name: 'distance_m', kind: 'length', unit: 'm', into: 'distance_m', needed: false },
	{ key: 'swath', name: 'swath_m', kind: 'length', unit: 'm', into: 'swath_m', needed: false },
	{ key: 'moisture', name: 'moisture_pct', kind: 'share', unit: '%', into: 'moisture_pct', needed: true },
	{ key: 'speed', name: 'speed_m_s', kind: 'speed', unit: 'm/s', into: 'speed_m_s', needed: false },
	{ key: 'heading', name: 'heading_deg', kind: 'angle', unit: 'degrees', into: 'heading_deg', needed: false },
	{ key: 'elevation', name: 'elevation_m', kind: 'length', unit: 'm', into: 'elevation_m', needed: false },
] as const satisfies readonly (Wanted & { into: keyof Records; needed: boolean })[];

/** Numeric columns in Records. */
export type NumberColumn = (typeof NUMBERS)[number]['into'] | 'flow_kg_s';

const FLOW = { key: 'flow', name: 'flow_kg_s', kind: 'mass per time', unit: 'kg/s' } as const;
const YIELD: Wanted = { key: 'yield', name: 'yield', kind: 'mass per area', unit: 'kg/ha' };
const TIME: Wanted = { key: 'time', name: 'time', kind: 'time', unit: 's' };
const TEXTS = [
	text('combine'),
	text('variety'),
	text('load'),
	text('header', 'header_down'),
	text('auger', 'auger_on'),
];

const KEYS = new Set([...NUMBERS, FLOW, YIELD, TIME, ...TEXTS].map((w) => w.key));

/** What a log is read with, and what is found in it. */
export interface LogContext {
	growing: Growing;
	plan: FieldPlan;
	zone: Zone | null;
	notes: Note[];
}

export interface NumberPlace extends Place {
	into: NumberColumn;
}

export function baseName(file: string): string {
	return (
		file
			.split('/')
			.pop()!
			.replace(/\.[^.]*$/, '') || file
	);
}

/** Columns of a log. */
export interface LogColumns {
	clock: Clock;
	time: Place;
	numbers: readonly NumberPlace[];
	yieldAt: Place | null;
	/** A yield column that is not used, kept to compare with the flow. */
	ownYieldAt: Place | null;
	combine: Place | null;
	/** Index of the combine for rows that name none. */
	ownCombine: number;
	variety: Place | null;
	load: Place | null;
	header: Place | null;
	auger: Place | null;
}

/** Finds every column; null if one is missing or invalid. */
export function logColumns(head: Head, log: LogPlan, context: LogContext, faults: FileFaults): LogColumns | null {
	const columns = new Columns(head.columns, log.columns, context.plan.crop, faults);
	const need = (wanted: Wanted): Place | null => {
		const place = columns.place(wanted);
		if (place === null && !columns.mapped(wanted.key)) columns.missing(wanted.name);
		return place;
	};
	const unknown = Object.keys(log.columns ?? {}).filter((key) => !KEYS.has(key));
	if (unknown.length > 0) {
		context.notes.push(
			caution(
				`${faults.file}: the mapping has entries that are not known and not used: ${unknown.join(', ')} (known: ${[...KEYS].join(', ')}).`,
			),
		);
	}
	const time = need(TIME);
	const timePlan = log.columns?.time;
	if (time !== null && time.index < 0) faults.whole(null, 'time', String(timePlan?.value), 'time must be a column');
	const numbers: NumberPlace[] = [];
	for (const wanted of NUMBERS) {
		const place = wanted.needed ? need(wanted) : columns.place(wanted);
		if (place !== null) numbers.push({ ...place, into: wanted.into });
	}
	swathFromPlan(log, context, numbers, columns);
	distanceMissing(faults.file, context, numbers, columns);
	const byYield = columns.mapped('yield') && !columns.mapped('flow');
	if (columns.mapped('yield') && !byYield) {
		context.notes.push(remark(`${faults.file}: its mapping has both flow and yield; the yield is not used.`));
	}
	const yieldAt = byYield ? yieldPlace(columns, faults) : null;
	const ownYieldAt = columns.mapped('yield') && !byYield ? columns.place(YIELD) : null;
	if (!byYield) {
		const flow = need(FLOW);
		if (flow !== null) numbers.push({ ...flow, into: 'flow_kg_s' });
	}
	if (byYield && !numbers.some((n) => n.into === 'distance_m')) columns.missing('distance_m');
	const [combine = null, variety = null, load = null, header = null, auger = null] = TEXTS.map((w) => columns.place(w));
	for (const text of columns.cautions) context.notes.push(caution(`${faults.file}: ${text}`));
	// Opening the clock may find faults too ("since"), so it comes before the last check.
	const clock = time === null ? null : new Clock(time, context.zone, head.decimalComma, faults);
	if (faults.stop.length > 0 || clock === null || time === null) return null;
	const own = log.combine ?? baseName(log.file);
	const ownCombine =
		combine === null || log.combine !== null ? new DistinctTexts(context.growing.records.combines).of(own) : -1;
	if (combine === null && log.combine === null) {
		context.notes.push(remark(`${faults.file} names no combine; it is called ${own} here.`));
	}
	return { clock, time, numbers, yieldAt, ownYieldAt, combine, ownCombine, variety, load, header, auger };
}

/** A log without a width column takes the header width from field.json. */
function swathFromPlan(log: LogPlan, context: LogContext, numbers: NumberPlace[], columns: Columns): void {
	if (numbers.some((n) => n.into === 'swath_m') || columns.mapped('swath')) return;
	const swath_m = log.combine === null ? null : (context.plan.combines[log.combine]?.swath_m ?? null);
	if (swath_m === null) {
		columns.missing('swath_m');
		return;
	}
	numbers.push({ index: -1, name: 'swath_m', factor: 1, constant: swath_m, text: null, plan: null, into: 'swath_m' });
	context.notes.push(remark(`${log.file} has no width: ${swath_m} m from field.json is used throughout.`));
}

function distanceMissing(file: string, context: LogContext, numbers: readonly NumberPlace[], columns: Columns): void {
	if (numbers.some((n) => n.into === 'distance_m') || columns.mapped('distance')) return;
	context.notes.push(caution(`${file} has no distance_m: distance traveled is computed from the positions.`));
}

function yieldPlace(columns: Columns, faults: FileFaults): Place | null {
	const place = columns.place(YIELD);
	const plan = place?.plan;
	if (place === null || !plan) return null;
	if (plan.basis === undefined) {
		faults.whole(
			null,
			plan.column ?? 'yield',
			'no basis',
			'yield must say "basis": "wet", or "basis": "dry" with "at_pct" (at 22% moisture the two differ by 7.7%)',
		);
	} else if (plan.basis === 'dry' && plan.at_pct === undefined) {
		faults.whole(
			null,
			plan.column ?? 'yield',
			'basis dry',
			'dry yield must say "at_pct": the moisture it is stated at',
		);
	}
	return place;
}
