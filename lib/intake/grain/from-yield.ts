import { upperMedian } from '../../stats/median.ts';
import { sizeOf, type Unit } from '../../units/index.ts';
import type { Columns } from '../log/column-roles.ts';
import { type ColumnReading, question } from '../model.ts';
import { short, yields as yieldText } from '../units/in-words.ts';
import { UNITS } from '../units/units.ts';
import { COMMON, custom, type Grain, type GrainContext, plausible, RARE } from './guesses.ts';
import type { YieldColumn } from './yields.ts';

/** Without a flow column: the flow is computed from yield, ground and seconds. */
export function fromYield(columns: Columns, yields: YieldColumn[], context: GrainContext): Grain | null {
	const answer = basisGiven(columns.given['basis of yield']);
	const isWet = (y: YieldColumn) => Number(y.basis === 'wet');
	const [y] = [...yields].sort((a, b) => isWet(b) - isWet(a) || b.score - a.score);
	if (y === undefined) return null;
	const basis = answer?.basis ?? y.basis;
	const v = y.column.numbers;
	const guesses: { unit: Unit; weight: number; kg_ha: number }[] = [];
	const asked = columns.given[`unit of ${y.column.name}`];
	const middle = upperMedian(v.filter((x) => x > 0));
	for (const unit of UNITS.yield!) {
		const kg_ha = middle * sizeOf(unit, context.crop);
		let weight = custom(unit, context.system) * (COMMON.has(unit.name) ? 1 : RARE);
		if (typeof asked === 'string') weight = asked.toLowerCase().replace(/\s/g, '') === unit.name ? 1 : 1e-9;
		else if (y.stated) weight = y.stated.unit.name === unit.name ? y.stated.sure : (1 - y.stated.sure) * 0.1;
		guesses.push({ unit, weight: weight * plausible(kg_ha, context.crop), kg_ha });
	}
	guesses.sort((a, b) => b.weight - a.weight);
	const best = guesses[0]!;
	const sure = best.weight / guesses.reduce((s, g) => s + g.weight, 0);
	const at_pct = answer?.at_pct ?? context.crop?.market_moisture_pct ?? 0;
	const size = sizeOf(best.unit, context.crop);
	const { area_m2, interval_s, moisture_pct } = context;
	const flow_kg_s = v.map((x, i) => {
		const m = moisture_pct?.[i] ?? Number.NaN;
		const wet = basis === 'dry' ? (x * (100 - at_pct)) / (100 - m) : x;
		return (wet * size * area_m2[i]!) / 10_000 / interval_s[i]!;
	});
	const out: Grain = { flow_kg_s, bushel_kg: null, from: 'yield', questions: [], notes: [] };
	const reading: ColumnReading = {
		column: y.column.name,
		as: 'yield',
		unit: best.unit.name,
		sure: y.column.certain ? 1 : Math.min(0.99, sure, Math.max(0.6, y.score)),
		because: [
			`the name "${y.column.name}"`,
			`its median is ${yieldText(best.kg_ha, context.crop)}`,
			'no column of flow: the flow is yield × distance × width over the seconds of a record',
		],
	};
	if (basis) reading.basis = basis;
	if (basis === 'dry') reading.at_pct = at_pct;
	columns.readings.push(reading);
	for (const one of yields) columns.used.add(one.column.name);
	if (basis === null) {
		out.questions.push(
			question(columns.table.file, {
				about: 'basis of yield',
				text: `Is "${y.column.name}" wet (as it came off the field) or dry (at market moisture)?`,
				choices: ['wet', `dry at ${context.crop?.market_moisture_pct ?? 14}`],
				blocking: true,
				taken: 'wet',
			}),
		);
	} else if (basis === 'dry' && answer === null) {
		out.notes.push(`"${y.column.name}" is dry: market moisture of ${at_pct} % is taken for what it is dried to`);
	}
	if (!y.column.certain && sure < 0.9) {
		out.questions.push(
			question(columns.table.file, {
				about: `unit of ${y.column.name}`,
				text: `Which unit does "${y.column.name}" have? Its median is ${short(middle)}.`,
				choices: guesses.slice(0, 5).map((g) => g.unit.name),
				blocking: sure < 0.8,
				taken: best.unit.name,
			}),
		);
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
