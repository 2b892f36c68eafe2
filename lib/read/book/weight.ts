import { POUND_KG } from '../../units/index.ts';
import type { TableRow } from '../csv/read-table.ts';
import type { FileFaults } from '../faults.ts';
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

/** A weight of a row: NaN where it has none, null where a text stands in its place; and its column and cell, for messages. */
export interface Weight {
	kg: number | null;
	name: string;
	found: string;
}

/** A row's weight in kg, from whichever of its columns has one. A text in its place is reported. */
export function weightOf(row: TableRow, stem: string, faults: FileFaults): Weight {
	const inPounds = `${stem}_lb`;
	const kg = row.number(stem);
	const byPounds = kg !== null && Number.isNaN(kg) && row.has(inPounds);
	const key = byPounds ? inPounds : stem;
	const size = byPounds ? POUND_KG : 1;
	const number = byPounds ? row.number(inPounds) : kg;
	const weight = { name: row.has(key) ? row.name(key) : row.name(inPounds), found: row.text(key) };
	if (number === null) faults.row(row.line, weight.name, weight.found, 'expected a number');
	return { kg: number === null ? null : number * size, ...weight };
}

/** True if one of the columns of a weight exists. */
export function hasWeight(row: TableRow, stem: string): boolean {
	return row.has(stem) || row.has(`${stem}_lb`);
}

/** Reports columns that are missing: that of the weight, and those of other keys. */
export function needed(row: TableRow, stem: string, keys: readonly string[]): void {
	if (!hasWeight(row, stem) && !row.columns.mapped(stem)) row.columns.missing(`${stem}_kg`);
	for (const key of keys) if (!row.has(key) && !row.columns.mapped(key)) row.columns.missing(key);
}
