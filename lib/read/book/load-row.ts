/** What rows of the cart log and tickets have in common. */
import { caution, type LoadBook, type Note } from '../../model/index.ts';
import { BUSHEL_L, POUND_KG } from '../../units/index.ts';
import type { TableRow } from '../csv/read-table.ts';
import type { FileFaults } from '../faults.ts';
import { text, type Wanted } from '../plan/mapping.ts';
import { MOST_KG, type Weight } from './weight.ts';

/** Columns that the cart log and tickets share. */
export const LOAD_COLUMNS: readonly Wanted[] = [
	{ key: 'time', name: 'time', kind: 'time', unit: 's' },
	text('truck_load'),
	text('combine'),
	text('destination'),
	text('note'),
	{ key: 'moisture', name: 'moisture_pct', kind: 'share', unit: '%' },
	text('test_weight', 'test_weight_kg_hl'),
	text('test_weight_lb_bu'),
];

const KG_HL_PER_LB_BU = POUND_KG / (BUSHEL_L / 100);

/** Test weight in kg/hl, converted from lb/bu where necessary. */
function testWeight(row: TableRow): number {
	const why = 'expected a test weight of 20 to 110 kg/hl, or 15 to 90 lb/bu';
	const metric = row.optional('test_weight', why, (x) => x >= 20 && x <= 110);
	return Number.isNaN(metric)
		? row.optional('test_weight_lb_bu', why, (x) => x >= 15 && x <= 90) * KG_HL_PER_LB_BU
		: metric;
}

const moistureOf = (row: TableRow): number =>
	row.optional('moisture', 'expected a moisture of grain, 3 to 50%', (m) => m >= 3 && m <= 50);

export const orNull = (value: string): string | null => (value === '' ? null : value);

/** "A" or "A+B" as names that the logs use, ignoring case; a new name where none matches. */
export function combinesOf(noted: string, known: readonly string[]): string[] {
	if (noted === '') return [];
	const same = (name: string) =>
		known.find((k) => k === name) ?? known.find((k) => k.toLowerCase() === name.toLowerCase());
	const whole = same(noted);
	if (whole !== undefined) return [whole];
	const parts = noted.split('+').map((part) => part.trim());
	return [...new Set(parts.filter((part) => part !== '').map((part) => same(part) ?? part))];
}

/** A row's weight and time; null where either is invalid, which is reported unless it was already. */
export function weighed(
	row: TableRow,
	faults: FileFaults,
	{ kg, name, found }: Weight,
	tooMuch: string,
): { kg: number; time_s: number } | null {
	if (kg !== null && !(kg > 0)) faults.row(row.line, name, found, 'expected a weight above 0');
	if (kg !== null && kg > MOST_KG) faults.row(row.line, name, found, tooMuch);
	const time_s = row.time();
	return kg === null || !(kg > 0 && kg <= MOST_KG) || time_s === null ? null : { kg, time_s };
}

/** Where the rows of a load book's file go: `combines` are the names that the logs use. */
export interface Booking {
	combines: readonly string[];
	book: LoadBook;
	notes: Note[];
}

/** Gives each row of a file its own name, or its number; a repeated name is reported. */
export function namesOf(key: string, what: string, file: string, notes: Note[]): (row: TableRow) => string {
	const seen = new Map<string, number>();
	return (row) => {
		const name = row.text(key) || `row ${row.line}`;
		const before = seen.get(name);
		if (before !== undefined) {
			notes.push(caution(`${file}: ${what} ${name} is in rows ${before} and ${row.line}; both are kept.`));
		}
		seen.set(name, row.line);
		return name;
	};
}

/** What both record of a load in addition to its weight and time. */
export function notedOf(row: TableRow, file: string) {
	return {
		origin: { file, row: row.line },
		timeGrain: row.grain,
		truckLoad: orNull(row.text('truck_load')),
		moisture_pct: moistureOf(row),
		testWeight_kg_hl: testWeight(row),
		destination: orNull(row.text('destination')),
		note: orNull(row.text('note')),
	};
}
