import { POUND_KG } from '../../units/index.ts';
import type { TableRow } from '../csv/table.ts';
import type { Wanted } from '../plan/mapping.ts';

/** The largest road trains weigh a third of this. */
export const MOST_KG = 500_000;

/** Columns that may hold a weight: the mapping's `weight`, or by name in kilograms, then pounds. */
export function weightColumns(stem: string): Wanted[] {
	return [
		{ key: stem, name: `${stem}_kg`, kind: 'mass', unit: 'kg' },
		{ key: `${stem}_lb`, name: `${stem}_lb`, kind: 'mass', unit: 'kg' },
	];
}

/** A weight in kg from whichever of its columns has one; `name` is that column, for messages. */
export function weightOf(row: TableRow, stem: string): { kg: number | null; key: string } {
	const kg = row.number(stem);
	if (kg === null || !Number.isNaN(kg) || !row.has(`${stem}_lb`)) return { kg, key: stem };
	const lb = row.number(`${stem}_lb`);
	return { kg: lb === null ? null : lb * POUND_KG, key: `${stem}_lb` };
}

/** True if one of the columns of a weight exists. */
export function hasWeight(row: TableRow, stem: string): boolean {
	return row.has(stem) || row.has(`${stem}_lb`);
}

/** The column to name in a message about a weight. */
export function weightName(row: TableRow, key: string, stem: string): string {
	return row.has(key) ? row.name(key) : row.name(`${stem}_lb`);
}
