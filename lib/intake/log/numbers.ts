import type { RawColumn, RawTable, Role } from '../../formats/index.ts';
import { upperMedian } from '../../stats/median.ts';
import { short } from '../both-units.ts';
import type { ColumnReading, Given, Question } from '../model.ts';
import { rolesByName } from '../names/match.ts';
import { LOG_WORDS } from '../names/words.ts';
import { UNITS, type Unit, unitInName, unitNamed } from '../units.ts';
import { nearestUnit, type Ratio, ratioTo } from './fit.ts';

/** A column assigned to a role, with its unit. */
export interface Taken {
	column: RawColumn;
	values: Float64Array;
	unit: Unit;
	reading: ColumnReading;
}

/** Expected values of a column, computed from others; null if there are none. */
export interface Reference {
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

/** A role whose name fits this much worse than another's is not considered. */
const CLOSE = 0.25;

/** Assigns numeric columns to roles, one after another. */
export class Taking {
	readonly questions: Question[] = [];
	readonly readings: ColumnReading[] = [];
	readonly notes: string[] = [];
	/** The table's columns, with counters turned into steps. */
	private readonly columns: RawColumn[];
	private readonly names = new Map<RawColumn, Map<Role, number>>();

	constructor(
		readonly table: RawTable,
		readonly used: Set<string>,
		private readonly given: Given,
	) {
		this.columns = [...table.columns];
		for (const column of table.columns) this.names.set(column, rolesByName(column.name, LOG_WORDS));
	}

	/** Replaces one of the table's columns by another. */
	instead(column: RawColumn, other: RawColumn): void {
		this.columns[this.columns.indexOf(column)] = other;
		this.names.set(other, this.names.get(column) ?? new Map());
	}

	/** How strongly a column's name (or its file) points to a role; 0 if it points more to another. */
	nameScore(column: RawColumn, role: Role): number {
		const forced = this.forced(column);
		if (forced !== undefined) return forced === role ? 1.5 : 0;
		if (column.as !== undefined) return column.as === role ? 1.2 : 0;
		const roles = this.names.get(column);
		const score = roles?.get(role) ?? 0;
		// "Yield mass" is a yield, though it contains the word mass.
		return score > 0 && score >= Math.max(...(roles as Map<Role, number>).values()) - CLOSE ? score : 0;
	}

	/** A user's answer on what a column is: { "as COLUMN": "distance" }. */
	private forced(column: RawColumn): Role | null | undefined {
		const word = this.given[`as ${column.name}`];
		if (typeof word !== 'string') return undefined;
		return word === 'none' ? null : (word as Role);
	}

	/** Notes what a column was read as; it is not considered for another role. */
	note(column: RawColumn, as: Role | null, sure: number, because: string[], unit: string | null = null): void {
		this.used.add(column.name);
		this.readings.push({ column: column.name, as, unit, sure, because });
	}

	/** Numeric columns whose name points to a role, the best first; assigned ones left out. */
	named(role: Role, least = 0.45): { column: RawColumn; score: number }[] {
		return this.columns
			.filter((c) => c.numbers && !this.used.has(c.name))
			.map((column) => ({ column, score: this.nameScore(column, role) }))
			.filter((c) => c.score >= least)
			.sort((a, b) => b.score - a.score);
	}

	/** Assigns the best column to a role, with its unit by name and by comparison. */
	take(role: Role, reference: Reference | null, possible: (middle: number) => boolean = () => true): Taken | null {
		let best: { column: RawColumn; score: number; ratio: Ratio | null } | null = null;
		const consider = (column: RawColumn, score: number) => {
			const values = column.numbers as Float64Array;
			if (score < 1.2 && !possible(middlePositive(values))) return;
			const ratio = reference === null ? null : ratioTo(values, reference.values);
			let total = score;
			if (ratio !== null && reference !== null && ratio.n > 20) {
				const near = nearestUnit(ratio.ratio, UNITS[role] ?? []);
				const fits = near !== null && near.off < reference.tolerance;
				total += fits ? 0.15 - Math.min(0.1, ratio.spread / 5) : -0.3;
			}
			if (best === null || total > best.score) best = { column, score: total, ratio };
		};
		for (const { column, score } of this.named(role)) consider(column, score);
		if (best === null && reference !== null && reference.anonymous !== null) this.anonymous(role, reference, consider);
		return best === null ? null : this.claim(role, best, reference);
	}

	/** A column without a telling name whose values match the role's expected values. */
	private anonymous(role: Role, reference: Reference, consider: (column: RawColumn, score: number) => void): void {
		for (const column of this.columns) {
			if (!column.numbers || this.used.has(column.name) || column.as !== undefined) continue;
			if ([...(this.names.get(column)?.values() ?? [])].some((s) => s > 0.5)) continue;
			const ratio = ratioTo(column.numbers, reference.values);
			const near = nearestUnit(ratio.ratio, UNITS[role] ?? []);
			if (ratio.n < 50 || near === null || near.off > 1.06) continue;
			if (ratio.spread <= (reference.anonymous as number)) consider(column, 0.5 + 0.2 * (1 - ratio.spread));
		}
	}

