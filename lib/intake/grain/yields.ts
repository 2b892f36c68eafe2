/** A log's own yields compared with the grain that was found. */
import { type Crop, remembered } from '../../model/index.ts';
import { POUND_KG, sizeOf, type Unit } from '../../units/index.ts';
import type { Columns, NumberColumn } from '../log/column-roles.ts';
import { plainName } from '../names/roles-by-name.ts';
import { type Ratio, ratioTo } from '../units/fit.ts';
import { statedUnit, UNITS } from '../units/units.ts';
import { COMMON, type Grain, type Guess, type Sample } from './guesses.ts';

export interface YieldColumn {
	column: NumberColumn;
	score: number;
	basis: 'wet' | 'dry' | null;
	stated: { unit: Unit; sure: number } | null;
	/** How it follows from flow and ground; filled in by `agree`. */
	reason: string | null;
	unit: Unit | null;
}

/** Columns of yields, with the basis that their names state. */
export function yieldColumns(columns: Columns): YieldColumn[] {
	return columns.numbersByName('yield', 0.5).map(({ column, score }) => {
		const { words, brackets } = plainName(`${column.name} ${column.title ?? ''}`);
		const all = [...words, ...brackets.join(' ').toLowerCase().split(/\W+/)];
		const dry = all.some((w) => /^(dry|trocken|sec|seco|secca)$/.test(w)) || /_d_?$/.test(column.name);
		const wet = all.some((w) => /^(wet|feucht|nass|humide|humedo|brut)$/.test(w)) || /_w_?$/.test(column.name);
		return {
			column,
			score,
			basis: column.basis ?? (dry === wet ? null : dry ? 'dry' : 'wet'),
			stated: statedUnit(column, 'yield'),
			reason: null,
			unit: null,
		};
	});
}

/** Bushel weights in use, pounds. */
const BUSHELS_LB = [56, 60, 48, 32, 50, 45, 54, 52, 58, 36, 38];

/** If a yield was computed from the flow, their units must match: weights the guesses by that. */
export function agree(guesses: Guess[], yields: YieldColumn[], sample: Sample): void {
	const { crop } = sample.context;
	const top = new Map<NumberColumn, number>();
	for (const g of guesses) top.set(g.column, Math.max(top.get(g.column) ?? 0, g.weight));
	for (const y of yields) {
		const v = sample.pick(y.column.numbers);
		const fits = new Map<Float64Array, { ratio: Ratio; asDry: boolean }>();
		for (const g of guesses) {
			const base = sample.base(g.column, g.role);
			const fitted = remembered(fits, base, () => overGround(v, base, sample));
			const { asDry } = fitted;
			const ratio = { ...fitted.ratio, ratio: fitted.ratio.ratio * sizeOf(g.unit, crop) };
			if (ratio.n < 30 || ratio.spread > 0.08) continue;
			if (y.basis === null) y.basis = asDry ? 'dry' : 'wet';
			const fit = yieldUnit(ratio.ratio, y, crop, asDry);
			g.weight *= 1 + 40 * Math.exp(-((Math.log(fit.off) / 0.02) ** 2) / 2) * (fit.usual ? 1 : 0.35);
			if (fit.off < 1.04 && g.weight > (top.get(g.column) ?? 0)) top.set(g.column, g.weight);
		}
	}
}

/** Notes for each yield how it follows from the chosen grain, and its bushel weight. */
export function describe(
	g: Guess,
	yields: YieldColumn[],
	sample: Sample,
): { reason: string; bushel_kg: number | null } | null {
	const { crop } = sample.context;
	let best: { reason: string; bushel_kg: number | null; off: number } | null = null;
	for (const y of yields) {
		const { ratio, asDry } = overGround(sample.pick(y.column.numbers), sample.base(g.column, g.role), sample);
		if (ratio.n < 30 || ratio.spread > 0.08) continue;
		const fit = yieldUnit(ratio.ratio * sizeOf(g.unit, crop), y, crop, asDry);
		if (fit.off > 1.04) continue;
		y.unit = fit.unit;
		y.reason = `it is flow over distance and width in ${fit.reason}${asDry ? ', dried' : ''}`;
		const off = fit.off + (fit.bushel_kg === null ? 1 : 0);
		if (best === null || off < best.off) {
			best = {
				reason: `"${y.column.name}" is it over distance and width, in ${fit.reason}`,
				bushel_kg: fit.bushel_kg,
				off,
			};
		}
	}
	return best;
}

