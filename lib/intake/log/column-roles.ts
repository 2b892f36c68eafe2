import { greatest } from 'd3-array';
import type { RawColumn, RawTable, Role } from '../../formats/index.ts';
import type { Unit } from '../../units/index.ts';
import { type ColumnReading, type Given, type Question, question } from '../model.ts';
import { rolesByName } from '../names/roles-by-name.ts';
import { LOG_WORDS } from '../names/words.ts';
import { middlePositive, nearestUnit, type Ratio, ratioTo } from '../units/fit.ts';
import { short } from '../units/in-words.ts';
import { statedUnit, UNITS, unitNamed } from '../units/units.ts';

/** A column of numbers. */
export type NumberColumn = RawColumn & { numbers: Float64Array };

/** A column assigned to a role, with its unit. */
export interface Assigned {
	column: NumberColumn;
	unit: Unit;
	reading: ColumnReading;
}

/** What a column's values should be, by other columns. */
export interface Expected {
	values: ArrayLike<number>;
	/** How far the median ratio may be off for a unit to be accepted. */
	tolerance: number;
	/** In words: what it was compared with. */
	by: string;
	/** Formats its median: digits and unit. */
	show: (size: number) => string;
	/** A column without a helpful name gets this role if its values fit this closely (spread of the logarithm). */
	anonymous: number | null;
}

/** A column that may have a role, and how strongly its name points to it. */
interface Candidate<C extends RawColumn = RawColumn> {
	column: C;
	score: number;
}

/** A role whose name fits this much worse than another's is not considered. */
const CLOSE = 0.25;

/**
 * The columns of a table while they are assigned to roles, one role after another. What was decided, asked and noticed
 * on the way is kept in `readings`, `questions` and `notes`.
 */
export class Columns {
	readonly questions: Question[] = [];
	readonly readings: ColumnReading[] = [];
	readonly notes: string[] = [];
	/** The table's columns, with counters turned into steps. */
	private readonly columns: RawColumn[];
	private readonly names: Map<string, Map<Role, number>>;

	/** @param used - names of columns that have a role already */
	constructor(
		readonly table: RawTable,
		readonly used: Set<string>,
		readonly given: Given,
	) {
		this.columns = [...table.columns];
		this.names = new Map(table.columns.map(({ name }) => [name, rolesByName(name, LOG_WORDS)]));
	}

	/** Replaces one of the table's columns by another of the same name. */
	replace(column: RawColumn, other: RawColumn): void {
		this.columns[this.columns.indexOf(column)] = other;
	}

	/** How strongly an answer, the file or a column's name points to a role; 0 if it points more to another. */
	nameScore(column: RawColumn, role: Role): number {
		const answer = this.given[`as ${column.name}`];
		if (typeof answer === 'string') return answer === role ? 1.5 : 0;
		if (column.as !== undefined) return column.as === role ? 1.2 : 0;
		const roles = this.names.get(column.name);
		const score = roles?.get(role) ?? 0;
		// "Yield mass" is a yield, though it contains the word mass.
		return score > 0 && roles && score >= Math.max(...roles.values()) - CLOSE ? score : 0;
	}

	/** Records what a column is; it is not considered for another role. `as` null: it is not needed. */
	assign(column: RawColumn, as: Role | null, sure: number, because: string[], unit: string | null = null): void {
		this.add({ column: column.name, as, unit, sure, because });
	}

	private add(reading: ColumnReading): void {
		this.used.add(reading.column);
		this.readings.push(reading);
	}

	/** Columns without a role whose name points to this one, the best first. */
	byName(role: Role, least: number): Candidate[] {
		return this.columns
			.filter((c) => !this.used.has(c.name))
			.map((column) => ({ column, score: this.nameScore(column, role) }))
			.filter((c) => c.score >= least)
			.sort((a, b) => b.score - a.score);
	}

	/** Those of them that hold numbers. */
	numbersByName(role: Role, least = 0.45): Candidate<NumberColumn>[] {
		return this.byName(role, least).filter((c): c is Candidate<NumberColumn> => c.column.numbers !== undefined);
	}

	/** Columns whose names say little and whose values are as expected of a role. */
	private byValues(role: Role, expected: Expected): Candidate<NumberColumn>[] {
		const { anonymous } = expected;
		if (anonymous === null) return [];
		return this.columns.flatMap((column) => {
			if (!hasNumbers(column) || this.used.has(column.name) || column.as !== undefined) return [];
			if ([...(this.names.get(column.name)?.values() ?? [])].some((s) => s > 0.5)) return [];
			const ratio = ratioTo(column.numbers, expected.values);
			const near = nearestUnit(ratio.ratio, UNITS[role] ?? []);
			const fits = ratio.n >= 50 && near !== null && near.off <= 1.06 && ratio.spread <= anonymous;
			return fits ? [{ column, score: 0.5 + 0.2 * (1 - ratio.spread) }] : [];
		});
	}

