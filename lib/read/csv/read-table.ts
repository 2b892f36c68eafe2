import { rearmed } from '../../formats/csv-cell.ts';
import { NOT_A_NUMBER, parseNumber } from '../../formats/digits.ts';
import type { Crop, Source, TablePlan, TimeGrain } from '../../model/index.ts';
import type { Zone } from '../../units/zone.ts';
import type { FileFaults } from '../faults.ts';
import type { FilesRead } from '../files-read.ts';
import { Columns, type Place, type Wanted } from '../plan/mapping.ts';
import { Clock } from '../time/clock.ts';
import { allBlank, type Cells, cellText, isBlank } from './cells.ts';
import { type Head, readRows } from './csv.ts';

/** What all tables kept by hand have in common. */
export interface TableContext {
	crop: Crop;
	zone: Zone | null;
	filesRead: FilesRead;
	faults: FileFaults;
}

/** What a row is read by: the same for all rows of a table. */
interface RowContext {
	columns: Columns;
	head: Head;
	/** Where each key's values are. */
	places: ReadonlyMap<string, Place>;
	clock: Clock | null;
	time: Place | null;
	faults: FileFaults;
}

/** One row of a table kept by hand (cart log, tickets, trace), read by keys. */
export class TableRow {
	cells!: Cells;
	/** Precision of the time last read. */
	grain: TimeGrain = 'none';

	constructor(private readonly given: RowContext) {}

	get columns(): Columns {
		return this.given.columns;
	}

	get line(): number {
		return this.cells.line;
	}

	has(key: string): boolean {
		return this.given.places.has(key);
	}

	/** Name of a key's column in the file. */
	name(key: string): string {
		return this.given.places.get(key)?.name ?? key;
	}

	text(key: string): string {
		const place = this.given.places.get(key);
		if (place === undefined) return '';
		return place.index < 0 ? (place.text ?? String(place.constant)) : rearmed(cellText(this.cells, place.index));
	}

	/** A number in the library's own unit: NaN for a blank, null for a text (the caller reports the fault). */
	number(key: string): number | null {
		const place = this.given.places.get(key);
		if (place === undefined) return Number.NaN;
		if (place.index < 0) return place.constant;
		if (place.index >= this.cells.count) return Number.NaN;
		const { bytes, starts, ends } = this.cells;
		const at = place.index;
		const value = parseNumber(bytes, starts[at]!, ends[at]!, this.given.head.decimalComma);
		return value === NOT_A_NUMBER ? null : value * place.factor;
	}

	/** An optional number: an invalid one is reported and left out. */
	optional(key: string, why = 'expected a number', fits: (value: number) => boolean = () => true): number {
		const value = this.number(key);
		if (value !== null && (Number.isNaN(value) || fits(value))) return value;
		this.given.faults.cell(this.line, this.name(key), this.text(key), why);
		return Number.NaN;
	}

	/** UTC seconds, NaN where blank; null where it makes the row invalid. Sets `grain`. */
	time(): number | null {
		const { clock, time } = this.given;
		this.grain = 'none';
		if (clock === null || time === null || time.index >= this.cells.count) return Number.NaN;
		const time_s = clock.read(this.cells, this.line, () => cellText(this.cells, time.index));
		if (time_s !== null) this.grain = clock.time.grain;
		return time_s;
	}
}

/** What is made of a table: `check` gets the columns found and may report missing ones; `row` gets each row. */
interface TableReader {
	wanted: readonly Wanted[];
	check: (row: TableRow) => void;
	row: (row: TableRow) => void;
}

/** Reads a table kept by hand row by row. Returns the number of rows; nothing is passed on if the file is invalid. */
export async function readTable(
	source: Source,
	plan: TablePlan,
	context: TableContext,
	{ wanted, check, row }: TableReader,
): Promise<number> {
	const { faults, filesRead } = context;
	const rows = await readRows(filesRead.watch(source), faults, (head) => {
		const columns = new Columns(head.columns, plan.columns, context.crop, faults);
		const places = new Map<string, Place>();
		for (const w of wanted) {
			const place = columns.place(w);
			if (place !== null) places.set(w.key, place);
		}
		const time = places.get('time') ?? null;
		const clock = time === null || time.index < 0 ? null : new Clock(time, context.zone, head.decimalComma, faults);
		const table = new TableRow({ columns, head, places, clock, time, faults });
		check(table);
		if (faults.stop.length > 0) return null;
		return (cells) => {
			if (allBlank(cells)) return;
			for (let k = head.columns.length; k < cells.count; k++) {
				if (isBlank(cells, k)) continue;
				faults.row(cells.line, null, `${cells.count} cells`, `the header has ${head.columns.length} columns`);
				return;
			}
			table.cells = cells;
			row(table);
		};
	});
	filesRead.rows(source.name, rows);
	return rows;
}
