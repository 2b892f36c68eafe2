import type { Result, ResultFactor, Run, Statement, StatementKey } from '../../model/index.ts';

/** Half-width of a 95 % interval in standard deviations, normal distribution. */
const NORMAL = 1.96;

/** Words for a factor's sources. */
const SOURCES: Record<string, string> = {
	dumps: 'cart weights',
	tickets: 'tickets',
	total: 'one weight of the whole field',
	seams: 'seams with another combine',
	pinned: 'set by hand',
};

type Interval = readonly [number, number];

/** A statement about one thing; one whose number is not known is left out. */
type Row = [
	what: StatementKey,
	value: number | null | undefined,
	unit: string,
	interval: Interval | null,
	basis: string,
	source: string,
];

/** Every number shown to people, once; unknown ones are left out. */
export function statementsOf(run: Omit<Run, 'result'>, result: Omit<Run['result'], 'statements'>): Statement[] {
	return [
		...Object.entries(result.combines).flatMap(([name, c]) => about(name, ofCombine(c))),
		...about(null, ofCart(run, result)),
		...result.seams.flatMap((s) => about(s.pair.join('/'), ofSeam(s))),
		...about(null, ofField(run, result)),
		...about(null, ofMap(run, result)),
	];
}

function about(thing: string | null, rows: readonly Row[]): Statement[] {
	return rows.flatMap(([what, value, unit, interval, basis, source]) => {
		if (value === null || value === undefined || !Number.isFinite(value)) return [];
		const known: [number, number] | null = interval?.every(Number.isFinite) ? [interval[0], interval[1]] : null;
		return [{ what, about: thing, value, unit, interval: known, basis, source }];
	});
}

/** A value, and its 95 % interval by a standard uncertainty. */
const within = (value: number, u: number): [number, Interval] => [value, [value - NORMAL * u, value + NORMAL * u]];

function ofCombine({ factor, lag_s, lag_u_s, lag_source, moisture }: Result['combines'][string]): Row[] {
	const [delay, delays] = within(lag_s ?? Number.NaN, lag_u_s ?? Number.NaN);
	const [offset, offsets] = within(moisture.offset_pct, moisture.u_pct);
	const rows: Row[] = [['delay', delay, 's', delays, 'header to sensor', lag_source]];
	if (factor) {
		const { value, interval, next_interval } = factor;
		const source = sourceOf(factor);
		const error = errorOf(value);
		rows.unshift(
			['factor', value, '', interval, 'reference weight per monitor weight, wet, whole field', source],
			['monitor_error', error, '%', errors(interval), 'monitor less reference, of reference weight', source],
			['next_dump', error, '%', errors(next_interval), 'the same, expected of one more dump', source],
		);
	}
	if (moisture.source === 'tickets')
		rows.push(['moisture_offset', offset, 'points', offsets, 'ticket less sensor', 'tickets']);
	return rows;
}

function ofCart(run: Omit<Run, 'result'>, { reference, clock, dumps }: Omit<Result, 'statements'>): Row[] {
	const rows: Row[] = [];
	if (reference.source === 'tickets' && dumps.length > 0) {
		const { ratio, interval } = reference;
		const source = `tickets of ${reference.n} truckloads`;
		const basis = run.reference.either
			? 'reference weight per cart weight; the tickets may be wrong'
			: 'ticket weight per cart weight';
		rows.push(
			['cart_ratio', ratio, '', interval, basis, source],
			['cart_error', errorOf(ratio), '%', errors(interval), 'cart less ticket, of ticket weight', source],
		);
	}
	const [offset, offsets] = within(clock.offset_s ?? Number.NaN, clock.u_s ?? Number.NaN);
	rows.push(['cart_clock', offset, 's', offsets, "added to the cart's time gives the logs' time", clock.source]);
	return rows;
}

function ofSeam(s: Result['seams'][number]): Row[] {
	const basis = 'first over second on the same ground, wet';
	return [
		['seam_before', s.before_pct, '%', s.before_interval, `${basis}, as recorded`, 'seams'],
		['seam_after', s.after_pct, '%', s.after_interval, `${basis}, corrected`, 'seams'],
	];
}