	/** Assigns the best column to a role, by its name or else by its values; null if there is none. */
	find(role: Role, expected: Expected | null, possible: (middle: number) => boolean = () => true): Assigned | null {
		const best = (list: Candidate<NumberColumn>[]) => {
			const held = list.filter((c) => c.score >= 1.2 || possible(middlePositive(c.column.numbers)));
			return greatest(
				held.map(({ column, score }) => compared(column, score, role, expected)),
				(c) => c.score,
			);
		};
		const found = best(this.numbersByName(role)) ?? (expected && best(this.byValues(role, expected)));
		if (!found) return null;
		const { column, ratio } = found;
		const score = this.nameScore(column, role);
		const because = [
			column.certain
				? 'the file’s own standard says so'
				: score > 0
					? `the name "${column.name}"`
					: 'its values behave so',
		];
		const { unit, sure } = this.unitOf(role, column, ratio, expected, because);
		const most = score > 0 ? Math.max(0.6, score) : 0.85;
		const reading: ColumnReading = {
			column: column.name,
			as: role,
			unit: unit.name,
			sure: column.certain && sure > 0.9 ? 1 : Math.min(sure, most),
			because,
		};
		if (column.basis) reading.basis = column.basis;
		this.add(reading);
		return { column, unit, reading };
	}

	/** Decides the unit: an answer, then the comparison if it is clear, then what file and name state. */
	private unitOf(
		role: Role,
		column: NumberColumn,
		ratio: Ratio | null,
		expected: Expected | null,
		because: string[],
	): { unit: Unit; sure: number } {
		const units = UNITS[role] ?? [];
		const answer = this.given[`unit of ${column.name}`];
		const answered = typeof answer === 'string' ? unitNamed(answer, role) : null;
		if (answered) {
			because.push('unit as answered');
			return { unit: answered, sure: 1 };
		}
		const stated = statedUnit(column, role);
		if (stated && column.certain) return stated;
		if (stated) because.push(stated.by);
		const near = ratio && nearestUnit(ratio.ratio, units);
		if (ratio === null || expected === null || near === null || ratio.n < 20 || !Number.isFinite(ratio.ratio)) {
			return stated ?? { unit: units[0]!, sure: 0 };
		}
		const middle = middlePositive(column.numbers);
		const evidence = `${expected.by} ${expected.show(middle * ratio.ratio)} where it says ${short(middle)}`;
		const off = stated ? Math.exp(Math.abs(Math.log(ratio.ratio / stated.unit.size))) : Infinity;
		if (stated && off < Math.max(expected.tolerance, 1.25)) {
			because.push(evidence);
			return { unit: stated.unit, sure: Math.max(stated.sure, off < expected.tolerance ? 0.99 : stated.sure) };
		}
		const says = stated && stated.sure > 0.7 ? stated.unit : null;
		if (near.off < expected.tolerance) {
			because.push(evidence);
			if (says === null) return { unit: near.unit, sure: 0.98 };
			const both = `"${column.name}" says ${says.name}, but ${evidence}`;
			this.notes.push(`${both}: read as ${near.unit.name}`);
			this.askUnit(
				column,
				`${both}, which is ${near.unit.name}. Which is right for its ${role}?`,
				[near.unit, says],
				false,
			);
			return { unit: near.unit, sure: 0.8 };
		}
		if (says !== null) {
			this.notes.push(`"${column.name}" does not fit its unit (${says.name}): ${evidence}`);
			because.push(`${evidence}: no unit fits that`);
			return { unit: says, sure: 0.5 };
		}
		because.push(evidence);
		const why = `${evidence[0]?.toUpperCase()}${evidence.slice(1)}`;
		this.askUnit(column, `Which unit does "${column.name}" have? ${why}.`, units, true, near.unit);
		return { unit: near.unit, sure: 0.4 };
	}

	private askUnit(column: RawColumn, text: string, units: readonly Unit[], blocking: boolean, taken = units[0]): void {
		this.questions.push(
			question(this.table.file, {
				about: `unit of ${column.name}`,
				text,
				choices: units.map((u) => u.name),
				blocking,
				taken: taken?.name ?? null,
			}),
		);
	}
}

const hasNumbers = (column: RawColumn): column is NumberColumn => column.numbers !== undefined;

/** A candidate with how its values compare to those expected; its score rises if a unit makes them fit. */
function compared(column: NumberColumn, score: number, role: Role, expected: Expected | null) {
	const ratio = expected && ratioTo(column.numbers, expected.values);
	if (ratio === null || expected === null || ratio.n <= 20) return { column, score, ratio };
	const near = nearestUnit(ratio.ratio, UNITS[role] ?? []);
	const fits = near !== null && near.off < expected.tolerance;
	return { column, score: score + (fits ? 0.15 - Math.min(0.1, ratio.spread / 5) : -0.3), ratio };
}

/** An assigned column in the library's own unit. */
export const inOwnUnit = ({ column, unit }: Assigned): Float64Array => column.numbers.map((v) => v * unit.size);
