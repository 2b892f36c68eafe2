import type { ResultFactor, Run, Statement } from '../model/index.ts';

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

/** A statement as it is made: a value that is not known leaves it out. */
interface Stated extends Omit<Statement, 'value' | 'interval'> {
	value: number | null | undefined;
	interval: readonly [number, number] | null;
}

/** Every number shown to people, once; unknown ones are left out. */
export function statementsOf(run: Omit<Run, 'result'>, result: Omit<Run['result'], 'statements'>): Statement[] {
	const list: Statement[] = [];
	const state = ({ what, about, value, unit, interval, basis, source }: Stated) => {
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
			state({
				what: 'factor',
				about: name,
				value: f.value,
				unit: '',
				interval: f.interval,
				basis: 'reference weight per monitor weight, wet, whole field',
				source,
			});
			state({
				what: 'monitor_error',
				about: name,
				value: errorOf(f.value),
				unit: '%',
				interval: error,
				basis: 'monitor less reference, of reference weight',
				source,
			});
			state({
				what: 'next_dump',
				about: name,
				value: errorOf(f.value),
				unit: '%',
				interval: next,
				basis: 'the same, expected of one more dump',
				source,
			});
		}
		const wide = NORMAL * (c.lag_u_s ?? Number.NaN);
		const delay = c.lag_s ?? Number.NaN;
		state({
			what: 'delay',
			about: name,
			value: delay,
			unit: 's',
			interval: [delay - wide, delay + wide],
			basis: 'header to sensor',
			source: c.lag_source,
		});
		const { offset_pct, u_pct, source } = c.moisture;
		if (source === 'tickets') {
			const half = NORMAL * u_pct;
			const around: [number, number] = [offset_pct - half, offset_pct + half];
			state({
				what: 'moisture_offset',
				about: name,
				value: offset_pct,
				unit: 'points',
				interval: around,
				basis: 'ticket less sensor',
				source: 'tickets',
			});
		}
	}

	if (reference.source === 'tickets' && result.dumps.length > 0) {
		const ratio = reference.interval;
		const error: [number, number] = [errorOf(ratio[1]), errorOf(ratio[0])];
		const source = `tickets of ${reference.n} truckloads`;
		const of = run.reference.either
			? 'reference weight per cart weight; the tickets may be wrong'
			: 'ticket weight per cart weight';
		state({ what: 'cart_ratio', about: null, value: reference.ratio, unit: '', interval: ratio, basis: of, source });
		state({
			what: 'cart_error',
			about: null,
			value: errorOf(reference.ratio),
			unit: '%',
			interval: error,
			basis: 'cart less ticket, of ticket weight',
			source,
		});
	}
	const uncertain = NORMAL * (clock.u_s ?? Number.NaN);
	const offset = clock.offset_s ?? Number.NaN;
	const around: [number, number] = [offset - uncertain, offset + uncertain];
	state({
		what: 'cart_clock',
		about: null,
		value: offset,
		unit: 's',
		interval: around,
		basis: "added to the cart's time gives the logs' time",
		source: clock.source,
	});

	for (const s of result.seams) {
		const pair = s.pair.join('/');
		const basis = 'first over second on the same ground, wet';
		state({
			what: 'seam_before',
			about: pair,
			value: s.before_pct,
			unit: '%',
			interval: s.before_interval,
			basis: `${basis}, as recorded`,
			source: 'seams',
		});
		state({
			what: 'seam_after',
			about: pair,
			value: s.after_pct,
			unit: '%',
			interval: s.after_interval,
			basis: `${basis}, corrected`,
			source: 'seams',
		});
	}

	const sources = [
		...new Set(Object.values(result.combines).flatMap((c) => (c.factor ? [sourceOf(c.factor)] : []))),
	].join(', ');
	const level = sources === '' ? 'monitors, as recorded' : `monitors corrected by ${sources}`;
	const bushels = totals.dry_bu_interval;
	const scaled = (by: number): [number, number] | null => (bushels ? [bushels[0] * by, bushels[1] * by] : null);
	const perBushel = totals.dry_kg / totals.dry_bu;
	state({
		what: 'area',
		about: null,
		value: totals.area_ha,
		unit: 'ha',
		interval: null,
		basis: 'ground cut, overlap counted once',
		source: 'positions and header width',
	});
	state({
		what: 'wet_weight',
		about: null,
		value: totals.corrected_kg,
		unit: 'kg',
		interval: totals.corrected_interval,
		basis: 'as cut',
		source: level,
	});
	state({
		what: 'dry_weight',
		about: null,
		value: totals.dry_kg,
		unit: 'kg',
		interval: scaled(perBushel),
		basis: market,
		source: level,
	});
	state({
		what: 'dry_bushels',
		about: null,
		value: totals.dry_bu,
		unit: 'bu',
		interval: bushels,
		basis: `${market}, ${field.bushel_kg} kg per bushel`,
		source: level,
	});
	if (totals.area_ha > 0) {
		const per = scaled(perBushel / totals.area_ha);
		state({
			what: 'mean_yield',
			about: null,
			value: totals.dry_kg / totals.area_ha,
			unit: 'kg/ha',
			interval: per,
			basis: `${market}; weight and moisture only`,
			source: level,
		});
	}
	const moisture = 100 - ((100 - field.market_moisture_pct) * totals.dry_kg) / totals.corrected_kg;
	if (totals.corrected_kg > 0) {
		state({
			what: 'mean_moisture',
			about: null,
			value: moisture,
			unit: '%',
			interval: null,
			basis: 'wet basis, by weight, offsets applied',
			source: 'monitors',
		});
	}
	if (totals.cart_kg > 0) {
		state({
			what: 'cart_weight',
			about: null,
			value: totals.cart_kg,
			unit: 'kg',
			interval: null,
			basis: 'dumps used, as the cart indicated, wet',
			source: 'cart',
		});
	}
	if (totals.ticket_kg > 0)
		state({
			what: 'ticket_weight',
			about: null,
			value: totals.ticket_kg,
			unit: 'kg',
			interval: null,
			basis: 'wet',
			source: 'tickets',
		});

	state({
		what: 'map_share',
		about: null,
		value: 100 * keptShare(run),
		unit: '%',
		interval: null,
		basis: 'of the ground cut',
		source: 'flags',
	});
	const cell = 100 * cellError(run.surface.yield_kg_ha, run.surface.se_kg_ha);
	const side = `${run.surface.cell_m} m`;
	state({
		what: 'cell_error',
		about: null,
		value: cell,
		unit: '%',
		interval: null,
		basis: `typical standard error of one cell of ${side}`,
		source: 'kriging',
	});
	state({
		what: 'map_weight',
		about: null,
		value: result.closure.mass_pct,
		unit: '%',
		interval: null,
		basis: "cells' grain less the field's total",
		source: 'grid',
	});
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
