import type { RawColumn, Role } from '../../formats/index.ts';
import type { Crop } from '../../model/index.ts';
import { CROPS, POUND_KG } from '../../units/index.ts';
import type { ColumnReading, Given, Question } from '../model.ts';
import { usualYield } from '../names/crops.ts';
import { plainName } from '../names/match.ts';
import { type System, sizeOf, UNITS, type Unit } from '../units.ts';
import { middleOf, type Ratio, ratioTo } from './fit.ts';
import { short, statedUnit, type Taking } from './numbers.ts';

/** What is known when grain is looked for: area and seconds of each record, moisture, crop, custom of units. */
export interface GrainContext {
	area_m2: Float64Array;
	interval_s: Float64Array;
	moisture_pct: Float64Array | null;
	crop: Crop | null;
	/** Another crop than the call's that the file names; null: none. */
	other: Crop | null;
	system: System | null;
	given: Given;
	file: string;
}

export interface Grain {
	flow_kg_s: Float64Array;
	/** Weight of a bushel that the file's own yields hold, kg; null where it holds none. */
	bushel_kg: number | null;
	/** What it came from. */
	from: Role;
	questions: Question[];
	notes: string[];
}

interface Guess {
	column: RawColumn;
	role: 'flow' | 'mass' | 'mass_total' | 'yield';
	unit: Unit;
	weight: number;
	/** Yield that it amounts to, kg/ha; NaN where the area is not known. */
	kg_ha: number;
}

/** Units that few use count less where nothing is said. */
const RARE = 0.1;
/** A reading that only the crop's usual yield decides is no surer than this; one by a crop that is disputed is asked about. */
const BY_CROP = 0.85;
const BY_DISPUTED_CROP = 0.7;
/** One in so many files mixes the customs of two countries without saying so. */
const MIXED = 0.06;

/** So many rows are enough to judge units by. */
const ENOUGH = 3000;

/** Rows spread over the log, of every column that units are judged by. */
class Sample {
	private readonly rows: Int32Array;
	private readonly bases = new Map<string, Float64Array>();
	readonly area_m2: Float64Array;
	readonly interval_s: Float64Array;
	readonly moisture_pct: Float64Array | null;

	constructor(private readonly context: GrainContext) {
		const n = context.area_m2.length;
		const step = Math.max(1, Math.floor(n / ENOUGH));
		this.rows = Int32Array.from({ length: Math.floor(n / step) }, (_, k) => k * step);
		this.area_m2 = this.pick(context.area_m2);
		this.interval_s = this.pick(context.interval_s);
		this.moisture_pct = context.moisture_pct && this.pick(context.moisture_pct);
	}

	pick(v: Float64Array): Float64Array {
		return Float64Array.from(this.rows, (i) => v[i] as number);
	}

	/** A column as grain per second, its unit taken for 1. */
	base(column: RawColumn, role: Guess['role']): Float64Array {
		const key = `${role}\t${column.name}`;
		let base = this.bases.get(key);
		if (base === undefined) {
			base = this.pick(perSecond(column, role, this.context.interval_s));
			this.bases.set(key, base);
		}
		return base;
	}
}