/** Ratio of a yield to grain over ground, wet or dried by its moisture, whichever it follows more closely. */
function overGround(v: Float64Array, flow: Float64Array, sample: Sample): { ratio: Ratio; asDry: boolean } {
	const { area_m2, interval_s, moisture_pct } = sample;
	const raw = flow.map((f, i) => ((f * interval_s[i]!) / area_m2[i]!) * 10_000);
	const wet = ratioTo(v, raw);
	if (moisture_pct === null) return { ratio: wet, asDry: false };
	const dried = raw.map((r, i) => (r * (100 - moisture_pct[i]!)) / 100);
	const dry = ratioTo(v, dried);
	const asDry = dry.spread < 0.6 * wet.spread && wet.spread > 2e-4;
	return { ratio: asDry ? dry : wet, asDry };
}

/** The unit whose size is `ratio` kg/ha; bushels of any weight in use. */
function yieldUnit(ratio: number, y: YieldColumn, crop: Crop | null, dry: boolean) {
	let best = {
		unit: null as Unit | null,
		off: Infinity,
		reason: '',
		bushel_kg: null as number | null,
		usual: true,
	};
	const share = dry ? (100 - (crop?.market_moisture_pct ?? 14)) / 100 : 1;
	for (const unit of UNITS.yield!) {
		if (y.stated && y.stated.sure > 0.9 && y.stated.unit.name !== unit.name) continue;
		if (!COMMON.has(unit.name) && !y.stated && unit.name !== 'dt/ha') continue;
		const weights = unit.bushel ? BUSHELS_LB.map((lb) => lb * POUND_KG) : [1];
		for (const bushel_kg of weights) {
			const off = Math.exp(Math.abs(Math.log(ratio / (unit.size * bushel_kg * share))));
			const usual = !unit.bushel || crop === null || Math.abs(bushel_kg - crop.bushel_kg) < 0.05;
			if (off * (usual ? 1 : 1.01) < best.off) {
				const reason = unit.bushel ? `${unit.name} of ${Math.round(bushel_kg / POUND_KG)} lb` : unit.name;
				best = { unit, off, reason, bushel_kg: unit.bushel ? bushel_kg : null, usual };
			}
		}
	}
	return best;
}

/** Lists a yield beside the grain that is used, and notes what it counts that the grain does not show. */
export function noteYield(y: YieldColumn, out: Grain, crop: Crop | null, columns: Columns): void {
	columns.used.add(y.column.name);
	columns.readings.push({
		column: y.column.name,
		as: 'yield',
		unit: (y.unit ?? y.stated?.unit)?.name ?? null,
		...(y.basis ? { basis: y.basis } : {}),
		sure: y.reason ? 0.95 : Math.min(0.8, y.score),
		because: [
			`the name "${y.column.name}"`,
			y.reason ?? 'it does not follow from flow, distance and width of the same record',
			'not needed: the flow is used',
		],
	});
	const lb = out.bushel_kg === null ? null : Math.round(out.bushel_kg / POUND_KG);
	if (y.reason && y.unit?.bushel && lb !== null && crop && Math.abs(lb * POUND_KG - crop.bushel_kg) > 0.1) {
		out.notes.push(
			`"${y.column.name}" counts bushels of ${lb} lb, though ${crop.name}’s is ${Math.round(crop.bushel_kg / POUND_KG)} lb; the flow is used, so masses are not touched`,
		);
	}
	if (y.reason === null && y.basis !== null) {
		out.notes.push(
			`"${y.column.name}" is not flow over distance and width of the same record: it may be shifted in time or smoothed`,
		);
	}
}
