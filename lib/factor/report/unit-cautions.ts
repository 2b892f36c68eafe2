import { type ColumnPlan, type Crop, type Factor, isPlausible } from '../../model/index.ts';
import { unitFactor } from '../../units/index.ts';
import type { FactorInput } from '../input.ts';

/** A factor this near to a ratio of two units, relative, is taken for it: even poor monitors are within about 10 %. */
const NEAR = 0.15;

/**
 * Cautions on factors that no monitor has, so that a unit of a log or of the cart is probably wrong. Each names the column and
 * the units that would explain it. The parts of a step count as well.
 */
export function unitCautions(input: FactorInput, factors: readonly Factor[]): string[] {
	const odd = factors.flatMap((f) => {
		const whole = f.source === 'pinned' ? (f.weighed?.value ?? Number.NaN) : f.value;
		const values = [...f.changes.map((c) => c.value), whole];
		const value = values.find((v) => Number.isFinite(v) && !isPlausible(v));
		return value === undefined ? [] : [{ f, value }];
	});
	if (odd.length === 0) return [];
	// If all combines are off alike, the unit of the cart's weights is the likelier cause.
	const known = factors.filter((f) => f.source !== null);
	const alike = odd.length === known.length && odd.every((o) => Math.abs(o.value / odd[0]!.value - 1) < NEAR);
	const scale = alike && known.length > 1;
	return (scale ? odd.slice(0, 1) : odd).map(({ f, value }) => {
		const name = input.records.combines[f.combine]!;
		const log = flowColumn(input, f.combine);
		const weight = weightColumn(input, f);
		const where = scale ? `column ${weight}` : known.length > 1 ? `column ${log}` : `column ${log} or column ${weight}`;
		const like = ratioLike(value, input.plan.crop, scale);
		const whose = scale ? 'The factors of all combines are' : `The factor of combine ${name} is`;
		return (
			`${whose} ${value.toPrecision(3)}: no monitor is that far off. A unit looks wrong in ${where}` +
			`${like ? ` (${like})` : ''}. The factor compensates for it; correct the unit in field.json.`
		);
	});
}

/** Two units that are often confused, whose ratio is near the factor; null where there are none. `weights`: only units of mass. */
function ratioLike(value: number, crop: Crop, weights: boolean): string | null {
	const kg = (unit: string) => unitFactor(unit, 'mass', crop) ?? Number.NaN;
	const masses: [string, number][] = [
		['pounds and kilograms', kg('lb')],
		['metric tons and kilograms', kg('t')],
		['metric tons and pounds', kg('t') / kg('lb')],
		[`bushels and kilograms`, kg('bu')],
		['bushels and pounds', kg('bu') / kg('lb')],
		['bushels and metric tons', kg('bu') / kg('t')],
	];
	const others: [string, number][] = [
		['feet and meters', 0.3048],
		['acres and hectares', 0.404_685_642_24],
		['pounds per acre and kilograms per hectare', 1.120_851],
		['hours and seconds', 3600],
		['minutes and seconds', 60],
	];
	let best: string | null = null;
	let least = NEAR;
	for (const [words, ratio] of weights ? masses : [...masses, ...others]) {
		for (const r of [ratio, 1 / ratio]) {
			const apart = Math.abs(Math.log(value / r));
			if (apart < least) {
				least = apart;
				best = words;
			}
		}
	}
	return best;
}

function columnOf(
	columns: Record<string, ColumnPlan> | null | undefined,
	keys: readonly string[],
	usual: string,
): string {
	for (const key of keys) if (columns?.[key]?.column) return columns[key].column;
	return usual;
}

function flowColumn({ plan, records }: FactorInput, combine: number): string {
	let log = 0;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] === combine) {
			log = records.log[i]!;
			break;
		}
	}
	return columnOf(plan.logs[log]?.columns, ['flow', 'yield'], 'flow_kg_s');
}

function weightColumn({ plan }: FactorInput, f: Factor): string {
	const source = f.source === 'pinned' ? f.weighed?.source : f.source;
	if (source === 'total') return 'total.wet_kg of field.json';
	if (source === 'tickets') return columnOf(plan.tickets?.columns, ['net', 'net_kg', 'net_lb'], 'net_kg');
	return columnOf(plan.cartLog?.columns, ['weight', 'weight_kg', 'weight_lb'], 'weight_kg');
}