/** Finds the grain: a flow, a mass or a counter, or else a yield; null where there is none. */
export function findGrain(taking: Taking, context: GrainContext): Grain | null {
	const yields = yieldColumns(taking);
	const sample = new Sample(context);
	const guesses = (['flow', 'mass', 'mass_total'] as const).flatMap((role) =>
		taking.named(role).flatMap(({ column, score }) => guessesOf(column, role, score, context, sample)),
	);
	agree(guesses, yields, context, sample);
	const total = guesses.reduce((sum, g) => sum + g.weight, 0);
	const best = guesses.reduce<Guess | null>((a, b) => (a === null || b.weight > a.weight ? b : a), null);
	if (best === null || !(total > 0)) return yields.length === 0 ? null : fromYield(taking, yields, context);
	const of = guesses.filter((g) => g.column === best.column);
	const same = guesses.filter(
		(g) => g.column === best.column && g.unit.name === best.unit.name && g.role === best.role,
	);
	const sum = of.reduce((s, g) => s + g.weight, 0);
	const disputed = context.other !== null && !holdsFor(context.other, best, guesses, context.crop);
	const byCrop = disputed || [null, ...CROPS].some((crop) => !holdsFor(crop, best, guesses, context.crop));
	const most = disputed ? BY_DISPUTED_CROP : byCrop ? BY_CROP : 1;
	const sure = Math.min(most, same.reduce((s, g) => s + g.weight, 0) / sum);
	const because = reasons(best, taking, context);
	const decided = byCrop ? `what ${context.crop?.name ?? 'a crop'} usually yields decides it` : '';
	if (byCrop) because.push(decided);
	const together = describe(best, yields, context, sample);
	if (together !== null) because.push(together.told);
	taking.used.add(best.column.name);
	const known = statedUnit(best.column, best.role);
	const certain = best.column.certain === true;
	taking.readings.push({
		column: best.column.name,
		as: best.role,
		unit: best.unit.name,
		sure: certain ? 1 : Math.min(0.99, sure),
		because,
	});
	const out: Grain = {
		flow_kg_s: flowOf(best, context),
		bushel_kg: together?.bushel_kg ?? null,
		from: best.role,
		questions: [],
		notes: [],
	};
	if (!certain && sure < 0.9) {
		const second = of
			.filter((g) => g.unit.name !== best.unit.name || g.role !== best.role)
			.sort((a, b) => b.weight - a.weight);
		const choices = [best, ...second].slice(0, 5).map((g) => g.unit.name);
		out.questions.push({
			about: `unit of ${best.column.name}`,
			text: `Which unit does "${best.column.name}" have? ${known ? `It says ${known.unit.name}. ` : ''}As ${best.unit.name} it amounts to ${short(best.kg_ha / 1000)} t/ha in the middle${second[0] ? `, as ${second[0].unit.name} to ${short(second[0].kg_ha / 1000)} t/ha` : ''}.${byCrop ? ` ${decided[0]?.toUpperCase()}${decided.slice(1)}${disputed ? `, and the file names ${context.other?.name}` : ''}.` : ''}`,
			choices: [...new Set(choices)],
			blocking: sure < 0.8,
			taken: best.unit.name,
			file: context.file,
		});
	}
	for (const y of yields) noteYield(y, out, context, taking);
	return out;
}

/** Would the same be read of another crop? A unit may be another's custom; what the column is must not hang on it. */
function holdsFor(crop: Crop | null, best: Guess, guesses: readonly Guess[], taken: Crop | null): boolean {
	if (best.column.certain) return true;
	const weight = (g: Guess) => (g.weight / plausible(g.kg_ha, taken)) * plausible(g.kg_ha, crop);
	const other = guesses.reduce((a, b) => (weight(b) > weight(a) ? b : a), best);
	return other.column === best.column && other.role === best.role;
}

function guessesOf(
	column: RawColumn,
	role: 'flow' | 'mass' | 'mass_total',
	score: number,
	context: GrainContext,
	sample: Sample,
): Guess[] {
	const values = column.numbers as Float64Array;
	const rises = alwaysRises(values);
	if (role === 'mass_total' ? !rises : rises) return [];
	const answer = context.given[`unit of ${column.name}`];
	const stated = statedUnit(column, role);
	const elsewhere =
		stated === null &&
		(['flow', 'mass', 'yield'] as const).some((r) => r !== role && (statedUnit(column, r)?.sure ?? 0) > 0.9);
	// A unit that its name states and that only another role has speaks for that role.
	if (elsewhere && answer === undefined && !column.certain) return [];
	const middle = middleYield(sample.base(column, role), sample);
	const out: Guess[] = [];
	for (const unit of UNITS[role] ?? []) {
		const kg_ha = middle * sizeOf(unit, context.crop);
		let weight = score ** 2;
		if (typeof answer === 'string' && answer.trim() !== '')
			weight *= answer.toLowerCase().replace(/\s/g, '') === unit.name ? 1e6 : 1e-6;
		else if (column.certain) weight *= stated?.unit.name === unit.name ? 1e6 : 1e-6;
		else if (stated) weight *= stated.unit.name === unit.name ? stated.sure : (1 - stated.sure) * 0.1;
		else weight *= custom(unit, context.system) * (COMMON.has(unit.name) ? 1 : RARE);
		weight *= column.certain ? 1 : plausible(kg_ha, context.crop);
		out.push({ column, role, unit, weight, kg_ha });
	}
	return out;
}

