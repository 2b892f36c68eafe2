import type { RawTable, Role } from '../../formats/index.ts';
import type { Crop, SetAside } from '../../model/index.ts';
import type { System } from '../../units/index.ts';
import type { ColumnReading, Given, Question } from '../model.ts';
import type { DateOrder } from '../time/order.ts';

export type LoadUse = 'cart' | 'tickets' | 'trace';

/** A row of a cart list, of tickets or of a trace; NaN and '' are missing. */
export interface LoadRow {
	line: number;
	time_s: number;
	weight_kg: number;
	event: 'dump' | 'offload';
	text: Partial<Record<Role, string>>;
	moisture_pct: number;
	test_weight_kg_hl: number;
	lat_deg: number;
	lon_deg: number;
}

export interface LoadTable {
	table: RawTable;
	use: LoadUse;
	rows: LoadRow[];
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	leftOut: SetAside[];
	/** Precision of times. */
	grain: 'second' | 'minute' | 'day';
}

export interface LoadContext {
	given: Given;
	crop: Crop | null;
	timeZone: string | null;
	place: { lon_deg: number; lat_deg: number } | null;
	order: DateOrder | null;
	system: System | null;
	/** Grain of all logs of the drop, kg; NaN without any. */
	logs_kg: number;
	/** Unit of weight stated by other tables of the drop. */
	custom: string | null;
}
