import type { ResultFactor, Run, Statement, StatementKey } from '../model/index.ts';

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

/** A statement's number; one that is not known is left out. */
interface Stated {
	value: number | null | undefined;
	unit: string;
	interval: readonly [number, number] | null;
}

/** Every number shown to people, once; unknown ones are left out. */
export function statementsOf(run: Omit<Run, 'result'>, result: Omit<Run['result'], 'statements'>): Statement[] {
	const list: Statement[] = [];
	const state = (
		what: StatementKey,
		about: string | null,
		{ value, unit, interval }: Stated,
		basis: string,
		source: string,
	) => {
		if (value === null || value === undefined || !Number.isFinite(value)) return;
		const known = interval?.every(Number.isFinite) ? ([interval[0], interval[1]] as [number, number]) : null;
		list.push({ what, about, value, unit, interval: known, basis, source });
	};
	const { totals, reference, clock, field } = result;
	const market = `${field.market_moisture_pct}% moisture`;

	for (const [name, c] of Object.entries(result.combines)) {
		const f = c.factor;
		if (f) {
			const source = sourceOf(f);
			const error: [number, number] = [errorOf(f.interval[1]), errorOf(f.interval[0])];
			const next: [number, number] = [errorOf(f.next_interval[1]), errorOf(f.next_interval[0])];
			state(
				'factor',
				name,
				{ value: f.value, unit: '', interval: f.interval },
				'reference weight per monitor weight, wet, whole field',
				source,
			);
			state(
				'monitor_error',
				name,
				{ value: errorOf(f.value), unit: '%', interval: error },
				'monitor less reference, of reference weight',
				source,
			);
			state(
				'next_dump',
				name,
				{ value: errorOf(f.value), unit: '%', interval: next },
				'the same, expected of one more dump',
				source,
			);
		}
		const wide = NORMAL * (c.lag_u_s ?? Number.NaN);
		const delay = c.lag_s ?? Number.NaN;
		state(
			'delay',
			name,
			{ value: delay, unit: 's', interval: [delay - wide, delay + wide] },
			'header to sensor',
			c.lag_source,
		);
		const { offset_pct, u_pct, source } = c.moisture;
		if (source === 'tickets') {
			const half = NORMAL * u_pct;
			const around: [number, number] = [offset_pct - half, offset_pct + half];
			state(
				'moisture_offset',
				name,
				{ value: offset_pct, unit: 'points', interval: around },
				'ticket less sensor',
				'tickets',
			);
		}
	}

	if (reference.source === 'tickets' && result.dumps.length > 0) {
		const ratio = reference.interval;
		const error: [number, number] = [errorOf(ratio[1]), errorOf(ratio[0])];
		const source = `tickets of ${reference.n} truckloads`;
		const of = run.reference.either
			? 'reference weight per cart weight; the tickets may be wrong'
			: 'ticket weight per cart weight';
		state('cart_ratio', null, { value: reference.ratio, unit: '', interval: ratio }, of, source);
		state(
			'cart_error',
			null,
			{ value: errorOf(reference.ratio), unit: '%', interval: error },
			'cart less ticket, of ticket weight',
			source,
		);
	}
	const uncertain = NORMAL * (clock.u_s ?? Number.NaN);
	const offset = clock.offset_s ?? Number.NaN;
	const around: [number, number] = [offset - uncertain, offset + uncertain];
	state(
		'cart_clock',
		null,
		{ value: offset, unit: 's', interval: around },
		"added to the cart's time gives the logs' time",
		clock.source,
	);

	for (const s of result.seams) {
		const pair = s.pair.join('/');
		const basis = 'first over second on the same ground, wet';
		state(
			'seam_before',
			pair,
			{ value: s.before_pct, unit: '%', interval: s.before_interval },
			`${basis}, as recorded`,
			'seams',
		);
		state(
			'seam_after',
			pair,
			{ value: s.after_pct, unit: '%', interval: s.after_interval },
			`${basis}, corrected`,
			'seams',
		);
	}

	const sources = [
		...new Set(Object.values(result.combines).flatMap((c) => (c.factor ? [sourceOf(c.factor)] : []))),
	].join(', ');
	const level = sources === '' ? 'monitors, as recorded' : `monitors corrected by ${sources}`;
	const bushels = totals.dry_bu_interval;
	const scaled = (by: number): [number, number] | null => (bushels ? [bushels[0] * by, bushels[1] * by] : null);
	const perBushel = totals.dry_kg / totals.dry_bu;
	state(
		'area',
		null,
		{ value: totals.area_ha, unit: 'ha', interval: null },
		'ground cut, overlap counted once',
		'positions and header width',
	);
	state(
		'wet_weight',
		null,
		{ value: totals.corrected_kg, unit: 'kg', interval: totals.corrected_interval },
		'as cut',
		level,
	);
	state('dry_weight', null, { value: totals.dry_kg, unit: 'kg', interval: scaled(perBushel) }, market, level);
	state(
		'dry_bushels',
		null,
		{ value: totals.dry_bu, unit: 'bu', interval: bushels },
		`${market}, ${field.bushel_kg} kg per bushel`,
		level,
	);
	if (totals.area_ha > 0) {
		const per = scaled(perBushel / totals.area_ha);
		state(
			'mean_yield',
			null,
			{ value: totals.dry_kg / totals.area_ha, unit: 'kg/ha', interval: per },
			`${market}; weight and moisture only`,
			level,
		);
	}
	const moisture = 100 - ((100 - field.market_moisture_pct) * totals.dry_kg) / totals.corrected_kg;
	const standIn = run.moisture[0]?.standIn?.from ?? 'monitors';
	if (totals.corrected_kg > 0 && standIn !== 'market') {
		state(
			'mean_moisture',
			null,
			{ value: moisture, unit: '%', interval: null },
			'wet basis, by weight, offsets applied',
			standIn,
		);
	}
	if (totals.cart_kg > 0) {
		state(
			'cart_weight',
			null,
			{ value: totals.cart_kg, unit: 'kg', interval: null },
			'dumps used, as the cart indicated, wet',
			'cart',
		);
	}
	if (totals.ticket_kg > 0)
		state('ticket_weight', null, { value: totals.ticket_kg, unit: 'kg', interval: null }, 'wet', 'tickets');

	state('map_share', null, { value: 100 * keptShare(run), unit: '%', interval: null }, 'of the ground cut', 'flags');
	const cell = 100 * cellError(run.surface.yield_kg_ha, run.surface.se_kg_ha);
	const side = `${run.surface.cell_m} m`;
	state(
		'cell_error',
		null,
		{ value: cell, unit: '%', interval: null },
		`typical standard error of one cell of ${side}`,
		'kriging',
	);
	state(
		'map_weight',
		null,
		{ value: result.closure.mass_pct, unit: '%', interval: null },
		"cells' grain less the field's total",
		'grid',
	);
	return list;
}

/** Monitor's error in percent of the reference for a factor: 1.05 is −4.76 %. */
const errorOf = (factor: number): number => 100 * (1 / factor - 1);

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