const COMMON = new Set(['kg/s', 'lb/s', 'kg', 'lb', 't/ha', 'kg/ha', 'bu/ac', 'lb/ac']);

const custom = (unit: Unit, system: System | null): number =>
	system === null || unit.system === null ? 0.5 : unit.system === system ? 1 : MIXED;

/** How well a middle yield fits the crop, at most 1. The tail is heavy: forage and failures are cut too. */
function plausible(kg_ha: number, crop: Crop | null): number {
	if (!(kg_ha > 0)) return 0.3;
	const { middle, spread } = usualYield(crop);
	const z = Math.log(kg_ha / middle) / spread;
	return Math.max(1e-4, (1 + (z * z) / 4) ** -4.5);
}

function flowOf(g: Guess, { interval_s, crop }: GrainContext): Float64Array {
	const size = sizeOf(g.unit, crop);
	return perSecond(g.column, g.role, interval_s).map((x) => x * size);
}

/** Grain per second in the column's own unit: a flow as it is, a mass over its seconds, what a counter grew by. */
function perSecond(column: RawColumn, role: Guess['role'], interval_s: Float64Array): Float64Array {
	const v = column.numbers as Float64Array;
	if (role === 'flow') return v;
	if (role === 'mass') return v.map((x, i) => x / (interval_s[i] as number));
	return v.map((x, i) => {
		const step = i === 0 ? 0 : x - (v[i - 1] as number);
		return step < 0 ? Number.NaN : step / (interval_s[i] as number);
	});
}

/** Middle of grain over ground, over records with both, per hectare. */
function middleYield(flow: Float64Array, { area_m2, interval_s }: Sample): number {
	const out: number[] = [];
	for (let i = 0; i < flow.length; i++) {
		const grain = (flow[i] as number) * (interval_s[i] as number);
		if (grain > 0 && (area_m2[i] as number) > 0.5) out.push((grain / (area_m2[i] as number)) * 10_000);
	}
	return middleOf(out);
}

function alwaysRises(v: Float64Array): boolean {
	let up = 0;
	let down = 0;
	for (let i = 1; i < v.length; i++) {
		if ((v[i] as number) > (v[i - 1] as number)) up++;
		else if ((v[i] as number) < (v[i - 1] as number)) down++;
	}
	return up > 0.5 * v.length && down < 0.01 * v.length;
}

interface YieldColumn {
	column: RawColumn;
	score: number;
	basis: 'wet' | 'dry' | null;
	stated: { unit: Unit; sure: number } | null;
	/** Yield over what flow and ground give; filled in by `agree`. */
	told: string | null;
	unit: Unit | null;
}

/** Columns of yields, with the basis that their names state. */
function yieldColumns(taking: Taking): YieldColumn[] {
	return taking.named('yield', 0.5).map(({ column, score }) => {
		const { words, brackets } = plainName(`${column.name} ${column.title ?? ''}`);
		const all = [...words, ...brackets.join(' ').toLowerCase().split(/\W+/)];
		const dry = all.some((w) => /^(dry|trocken|sec|seco|secca)$/.test(w)) || /_d_?$/.test(column.name);
		const wet = all.some((w) => /^(wet|feucht|nass|humide|humedo|brut)$/.test(w)) || /_w_?$/.test(column.name);
		return {
			column,
			score,
			basis: column.basis ?? (dry === wet ? null : dry ? 'dry' : 'wet'),
			stated: statedUnit(column, 'yield'),
			told: null,
			unit: null,
		};
	});
}

