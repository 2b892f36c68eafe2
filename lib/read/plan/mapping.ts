import type { ColumnPlan, Crop } from '../../model/index.ts';
import { type Kind, unitFactor, unitsOf } from '../../units/index.ts';
import type { FileFaults } from '../faults.ts';

/** Source of one value of a row. */
export interface Place {
	/** Column in the file, −1 for a constant. */
	index: number;
	/** Its name in the file, for messages. */
	name: string;
	/** Factor for its number. */
	factor: number;
	/** A constant in the library's own unit; NaN for a column or a text. */
	constant: number;
	/** A constant text; null for a column or a number. */
	text: string | null;
	plan: ColumnPlan | null;
}

export interface Wanted {
	/** Key in a mapping. */
	key: string;
	/** The contract's column name and its unit. */
	name: string;
	/** null: a text, a time or a yes/no. */
	kind: Kind | null;
	/** The library's own unit, for messages. */
	unit: string;
}

/** A column of text, times or yes and no. */
export const text = (key: string, name = key): Wanted => ({ key, name, kind: null, unit: '' });

/** Finds columns of one file by its mapping, then by the contract's names. */
export class Columns {
	private readonly exact = new Map<string, number>();
	private readonly loose = new Map<string, number>();
	readonly cautions: string[] = [];

	constructor(
		private readonly header: readonly string[],
		private readonly mapping: Record<string, ColumnPlan> | null,
		private readonly crop: Crop,
		private readonly faults: FileFaults,
	) {
		header.forEach((name, i) => {
			if (!this.exact.has(name)) this.exact.set(name, i);
			if (!this.loose.has(name.toLowerCase())) this.loose.set(name.toLowerCase(), i);
		});
	}

	/** A column of exactly that name or, failing that, one that differs in case only; −1 if there is none. */
	find(name: string): number {
		return this.exact.get(name) ?? this.loose.get(name.toLowerCase()) ?? -1;
	}

	/** Source of a key's value; null where neither mapping nor header has it, or the mapping is invalid. */
	place(wanted: Wanted): Place | null {
		const plan = this.mapping?.[wanted.key];
		if (plan === undefined) {
			const index = this.find(wanted.name);
			return index < 0 ? null : this.column(wanted, index, 1, null);
		}
		if (plan.column === undefined && plan.value === undefined) {
			this.faults.whole(null, wanted.key, '', 'the mapping names neither a "column" nor a "value" for this');
			return null;
		}
		const factor = this.factor(wanted, plan);
		if (factor === null) return null;
		if (plan.column === undefined) return this.constant(wanted, plan, factor);
		const index = this.find(plan.column.trim());
		if (index < 0) {
			this.missing(plan.column);
			return null;
		}
		return this.column(wanted, index, factor, plan);
	}

	/** True where the mapping has an entry for that key, valid or not. */
	mapped(key: string): boolean {
		return this.mapping?.[key] !== undefined;
	}

	/** Reports that a column is missing. */
	missing(name: string): void {
		this.faults.whole(
			1,
			name,
			this.header.join(', '),
			'this column is not in the file; accepted: one of those found, by a mapping',
		);
	}

	private column(wanted: Wanted, index: number, factor: number, plan: ColumnPlan | null): Place {
		const name = this.header[index]!;
		if (this.header.indexOf(name) !== this.header.lastIndexOf(name)) {
			this.faults.whole(
				1,
				name,
				this.header.join(', '),
				`two columns have this name, and ${wanted.key} is read from it; rename one`,
			);
		}
		return { index, name, factor, constant: Number.NaN, text: null, plan };
	}

	private factor({ key, kind, unit }: Wanted, plan: ColumnPlan): number | null {
		if (kind === null) return 1;
		const name = plan.column ?? key;
		if (plan.unit === undefined) {
			if (kind !== 'angle' && kind !== 'share') {
				this.cautions.push(`The mapping of ${name} (${key}) says no unit: it is read as ${unit}.`);
			}
			return 1;
		}
		const factor = unitFactor(plan.unit.trim(), kind, this.crop);
		if (factor === null) {
			this.faults.whole(
				null,
				name,
				plan.unit,
				`the unit in the mapping of ${key} is not known; accepted: ${unitsOf(kind)
					.map((u) => u.name)
					.join(', ')}`,
			);
		}
		return factor;
	}

	private constant({ key, kind }: Wanted, plan: ColumnPlan, factor: number): Place | null {
		const value = plan.value!;
		if (kind === null)
			return { index: -1, name: key, factor: 1, constant: Number.NaN, text: String(value).trim(), plan };
		const number = typeof value === 'number' ? value : value.trim() === '' ? Number.NaN : Number(value);
		if (!Number.isFinite(number)) {
			this.faults.whole(null, key, String(value), 'expected a number as the constant');
			return null;
		}
		return { index: -1, name: key, factor, constant: number * factor, text: null, plan };
	}
}