	private claim(
		role: Role,
		{ column, ratio }: { column: RawColumn; score: number; ratio: Ratio | null },
		reference: Reference | null,
	): Taken {
		const values = column.numbers as Float64Array;
		const because: string[] = [];
		const nameScore = this.nameScore(column, role);
		if (column.certain) because.push('the file’s own standard says so');
		else if (nameScore > 0) because.push(`the name "${column.name}"`);
		else because.push('its values behave so');
		const { unit, sure } = this.unitOf(role, column, ratio, reference, because);
		const reading: ColumnReading = {
			column: column.name,
			as: role,
			unit: unit.name,
			sure: column.certain && sure > 0.9 ? 1 : Math.min(sure, nameScore > 0 ? Math.max(0.6, nameScore) : 0.85),
			because,
		};
		if (column.basis) reading.basis = column.basis;
		this.used.add(column.name);
		this.readings.push(reading);
		return { column, values, unit, reading };
	}

	/** Decides the unit: an answer, then the comparison if it is clear, then what file and name state. */
	private unitOf(
		role: Role,
		column: RawColumn,
		ratio: Ratio | null,
		reference: Reference | null,
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
		if (ratio === null || reference === null || ratio.n < 20 || !Number.isFinite(ratio.ratio)) {
			return stated ?? { unit: units[0] as Unit, sure: 0 };
		}
		const near = nearestUnit(ratio.ratio, units) as { unit: Unit; off: number };
		const middle = middlePositive(column.numbers as Float64Array);
		const evidence = `${reference.by} ${reference.show(middle * ratio.ratio)} where it says ${short(middle)}`;
		const off = stated ? Math.exp(Math.abs(Math.log(ratio.ratio / stated.unit.size))) : Number.POSITIVE_INFINITY;
		if (stated && off < Math.max(reference.tolerance, 1.25)) {
			because.push(evidence);
			return { unit: stated.unit, sure: Math.max(stated.sure, off < reference.tolerance ? 0.99 : stated.sure) };
		}
		if (near.off < reference.tolerance) {
			because.push(evidence);
			if (stated && stated.sure > 0.7) {
				this.contradiction(role, column, stated.unit, near.unit, evidence);
				return { unit: near.unit, sure: 0.8 };
			}
			return { unit: near.unit, sure: 0.98 };
		}
		if (stated && stated.sure > 0.7) {
			this.notes.push(`"${column.name}" does not fit its unit (${stated.unit.name}): ${evidence}`);
			because.push(`${evidence}: no unit fits that`);
			return { unit: stated.unit, sure: 0.5 };
		}
		because.push(evidence);
		this.askUnit(column, units, near.unit, evidence, true);
		return { unit: near.unit, sure: 0.4 };
	}

	private contradiction(role: Role, column: RawColumn, stated: Unit, found: Unit, evidence: string): void {
		this.notes.push(`"${column.name}" says ${stated.name}, but ${evidence}: read as ${found.name}`);
		this.questions.push({
			about: `unit of ${column.name}`,
			text: `"${column.name}" says ${stated.name}, but ${evidence}, which is ${found.name}. Which holds for its ${role}?`,
			choices: [found.name, stated.name],
			blocking: false,
			taken: found.name,
			file: this.table.file,
		});
	}

	askUnit(column: RawColumn, units: readonly Unit[], taken: Unit, why: string, blocking: boolean): void {
		this.questions.push({
			about: `unit of ${column.name}`,
			text: `Which unit does "${column.name}" have? ${why[0]?.toUpperCase()}${why.slice(1)}.`,
			choices: units.map((u) => u.name),
			blocking,
			taken: taken.name,
			file: this.table.file,
		});
	}
}

/** The unit stated by the file or the column's name. */
export function statedUnit(column: RawColumn, role: Role): { unit: Unit; sure: number; by: string } | null {
	if (column.unit !== undefined) {
		const unit = unitNamed(column.unit, role);
		if (unit) return { unit, sure: 0.98, by: `the file says ${column.unit}` };
	}
	const named = unitInName(column.name, role) ?? (column.title === undefined ? null : unitInName(column.title, role));
	return named && { ...named, by: `its name says ${named.unit.name}` };
}

/** Median of the positive values. */
export function middlePositive(values: Float64Array): number {
	const step = Math.max(1, Math.floor(values.length / 5000));
	const good: number[] = [];
	for (let i = 0; i < values.length; i += step) if (values[i]! > 0) good.push(values[i]!);
	return upperMedian(good);
}