/** Pounds of a bushel that are in use. */
const BUSHELS_LB = [56, 60, 48, 32, 50, 45, 54, 52, 58, 36, 38];

/**
 * Where a yield was computed from the flow, their units must go together: weights the guesses by that.
 */
function agree(guesses: Guess[], yields: YieldColumn[], context: GrainContext, sample: Sample): void {
	const top = new Map<RawColumn, number>();
	for (const g of guesses) top.set(g.column, Math.max(top.get(g.column) ?? 0, g.weight));
	for (const y of yields) {
		const v = sample.pick(y.column.numbers as Float64Array);
		const fits = new Map<Float64Array, { ratio: Ratio; asDry: boolean }>();
		for (const g of guesses) {
			const base = sample.base(g.column, g.role);
			let fitted = fits.get(base);
			if (fitted === undefined) {
				fitted = overGround(v, base, sample);
				fits.set(base, fitted);
			}
			const { asDry } = fitted;
			const ratio = { ...fitted.ratio, ratio: fitted.ratio.ratio * sizeOf(g.unit, context.crop) };
			if (ratio.n < 30 || ratio.spread > 0.08) continue;
			if (y.basis === null) y.basis = asDry ? 'dry' : 'wet';
			const fit = yieldUnit(ratio.ratio, y, context, asDry);
			g.weight *= 1 + 40 * Math.exp(-((Math.log(fit.off) / 0.02) ** 2) / 2) * (fit.usual ? 1 : 0.35);
			if (fit.off < 1.04 && g.weight > (top.get(g.column) ?? 0)) top.set(g.column, g.weight);
		}
	}
}

/** Says of each yield how it follows from the grain that was chosen, and which bushel it holds. */
function describe(
	g: Guess,
	yields: YieldColumn[],
	context: GrainContext,
	sample: Sample,
): { told: string; bushel_kg: number | null } | null {
	let best: { told: string; bushel_kg: number | null; off: number } | null = null;
	for (const y of yields) {
		const { ratio, asDry } = overGround(
			sample.pick(y.column.numbers as Float64Array),
			sample.base(g.column, g.role),
			sample,
		);
		if (ratio.n < 30 || ratio.spread > 0.08) continue;
		const fit = yieldUnit(ratio.ratio * sizeOf(g.unit, context.crop), y, context, asDry);
		if (fit.off > 1.04) continue;
		y.unit = fit.unit;
		y.told = `it is flow over distance and width in ${fit.told}${asDry ? ', dried' : ''}`;
		const off = fit.off + (fit.bushel_kg === null ? 1 : 0);
		if (best === null || off < best.off) {
			best = {
				told: `"${y.column.name}" is it over distance and width, in ${fit.told}`,
				bushel_kg: fit.bushel_kg,
				off,
			};
		}
	}
	return best;
}

/** How a yield stands to grain over ground, wet or dried by its moisture, whichever it follows more closely. */
function overGround(v: Float64Array, flow: Float64Array, sample: Sample): { ratio: Ratio; asDry: boolean } {
	const { area_m2, interval_s, moisture_pct } = sample;
	const raw = flow.map((f, i) => ((f * (interval_s[i] as number)) / (area_m2[i] as number)) * 10_000);
	const wet = ratioTo(v, raw);
	if (moisture_pct === null) return { ratio: wet, asDry: false };
	const dried = raw.map((r, i) => (r * (100 - (moisture_pct[i] as number))) / 100);
	const dry = ratioTo(v, dried);
	const asDry = dry.spread < 0.6 * wet.spread && wet.spread > 2e-4;
	return { ratio: asDry ? dry : wet, asDry };
}

