import type { ComparedRow, Scene } from '../../../lib/model/index.ts';
import { type Quantity, shownAs } from '../../state/format.ts';

/** How a row's unit is shown: as a quantity in the page's units, or by its own symbol. */
const asQuantity: Partial<Record<ComparedRow['unit'], { what: Quantity; scale: number }>> = {
	'kg/ha': { what: 'yield', scale: 1 },
	'm/s': { what: 'speed', scale: 1 },
};

/** The unit of a row as shown now: its symbol, the factor of its values, and digits. */
export function unitOf(row: ComparedRow, s: Scene): { unit: string; factor: number; digits: number } {
	const { crop } = s.facts.field;
	const mass = shownAs('mass', crop);
	// Wet weights are in pounds or kilograms, since bushels would be taken for dry ones.
	if (row.what === 'scale_weight' && mass.unit === 'lb') {
		const area = shownAs('area', crop);
		return { unit: `lb/${area.unit}`, factor: mass.factor / area.factor, digits: 0 };
	}
	if (row.unit === 't/h' && mass.unit === 'lb') return { unit: 'lb/hr', factor: 1000 * mass.factor, digits: -2 };
	const q = asQuantity[row.unit];
	if (q) {
		const u = shownAs(q.what, s.facts.field.crop);
		return { unit: u.unit, factor: q.scale * u.factor, digits: u.digits };
	}
	if (row.unit === 'ha/h') {
		const u = shownAs('area', s.facts.field.crop);
		return { unit: u.unit === 'ac' ? 'ac/hr' : 'ha/h', factor: u.factor, digits: 1 };
	}
	return { unit: row.unit, factor: 1, digits: row.unit === '' ? 3 : 1 };
}