function ofField(run: Omit<Run, 'result'>, { totals, field, combines }: Omit<Result, 'statements'>): Row[] {
	const { area_ha, corrected_kg, corrected_interval, dry_kg, dry_bu, dry_bu_interval, cart_kg, ticket_kg } = totals;
	const sources = new Set(Object.values(combines).flatMap((c) => (c.factor ? [sourceOf(c.factor)] : [])));
	const level = sources.size === 0 ? 'monitors, as recorded' : `monitors corrected by ${[...sources].join(', ')}`;
	const market = `${field.market_moisture_pct}% moisture`;
	const bushels = `${market}, ${field.bushel_kg} kg per bushel`;
	const scaled = (by: number): Interval | null =>
		dry_bu_interval ? [dry_bu_interval[0] * by, dry_bu_interval[1] * by] : null;
	const perBushel = dry_kg / dry_bu;
	const mean = area_ha > 0 ? dry_kg / area_ha : null;
	const standIn = run.moisture[0]?.standIn?.from ?? 'monitors';
	const moisture =
		corrected_kg > 0 && standIn !== 'market' ? 100 - ((100 - field.market_moisture_pct) * dry_kg) / corrected_kg : null;
	return [
		['area', area_ha, 'ha', null, 'area cut, overlap counted once', 'positions and header width'],
		['wet_weight', corrected_kg, 'kg', corrected_interval ?? null, 'as cut', level],
		['dry_weight', dry_kg, 'kg', scaled(perBushel), market, level],
		['dry_bushels', dry_bu, 'bu', dry_bu_interval ?? null, bushels, level],
		['mean_yield', mean, 'kg/ha', scaled(perBushel / area_ha), `${market}; weight and moisture only`, level],
		['mean_moisture', moisture, '%', null, 'wet basis, by weight, offsets applied', standIn],
		['cart_weight', cart_kg > 0 ? cart_kg : null, 'kg', null, 'dumps used, as the cart indicated, wet', 'cart'],
		['ticket_weight', ticket_kg > 0 ? ticket_kg : null, 'kg', null, 'wet', 'tickets'],
	];
}

function ofMap(run: Omit<Run, 'result'>, { closure }: Omit<Result, 'statements'>): Row[] {
	const { yield_kg_ha, se_kg_ha, cell_m } = run.surface;
	const error = 100 * cellError(yield_kg_ha, se_kg_ha);
	return [
		['map_share', 100 * keptShare(run), '%', null, 'of the area cut', 'flags'],
		['cell_error', error, '%', null, `typical standard error of one cell of ${cell_m} m`, 'kriging'],
		['map_weight', closure.mass_pct, '%', null, "cells' grain less the field's total", 'grid'],
	];
}

/** Monitor's error in percent of the reference for a factor: 1.05 is −4.76 %. */
const errorOf = (factor: number): number => 100 * (1 / factor - 1);

const errors = ([low, high]: Interval): Interval => [errorOf(high), errorOf(low)];

function sourceOf(f: ResultFactor): string {
	const name = SOURCES[f.source] ?? f.source;
	return f.source === 'dumps' ? `${name}, ${f.n} dumps` : name;
}

/** Ground of the records on the map over all ground cut, 0…1. */
export function keptShare({ yields, track }: Omit<Run, 'result'>): number {
	let kept = 0;
	let all = 0;
	for (let i = 0; i < yields.flag.length; i++) {
		const a = track.area_m2[i]!;
		if (!(a > 0)) continue;
		all += a;
		if (yields.flag[i] === 0) kept += a;
	}
	return kept / all;
}

/** Root mean square of the cells' relative standard errors. */
function cellError(yield_kg_ha: Float32Array, se_kg_ha: Float32Array): number {
	let sum = 0;
	let n = 0;
	for (let k = 0; k < yield_kg_ha.length; k++) {
		const share = se_kg_ha[k]! / yield_kg_ha[k]!;
		if (!Number.isFinite(share)) continue;
		sum += share * share;
		n++;
	}
	return Math.sqrt(sum / n);
}
