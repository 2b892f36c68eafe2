import { cellsOf, type RawColumn, type RawTable, type Role } from '../../formats/index.ts';
import type { ColumnReading, Given } from '../model.ts';
import { LOAD_WORDS } from '../names/load-words.ts';
import { rolesByName } from '../names/roles-by-name.ts';
import type { LoadTable } from './load-table.ts';

/** Roles with numbers in a table of loads. */
const NUMBERS: ReadonlySet<Role> = new Set(['weight', 'gross', 'tare', 'moisture', 'test_weight', 'lat', 'lon']);
/** Roles of times; they are found elsewhere. */
const TIMES: ReadonlySet<Role> = new Set(['time', 'date', 'clock']);

/** Assigns columns of a table of loads to roles: the best pairs of column and role first, each used once. */
export function loadRoles(table: RawTable, given: Given): { roles: Map<Role, RawColumn>; readings: ColumnReading[] } {
	const pairs: { column: RawColumn; role: Role; score: number }[] = [];
	for (const column of table.columns) {
		const forced = given[`as ${column.name}`];
		if (typeof forced === 'string') {
			if (forced !== 'none') pairs.push({ column, role: forced as Role, score: 2 });
			continue;
		}
		if (column.as !== undefined) {
			pairs.push({ column, role: column.as, score: 1.5 });
			continue;
		}
		for (const [role, score] of rolesByName(column.name, LOAD_WORDS)) {
			if (TIMES.has(role) || (NUMBERS.has(role) && !column.numbers)) continue;
			if (isBlank(column)) continue;
			pairs.push({ column, role, score: score * likely(column, role) });
		}
	}
	pairs.sort((a, b) => b.score - a.score);
	const roles = new Map<Role, RawColumn>();
	const taken = new Set<RawColumn>();
	const readings: ColumnReading[] = [];
	for (const { column, role, score } of pairs) {
		if (score < 0.5 || roles.has(role) || taken.has(column)) continue;
		roles.set(role, column);
		taken.add(column);
		readings.push({
			column: column.name,
			as: role,
			unit: null,
			sure: Math.min(0.99, score),
			because: [column.as === undefined ? `the name "${column.name}"` : 'the file states it'],
		});
	}
	return { roles, readings };
}

const isBlank = ({ text, numbers }: RawColumn): boolean =>
	(text ?? []).every((v) => v === '') && (numbers ?? []).every(Number.isNaN);

const EVENT = /dump|offload|unload|load|out|in|truck|transfer|combine|fill|deliver/i;
const YES_NO = /^(y(es)?|no?|true|false|1|0|ja|nein)?$/i;

/** Values that contradict a role's name. */
function likely(column: RawColumn, role: Role): number {
	if (role === 'event') return column.text?.some((t) => EVENT.test(t)) ? 1 : 0;
	if (role === 'emptied') {
		return cellsOf(column).every((v) => YES_NO.test(v.trim())) ? 1 : 0;
	}
	if (role === 'id' || role === 'ticket') {
		const held = cellsOf(column).filter((v) => v !== '');
		return new Set(held).size > 0.6 * held.length ? 1 : 0.6;
	}
	return 1;
}

/** A column's cells as text; blank without a column. */
export const textOf = (column: RawColumn | undefined, n: number): string[] =>
	column === undefined ? new Array(n).fill('') : cellsOf(column);

/** Kind of each row: by a column of events, by the sign of the weight, by its note. */
export function eventsOf(
	table: RawTable,
	roles: Map<Role, RawColumn>,
	out: LoadTable,
): (row: number, weight: number) => 'dump' | 'offload' {
	const column = roles.get('event');
	if (column?.text) {
		const text = column.text;
		const strange = new Set<string>();
		const read = (i: number): 'dump' | 'offload' => {
			const word = text[i]!.toLowerCase();
			if (/off|unload|out|truck|deliver|transfer|semi|trailer|elevator/.test(word)) return 'offload';
			if (!/dump|load|in|combine|fill|receive|^$/.test(word)) strange.add(word);
			return 'dump';
		};
		for (let i = 0; i < table.n; i++) read(i);
		if (strange.size > 0)
			out.notes.push(
				`words of "${column.name}" that are not known are read as dumps: ${[...strange].slice(0, 5).join(', ')}`,
			);
		return read;
	}
	const weight = roles.get('weight')?.numbers;
	if (weight?.some((w) => w < 0)) {
		out.notes.push('weights below 0 are read as grain that left the cart');
		return (_, w) => (w < 0 ? 'offload' : 'dump');
	}
	const combine = textOf(roles.get('combine'), table.n);
	const truck = textOf(roles.get('truck_load'), table.n);
	if (
		out.use === 'cart' &&
		roles.has('combine') &&
		roles.has('truck_load') &&
		combine.some((c, i) => c === '' && truck[i] !== '')
	) {
		out.notes.push('rows with a truck and no combine are read as grain that left the cart');
		return (i) => (combine[i] === '' && truck[i] !== '' ? 'offload' : 'dump');
	}
	if (out.use === 'cart') out.notes.push('no column distinguishes dumps from offloads: every row is read as a dump');
	return () => 'dump';
}