/** The unit in which a yield is `ratio` kg/ha for one; bushels of any weight in use. */
function yieldUnit(ratio: number, y: YieldColumn, { crop }: GrainContext, dry: boolean) {
	let best = {
		unit: null as Unit | null,
		off: Number.POSITIVE_INFINITY,
		told: '',
		bushel_kg: null as number | null,
		usual: true,
	};
	const share = dry ? (100 - (crop?.market_moisture_pct ?? 14)) / 100 : 1;
	for (const unit of UNITS.yield as readonly Unit[]) {
		if (y.stated && y.stated.sure > 0.9 && y.stated.unit.name !== unit.name) continue;
		if (!COMMON.has(unit.name) && !y.stated && unit.name !== 'dt/ha') continue;
		const weights = unit.bushel ? BUSHELS_LB.map((lb) => lb * POUND_KG) : [1];
		for (const bushel_kg of weights) {
			const off = Math.exp(Math.abs(Math.log(ratio / (unit.size * bushel_kg * share))));
			const usual = !unit.bushel || crop === null || Math.abs(bushel_kg - crop.bushel_kg) < 0.05;
			if (off * (usual ? 1 : 1.01) < best.off) {
				const told = unit.bushel ? `${unit.name} of ${Math.round(bushel_kg / POUND_KG)} lb` : unit.name;
				best = { unit, off, told, bushel_kg: unit.bushel ? bushel_kg : null, usual };
			}
		}
	}
	return best;
}

function reasons(g: Guess, taking: Taking, context: GrainContext): string[] {
	const out: string[] = [];
	if (g.column.certain) out.push('the file’s own standard says so');
	else if (taking.nameScore(g.column, g.role) > 0) out.push(`the name "${g.column.name}"`);
	const stated = statedUnit(g.column, g.role);
	if (typeof context.given[`unit of ${g.column.name}`] === 'string') out.push('unit as answered');
	else if (stated) out.push(stated.by);
	else if (context.system) out.push(`the other columns are in ${context.system === 'us' ? 'US' : 'metric'} units`);
	if (g.kg_ha > 0)
		out.push(
			`it amounts to ${short(g.kg_ha / 1000)} t/ha in the middle${context.crop ? ` of ${context.crop.name}` : ''}`,
		);
	return out;
}

function noteYield(y: YieldColumn, out: Grain, context: GrainContext, taking: Taking): void {
	taking.used.add(y.column.name);
	taking.readings.push({
		column: y.column.name,
		as: 'yield',
		unit: (y.unit ?? y.stated?.unit)?.name ?? null,
		...(y.basis ? { basis: y.basis } : {}),
		sure: y.told ? 0.95 : Math.min(0.8, y.score),
		because: [
			`the name "${y.column.name}"`,
			y.told ?? 'it does not follow from flow, distance and width of the same record',
			'not needed: the flow is used',
		],
	});
	const lb = out.bushel_kg === null ? null : Math.round(out.bushel_kg / POUND_KG);
	if (
		y.told &&
		y.unit?.bushel &&
		lb !== null &&
		context.crop &&
		Math.abs(lb * POUND_KG - context.crop.bushel_kg) > 0.1
	) {
		out.notes.push(
			`"${y.column.name}" counts bushels of ${lb} lb, though ${context.crop.name}’s is ${Math.round(context.crop.bushel_kg / POUND_KG)} lb; the flow is used, so masses are not touched`,
		);
	}
	if (y.told === null && y.basis !== null) {
		out.notes.push(
			`"${y.column.name}" is no plain quotient of this file’s flow, distance and width: it may be shifted in time or smoothed`,
		);
	}
}

