/** Columns that may hold the grain, and units: each guess with a weight. */

import type { Role } from '../../formats/index.ts';
import { type Crop, remembered } from '../../model/index.ts';
import { upperMedian } from '../../stats/median.ts';
import { type System, sizeOf, type Unit } from '../../units/index.ts';
import type { Columns, NumberColumn } from '../log/column-roles.ts';
import type { Question } from '../model.ts';
import { usualYield } from '../names/crop-names.ts';
import { statedUnit, UNITS } from '../units/units.ts';

/** What is known when grain is searched for: area and seconds of each record, moisture, crop, customary units. */
export interface GrainContext {
	area_m2: Float64Array;
	interval_s: Float64Array;
	moisture_pct: Float64Array | null;
	crop: Crop | null;
	/** A crop named in the file that differs from the call's; null: none. */
	other: Crop | null;
	system: System | null;
}

export interface Guess {
	column: NumberColumn;
	role: 'flow' | 'mass' | 'mass_total' | 'yield';
	unit: Unit;
	weight: number;
	/** Yield that it implies, kg/ha; NaN if the area is not known. */
	kg_ha: number;
}

/** Rare units get less weight unless stated. */
export const RARE = 0.1;

/** Share of files that mix the units of two countries without saying so. */
const MIXED = 0.06;

/** Number of rows that is enough to judge units by. */
const ENOUGH = 3000;

/** Rows spread over the log, of every column used to judge units. */
export class Sample {
	private readonly rows: Int32Array;
	private readonly bases = new Map<string, Float64Array>();
	readonly area_m2: Float64Array;
	readonly interval_s: Float64Array;
	readonly moisture_pct: Float64Array | null;

	constructor(readonly context: GrainContext) {
		const n = context.area_m2.length;
		const step = Math.max(1, Math.floor(n / ENOUGH));
		this.rows = Int32Array.from({ length: Math.floor(n / step) }, (_, k) => k * step);
		this.area_m2 = this.pick(context.area_m2);
		this.interval_s = this.pick(context.interval_s);
		this.moisture_pct = context.moisture_pct && this.pick(context.moisture_pct);
	}

	pick(v: Float64Array): Float64Array {
		return Float64Array.from(this.rows, (i) => v[i]!);
	}

	/** A column as grain per second, for a unit of size 1. */
	base(column: NumberColumn, role: Guess['role']): Float64Array {
		const { interval_s } = this.context;
		return remembered(this.bases, `${role}\t${column.name}`, () => this.pick(perSecond(column, role, interval_s)));
	}
}

/** Whether the reading would be the same for another crop. The unit may depend on the crop; what the column is must not. */
export function holdsFor(crop: Crop | null, best: Guess, guesses: readonly Guess[], taken: Crop | null): boolean {
	if (best.column.certain) return true;
	const weight = (g: Guess) => (g.weight / plausible(g.kg_ha, taken)) * plausible(g.kg_ha, crop);
	const other = guesses.reduce((a, b) => (weight(b) > weight(a) ? b : a), best);
	return other.column === best.column && other.role === best.role;
}

/** Every unit that the columns named for a role may be in, each with its weight. */
export function guessesOf(columns: Columns, role: 'flow' | 'mass' | 'mass_total', sample: Sample): Guess[] {
	return columns
		.numbersByName(role)
		.filter(({ column }) => alwaysRises(column.numbers) === (role === 'mass_total'))
		.flatMap(({ column, score }) => unitGuesses(column, role, score, columns.given[`unit of ${column.name}`], sample));
}

function unitGuesses(
	column: NumberColumn,
	role: 'flow' | 'mass' | 'mass_total',
	score: number,
	answer: unknown,
	sample: Sample,
): Guess[] {
	const { crop, system } = sample.context;
	const stated = statedUnit(column, role);
	const elsewhere =
		stated === null &&
		(['flow', 'mass', 'yield'] as const).some((r) => r !== role && (statedUnit(column, r)?.sure ?? 0) > 0.9);
	// A unit in the name that belongs to another role is evidence for that role.
	if (elsewhere && answer === undefined && !column.certain) return [];
	const middle = middleYield(sample.base(column, role), sample);
	return (UNITS[role] ?? []).map((unit) => {
		const kg_ha = middle * sizeOf(unit, crop);
		let weight = score ** 2;
		if (typeof answer === 'string' && answer.trim() !== '')
			weight *= answer.toLowerCase().replace(/\s/g, '') === unit.name ? 1e6 : 1e-6;
		else if (column.certain) weight *= stated?.unit.name === unit.name ? 1e6 : 1e-6;
		else if (stated) weight *= stated.unit.name === unit.name ? stated.sure : (1 - stated.sure) * 0.1;
		else weight *= custom(unit, system) * (COMMON.has(unit.name) ? 1 : RARE);
		weight *= column.certain ? 1 : plausible(kg_ha, crop);
		return { column, role, unit, weight, kg_ha };
	});
}

export const COMMON = new Set(['kg/s', 'lb/s', 'kg', 'lb', 't/ha', 'kg/ha', 'bu/ac', 'lb/ac']);

export const custom = (unit: Unit, system: System | null): number =>
	system === null || unit.system === null ? 0.5 : unit.system === system ? 1 : MIXED;

/** How well a median yield fits the crop, at most 1. The tail is heavy: forage and failures are harvested too. */
export function plausible(kg_ha: number, crop: Crop | null): number {
	if (!(kg_ha > 0)) return 0.3;
	const { middle, spread } = usualYield(crop);
	const z = Math.log(kg_ha / middle) / spread;
	return Math.max(1e-4, (1 + (z * z) / 4) ** -4.5);
}

/** Grain per second in the column's own unit: a flow as it is, a mass divided by its seconds, the steps of a counter. */
export function perSecond(column: NumberColumn, role: Guess['role'], interval_s: Float64Array): Float64Array {
	const v = column.numbers;
	if (role === 'flow') return v;
	if (role === 'mass') return v.map((x, i) => x / interval_s[i]!);
	return v.map((x, i) => {
		const step = i === 0 ? 0 : x - v[i - 1]!;
		return step < 0 ? Number.NaN : step / interval_s[i]!;
	});
}

/** Median of grain over ground, over records with both, per hectare. */
function middleYield(flow: Float64Array, { area_m2, interval_s }: Sample): number {
	const out: number[] = [];
	for (let i = 0; i < flow.length; i++) {
		const grain = flow[i]! * interval_s[i]!;
		if (grain > 0 && area_m2[i]! > 0.5) out.push((grain / area_m2[i]!) * 10_000);
	}
	return upperMedian(out);
}

function alwaysRises(v: Float64Array): boolean {
	let up = 0;
	let down = 0;
	for (let i = 1; i < v.length; i++) {
		if (v[i]! > v[i - 1]!) up++;
		else if (v[i]! < v[i - 1]!) down++;
	}
	return up > 0.5 * v.length && down < 0.01 * v.length;
}

export interface Grain {
	flow_kg_s: Float64Array;
	/** Bushel weight implied by the file's own yields, kg; null if there is none. */
	bushel_kg: number | null;
	/** Column or counter that it came from. */
	from: Role;
	questions: Question[];
	notes: string[];
}
