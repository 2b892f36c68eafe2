import { CROPS, sizeOf } from '../../units/index.ts';
import type { Columns } from '../log/column-roles.ts';
import { question } from '../model.ts';
import { yields as yieldText } from '../units/in-words.ts';
import { statedUnit } from '../units/units.ts';
import { fromYield } from './from-yield.ts';
import { type Grain, type GrainContext, type Guess, guessesOf, holdsFor, perSecond, Sample } from './guesses.ts';
import { agree, describe, noteYield, yieldColumns } from './yields.ts';

/** A reading chosen only by the crop's usual yield is no more certain than this; if the crop is disputed, the user is asked. */
const BY_CROP = 0.85;
const BY_DISPUTED_CROP = 0.7;
/** Finds the grain: a flow, a mass or a counter, or else a yield; null if there is none. */
export function findGrain(columns: Columns, context: GrainContext): Grain | null {
	const yields = yieldColumns(columns);
	const sample = new Sample(context);
	const guesses = (['flow', 'mass', 'mass_total'] as const).flatMap((role) => guessesOf(columns, role, sample));
	agree(guesses, yields, sample);
	const total = guesses.reduce((sum, g) => sum + g.weight, 0);
	const best = guesses.reduce<Guess | null>((a, b) => (a === null || b.weight > a.weight ? b : a), null);
	if (best === null || !(total > 0)) return fromYield(columns, yields, context);
	const of = guesses.filter((g) => g.column === best.column);
	const isBest = (g: Guess) => g.unit.name === best.unit.name && g.role === best.role;
	const same = of.filter(isBest);
	const sum = of.reduce((s, g) => s + g.weight, 0);
	const disputed = context.other !== null && !holdsFor(context.other, best, guesses, context.crop);
	const byCrop = disputed || [null, ...CROPS].some((crop) => !holdsFor(crop, best, guesses, context.crop));
	const most = disputed ? BY_DISPUTED_CROP : byCrop ? BY_CROP : 1;
	const sure = Math.min(most, same.reduce((s, g) => s + g.weight, 0) / sum);
	const because = reasons(best, columns, context);
	const decided = byCrop ? `what ${context.crop?.name ?? 'a crop'} usually yields decides it` : '';
	if (byCrop) because.push(decided);
	const together = describe(best, yields, sample);
	if (together !== null) because.push(together.reason);
	const known = statedUnit(best.column, best.role);
	const certain = best.column.certain === true;
	columns.assign(best.column, best.role, certain ? 1 : Math.min(0.99, sure), because, best.unit.name);
	const out: Grain = {
		flow_kg_s: flowOf(best, context),
		bushel_kg: together?.bushel_kg ?? null,
		from: best.role,
		questions: [],
		notes: [],
	};
	if (!certain && sure < 0.9) {
		const second = of.filter((g) => !isBest(g)).sort((a, b) => b.weight - a.weight);
		const choices = [best, ...second].slice(0, 5).map((g) => g.unit.name);
		out.questions.push(
			question(columns.table.file, {
				about: `unit of ${best.column.name}`,
				text: `Which unit does "${best.column.name}" have? ${known ? `It says ${known.unit.name}. ` : ''}As ${best.unit.name} its median is ${yieldText(best.kg_ha, context.crop)}${second[0] ? `, as ${second[0].unit.name} ${yieldText(second[0].kg_ha, context.crop)}` : ''}.${byCrop ? ` ${decided[0]?.toUpperCase()}${decided.slice(1)}${disputed ? `, and the file names ${context.other?.name}` : ''}.` : ''}`,
				choices: [...new Set(choices)],
				blocking: sure < 0.8,
				taken: best.unit.name,
			}),
		);
	}
	for (const y of yields) noteYield(y, out, context.crop, columns);
	return out;
}

function flowOf(g: Guess, { interval_s, crop }: GrainContext): Float64Array {
	const size = sizeOf(g.unit, crop);
	return perSecond(g.column, g.role, interval_s).map((x) => x * size);
}

function reasons(g: Guess, columns: Columns, context: GrainContext): string[] {
	const out: string[] = [];
	if (g.column.certain) out.push('the file’s own standard says so');
	else if (columns.nameScore(g.column, g.role) > 0) out.push(`the name "${g.column.name}"`);
	const stated = statedUnit(g.column, g.role);
	if (typeof columns.given[`unit of ${g.column.name}`] === 'string') out.push('unit as answered');
	else if (stated) out.push(stated.by);
	else if (context.system) out.push(`the other columns are in ${context.system === 'us' ? 'US' : 'metric'} units`);
	if (g.kg_ha > 0)
		out.push(`its median is ${yieldText(g.kg_ha, context.crop)}${context.crop ? ` of ${context.crop.name}` : ''}`);
	return out;
}