/** No flow: the flow is made of the yield, its ground and its seconds. */
function fromYield(taking: Taking, yields: YieldColumn[], context: GrainContext): Grain | null {
	const answer = basisGiven(context.given['basis of yield']);
	const order = [...yields].sort(
		(a, b) => (b.basis === 'wet' ? 1 : 0) - (a.basis === 'wet' ? 1 : 0) || b.score - a.score,
	);
	const y = order[0] as YieldColumn;
	const basis = answer?.basis ?? y.basis;
	const v = y.column.numbers as Float64Array;
	const guesses: { unit: Unit; weight: number; kg_ha: number }[] = [];
	const asked = context.given[`unit of ${y.column.name}`];
	const middle = middleOf([...v].filter((x) => x > 0));
	for (const unit of UNITS.yield as readonly Unit[]) {
		const kg_ha = middle * sizeOf(unit, context.crop);
		let weight = custom(unit, context.system) * (COMMON.has(unit.name) ? 1 : RARE);
		if (typeof asked === 'string') weight = asked.toLowerCase().replace(/\s/g, '') === unit.name ? 1 : 1e-9;
		else if (y.stated) weight = y.stated.unit.name === unit.name ? y.stated.sure : (1 - y.stated.sure) * 0.1;
		guesses.push({ unit, weight: weight * plausible(kg_ha, context.crop), kg_ha });
	}
	guesses.sort((a, b) => b.weight - a.weight);
	const best = guesses[0] as (typeof guesses)[number];
	const sure = best.weight / guesses.reduce((s, g) => s + g.weight, 0);
	const at_pct = answer?.at_pct ?? context.crop?.market_moisture_pct ?? 0;
	const size = sizeOf(best.unit, context.crop);
	const { area_m2, interval_s, moisture_pct } = context;
	const flow_kg_s = v.map((x, i) => {
		const m = moisture_pct?.[i] ?? Number.NaN;
		const wet = basis === 'dry' ? (x * (100 - at_pct)) / (100 - m) : x;
		return (wet * size * (area_m2[i] as number)) / 10_000 / (interval_s[i] as number);
	});
	const out: Grain = { flow_kg_s, bushel_kg: null, from: 'yield', questions: [], notes: [] };
	const reading: ColumnReading = {
		column: y.column.name,
		as: 'yield',
		unit: best.unit.name,
		sure: y.column.certain ? 1 : Math.min(0.99, sure, Math.max(0.6, y.score)),
		because: [
			`the name "${y.column.name}"`,
			`it amounts to ${short(best.kg_ha / 1000)} t/ha in the middle`,
			'no column of flow: the flow is yield × distance × width over the seconds of a record',
		],
	};
	if (basis) reading.basis = basis;
	if (basis === 'dry') reading.at_pct = at_pct;
	taking.readings.push(reading);
	for (const one of yields) taking.used.add(one.column.name);
	if (basis === null) {
		out.questions.push({
			about: 'basis of yield',
			text: `Is "${y.column.name}" wet (as it came off the field) or dry (at market moisture)?`,
			choices: ['wet', `dry at ${context.crop?.market_moisture_pct ?? 14}`],
			blocking: true,
			taken: 'wet',
			file: context.file,
		});
	} else if (basis === 'dry' && answer === null) {
		out.notes.push(`"${y.column.name}" is dry: market moisture of ${at_pct} % is taken for what it is dried to`);
	}
	if (!y.column.certain && sure < 0.9) {
		out.questions.push({
			about: `unit of ${y.column.name}`,
			text: `Which unit does "${y.column.name}" have? Its middle value is ${short(middle)}.`,
			choices: guesses.slice(0, 5).map((g) => g.unit.name),
			blocking: sure < 0.8,
			taken: best.unit.name,
			file: context.file,
		});
	}
	return out;
}

function basisGiven(answer: unknown): { basis: 'wet' | 'dry'; at_pct: number | null } | null {
	if (typeof answer === 'object' && answer !== null) {
		const raw = answer as Record<string, unknown>;
		if (raw.basis === 'wet' || raw.basis === 'dry')
			return { basis: raw.basis, at_pct: raw.at_pct === undefined ? null : Number(raw.at_pct) };
	}
	if (typeof answer !== 'string') return null;
	const text = answer.toLowerCase();
	if (/wet|as is|feucht/.test(text)) return { basis: 'wet', at_pct: null };
	if (!/dry|trocken/.test(text)) return null;
	const at = /(\d+(?:\.\d+)?)/.exec(text)?.[1];
	return { basis: 'dry', at_pct: at === undefined ? null : Number(at) };
}
