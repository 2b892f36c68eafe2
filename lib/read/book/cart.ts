import type { Dump, LoadBook, Note, Offload, Source, TablePlan } from '../../model/index.ts';
import { BUSHEL_L, POUND_KG } from '../../units/index.ts';
import { readTable, type TableRoom, type TableRow } from '../csv/table.ts';
import { yesNo } from '../log/yesno.ts';
import type { Wanted } from '../plan/mapping.ts';
import { hasWeight, MOST_KG, weightColumns, weightName, weightOf } from './weight.ts';

const text = (key: string, name = key): Wanted => ({ key, name, kind: null, unit: '' });

/** Columns that cart log and tickets share. */
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

const CART: readonly Wanted[] = [
	...LOAD_COLUMNS,
	...weightColumns('weight'),
	text('id'),
	text('event'),
	text('emptied'),
	text('scale'),
	text('field'),
	text('variety'),
	{ key: 'lat', name: 'lat', kind: 'angle', unit: 'degrees' },
	{ key: 'lon', name: 'lon', kind: 'angle', unit: 'degrees' },
];

/** A busy cart takes some thousand dumps in a season; beyond this the file is something else. */
const MOST_DUMPS = 5000;

const KG_HL_PER_LB_BU = POUND_KG / (BUSHEL_L / 100);

/** Test weight in kg/hl, as given so or in lb/bu. */
export function testWeight(row: TableRow): number {
	const why = 'expected a test weight of 20 to 110 kg/hl, or 15 to 90 lb/bu';
	const metric = row.spare('test_weight', why, (x) => x >= 20 && x <= 110);
	return Number.isNaN(metric)
		? row.spare('test_weight_lb_bu', why, (x) => x >= 15 && x <= 90) * KG_HL_PER_LB_BU
		: metric;
}

export const moistureOf = (row: TableRow): number =>
	row.spare('moisture', 'expected a moisture from 0 to 60%', (m) => m >= 0 && m <= 60);

export const orNull = (value: string): string | null => (value === '' ? null : value);

/** Reads the cart log's dumps and offloads on to the load book. `combines` are the names that the logs know. */
export async function readCart(
	source: Source,
	plan: TablePlan,
	combines: readonly string[],
	room: TableRoom,
	book: LoadBook,
	notes: Note[],
): Promise<number> {
	const { faults } = room;
	const seen = new Map<string, number>();
	const strangers = new Set<string>();
	let order = 0;
	const check = (row: TableRow) => {
		if (!hasWeight(row, 'weight') && !row.columns.mapped('weight')) row.columns.missing('weight_kg');
		for (const key of ['time', 'event']) if (!row.has(key) && !row.columns.mapped(key)) row.columns.missing(key);
	};
	const rows = await readTable(source, plan, CART, room, check, (row) => {
		const event = eventOf(row.text('event'));
		if (event === null) {
			faults.row(row.line, row.name('event'), row.text('event'), 'expected one of: dump, offload');
		}
		const weight = weightOf(row, 'weight');
		const name = weightName(row, weight.key, 'weight');
		const kg = weight.kg ?? Number.NaN;
		if (weight.kg === null) faults.row(row.line, name, row.text(weight.key), 'expected a number');
		else if (!(kg > 0)) faults.row(row.line, name, row.text(weight.key), 'expected a weight above 0');
		else if (kg > MOST_KG) faults.row(row.line, name, row.text(weight.key), 'no cart and no truck holds so much');
		const time_s = row.time();
		if (event === null || !(kg > 0 && kg <= MOST_KG) || time_s === null) return;
		const id = row.text('id') || `row ${row.line}`;
		const before = seen.get(id);
		if (before !== undefined) {
			notes.push({
				level: 'caution',
				text: `${source.name}: the id ${id} is in rows ${before} and ${row.line}; both are kept.`,
			});
		}
		seen.set(id, row.line);
		const lat_deg = row.spare('lat', 'expected a latitude from −90 to 90 degrees', (v) => Math.abs(v) <= 90);
		const lon_deg = row.spare('lon', 'expected a longitude from −180 to 180 degrees', (v) => Math.abs(v) <= 180);
		const offload: Offload = {
			id,
			origin: { file: source.name, row: row.line },
			order: order++,
			time_s,
			timeGrain: row.grain,
			weight_kg: kg,
			u_kg: Number.NaN,
			truckLoad: orNull(row.text('truck_load')),
			scale: orNull(row.text('scale')),
			field: orNull(row.text('field')),
			moisture_pct: moistureOf(row),
			testWeight_kg_hl: testWeight(row),
			variety: orNull(row.text('variety')),
			destination: orNull(row.text('destination')),
			lat_deg,
			lon_deg,
			note: orNull(row.text('note')),
		};
		if (event === 'offload') {
			book.offloads.push(offload);
			return;
		}
		const emptied = yesNo(row.text('emptied'));
		if (emptied === null) faults.cell(row.line, row.name('emptied'), row.text('emptied'), 'expected yes, no or blank');
		const named = combinesOf(row.text('combine'), combines);
		for (const one of named) if (!combines.includes(one)) strangers.add(one);
		const dump: Dump = { ...offload, combines: named, emptied: emptied ?? -1, settled: true };
		book.dumps.push(dump);
	});
	if (book.dumps.length > MOST_DUMPS) {
		faults.whole(
			null,
			null,
			`${book.dumps.length} dumps`,
			`more dumps than a season of carts brings in (${MOST_DUMPS}): give this field's rows only`,
		);
	}
	for (const name of strangers) {
		notes.push({ level: 'caution', text: `${source.name} names combine ${name}, but there is no log of it here.` });
	}
	return rows;
}

function eventOf(word: string): 'dump' | 'offload' | null {
	const lower = word.toLowerCase();
	return lower === 'dump' || lower === 'offload' ? lower : null;
}

/** A year away from the logs a clock is not slow or fast: the year is wrong. */
const YEAR_S = 370 * 86_400;

interface Timed {
	time_s: number;
	origin: { row: number | null };
}

/**
 * Takes out the rows whose year is not the logs' and sets them aside; `middle_s` is the logs' middle. Where more than
 * a fifth are so it is the clock's way, not the row's: all are kept, and it is said.
 */
export function setYearsAside<T extends Timed>(rows: T[], middle_s: number, room: TableRoom, notes: Note[]): T[] {
	const far = rows.filter((row) => Math.abs(row.time_s - middle_s) > YEAR_S);
	if (far.length === 0) return rows;
	const { faults } = room;
	if (far.length * 5 > rows.length) {
		notes.push({ level: 'caution', text: `${faults.file}: its clock is more than a year off the logs’.` });
		return rows;
	}
	for (const { time_s, origin } of far) {
		const year = new Date(middle_s * 1000).getUTCFullYear();
		faults.row(
			origin.row ?? 0,
			'time',
			new Date(time_s * 1000).toISOString(),
			`impossible year: the logs are of ${year}`,
		);
	}
	return rows.filter((row) => !far.includes(row));
}

/** "A" or "A+B" as names that the logs know, where case alone differs; a name of its own where none fits. */
export function combinesOf(noted: string, known: readonly string[]): string[] {
	if (noted === '') return [];
	const same = (name: string) =>
		known.find((k) => k === name) ?? known.find((k) => k.toLowerCase() === name.toLowerCase());
	const whole = same(noted);
	if (whole !== undefined) return [whole];
	const parts = noted.split('+').map((part) => part.trim());
	return [...new Set(parts.filter((part) => part !== '').map((part) => same(part) ?? part))];
}
