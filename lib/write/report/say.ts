import type { Crop, Factor, FieldPlan } from '../../model/index.ts';
import {
	FieldClock,
	formatNumber,
	formatQuantity,
	formatSigned,
	inOneSystem,
	POUND_KG,
	type Quantity,
	shown,
	type UnitSystem,
} from '../../units/index.ts';

/** Formats numbers, times and phrases for the report, in one unit system and the field's time zone. */
export class Say {
	readonly crop: Crop;
	readonly clock: FieldClock;

	constructor(
		plan: FieldPlan,
		readonly units: UnitSystem,
	) {
		this.crop = plan.crop;
		this.clock = new FieldClock(plan.timeZone);
	}

	/** With its unit; a dash if it is missing. */
	quantity(value: number | null | undefined, quantity: Quantity, digits?: number): string {
		return formatQuantity(value, quantity, this.units, this.crop, digits);
	}

	/** Without its unit, for a column whose header gives it. */
	bare(value: number | null | undefined, quantity: Quantity, digits?: number): string {
		if (value === null || value === undefined) return '–';
		const s = shown(quantity, this.units, this.crop);
		return formatNumber(value * s.factor, digits ?? s.digits);
	}

	/** An interval of a quantity, the unit once: "10,054 to 10,150 bu". */
	range(interval: readonly [number, number], quantity: Quantity, digits?: number): string {
		return `${this.bare(interval[0], quantity, digits)} to ${this.quantity(interval[1], quantity, digits)}`;
	}

	unit(quantity: Quantity): string {
		return shown(quantity, this.units, this.crop).unit;
	}

	number(value: number | null | undefined, digits: number): string {
		return formatNumber(value, digits);
	}

	/** With its sign: “+1.2”, “−0.4”, “0.0”. */
	signed(value: number | null | undefined, digits: number): string {
		return formatSigned(value, digits);
	}

	percent(value: number | null | undefined, digits = 1): string {
		return value === null || value === undefined || !Number.isFinite(value) ? '–' : `${formatNumber(value, digits)}%`;
	}

	/** Rewrites the library's text for this unit system. */
	own(text: string): string {
		return inOneSystem(text, this.units);
	}

	/** Weight of a bushel of this crop: "56 lb/bu". */
	get bushel(): string {
		return `${formatNumber(this.crop.bushel_kg / POUND_KG, 1).replace(/\.0$/, '')} lb/bu`;
	}

	/** Market moisture: "15.5% moisture". */
	get market(): string {
		return `${formatNumber(this.crop.market_moisture_pct, 1)}% moisture`;
	}
}

/** Whether a factor is available. */
export const known = (f: Factor | undefined): f is Factor =>
	f !== undefined && f.source !== null && Number.isFinite(f.value);

/** “A, B and C”. */
export function list(words: readonly string[]): string {
	if (words.length < 2) return words.join('');
	return `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}

/** Names of the patterns that a factor can have. */
export const FORM = {
	constant: 'constant',
	step: 'one change',
	trend: 'drift',
	flow: 'changes with flow',
} as const;

/** Where a factor comes from. */
export const SOURCE: Record<string, string> = {
	dumps: 'cart weights',
	tickets: 'tickets',
	total: 'one weight of the whole field',
	seams: 'seams with another combine',
	pinned: 'set by hand',
};
