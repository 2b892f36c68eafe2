import type { Crop, Factor, FieldPlan } from '../../model/index.ts';
import { formatNumber, formatQuantity, type Quantity, shown, type UnitSystem } from '../../units/index.ts';

/** Numbers, times and phrases as the report says them, in one unit system and the field's own time. */
export class Say {
	readonly crop: Crop;
	private readonly clock: Intl.DateTimeFormat;
	readonly zone: string;

	constructor(
		plan: FieldPlan,
		readonly units: UnitSystem,
	) {
		this.crop = plan.crop;
		this.zone = plan.timeZone ?? 'UTC';
		this.clock = new Intl.DateTimeFormat('en-US', {
			timeZone: this.zone,
			hourCycle: 'h23',
			year: 'numeric',
			month: '2-digit',
			day: '2-digit',
			hour: '2-digit',
			minute: '2-digit',
			second: '2-digit',
		});
	}

	/** With its unit; a dash where there is none. */
	quantity(value: number | null | undefined, quantity: Quantity, digits?: number): string {
		return formatQuantity(value, quantity, this.units, this.crop, digits);
	}

	/** Without its unit, for a column whose head states it. */
	bare(value: number | null | undefined, quantity: Quantity, digits?: number): string {
		if (value === null || value === undefined) return '–';
		const s = shown(quantity, this.units, this.crop);
		return formatNumber(value * s.factor, digits ?? s.digits);
	}

	unit(quantity: Quantity): string {
		return shown(quantity, this.units, this.crop).unit;
	}

	number(value: number | null | undefined, digits: number): string {
		return formatNumber(value, digits);
	}

	/** With its sign: “+1.2”, “−0.4”, “0.0”. */
	signed(value: number | null | undefined, digits: number): string {
		const text = formatNumber(value, digits);
		return value !== null && value !== undefined && value > 0 && /[1-9]/.test(text) ? `+${text}` : text;
	}

	percent(value: number | null | undefined, digits = 1): string {
		return `${formatNumber(value, digits)} %`;
	}

	/** Seconds since 1970 as the field's wall clock: “2026-10-12 14:03:20”. */
	time(time_s: number): string {
		const [day, hour] = this.dayAndTime(time_s);
		return day === '' ? '–' : `${day} ${hour}`;
	}

	/** “14:03:20” of it, for a table that states the day once. */
	hour(time_s: number): string {
		return this.dayAndTime(time_s)[1];
	}

	day(time_s: number): string {
		return this.dayAndTime(time_s)[0];
	}

	private dayAndTime(time_s: number): [string, string] {
		if (!Number.isFinite(time_s)) return ['', '–'];
		const parts = Object.fromEntries(this.clock.formatToParts(time_s * 1000).map((p) => [p.type, p.value]));
		return [`${parts.year}-${parts.month}-${parts.day}`, `${parts.hour}:${parts.minute}:${parts.second}`];
	}
}

/** Monitor's error in percent of the reference for a factor: 1.05 is −4.76 %. */
export const errorOf = (factor: number): number => 100 * (1 / factor - 1);

/** Whether a factor stands. */
export const known = (f: Factor | undefined): f is Factor =>
	f !== undefined && f.source !== null && Number.isFinite(f.value);

/** “one load”, “4 loads”. */
export function count(n: number, one: string, many = `${one}s`): string {
	return `${n === 1 ? 'one' : formatNumber(n, 0)} ${n === 1 ? one : many}`;
}

/** “A, B and C”. */
export function list(words: readonly string[]): string {
	if (words.length < 2) return words.join('');
	return `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}

/** Names of the forms a factor can have. */
export const FORM = {
	constant: 'one factor throughout',
	step: 'a step at a known time',
	trend: 'a slow drift',
	flow: 'a curve in flow',
} as const;

export const SOURCE = {
	dumps: 'cart weights',
	tickets: 'certified tickets',
	total: 'the field’s total weight',
	seams: 'the seams with its neighbour',
	pinned: 'set by hand',
} as const;
