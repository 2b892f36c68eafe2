import { NOT_A_NUMBER, parseNumber } from '../../formats/digits.ts';
import { caution, type FieldPlan, type LogPlan, type Note, type Records, type SetAside } from '../../model/index.ts';
import { wetWeight } from '../../units/index.ts';
import { Zone } from '../../units/zone.ts';
import { allBlank, type Cells, cellText, isBlank } from '../csv/cells.ts';
import { type Head, readRows } from '../csv/csv.ts';
import { FileFaults } from '../faults.ts';
import type { Place } from '../plan/mapping.ts';
import { nameUsable } from '../plan/plan.ts';
import { dropFar, fillTimes } from './close.ts';
import { dropContradicted } from './contradicted.ts';
import { DistinctTexts } from './distinct-texts.ts';
import { Growing } from './grow.ts';
import {
	baseName,
	type LogColumns,
	type LogContext,
	logColumns,
	type NumberColumn,
	type NumberPlace,
} from './log-columns.ts';
import { spreadMinutes } from './minutes.ts';
import { OwnYield } from './own-yield.ts';
import { followOn } from './setback.ts';
import { yesNo } from './yesno.ts';

/**
 * Limits that no column can exceed in any unit: far wider than usual, since a confused unit is found and named by its
 * effect on the whole log, and a sensor's spike is handled later.
 */
const POSSIBLE: readonly [NumberColumn, number, number, string][] = [
	['interval_s', 0, 86_400, 'expected an interval from 0 to 86400 s'],
	['swath_m', 0, 2000, 'expected a width from 0 to 2000 m'],
	['distance_m', -1e6, 1e6, 'farther than a machine travels in one record'],
	['flow_kg_s', -1e4, 1e4, 'more grain than any machine takes in'],
	['moisture_pct', 0, 100, 'expected a moisture from 0 to 100%'],
	['speed_m_s', -1e4, 1e4, 'faster than any machine'],
	['heading_deg', -3600, 3600, 'expected a heading in degrees'],
	['elevation_m', -1e5, 1e5, 'higher or lower than any field'],
];

/** Combines that a record can refer to. */
export const MOST_COMBINES = 256;

/** A log to be read, and what it takes to read it. */
export interface LogInput {
	log: LogPlan;
	/** Its place among the logs. */
	index: number;
	plan: FieldPlan;
	/** IANA name of the field's time zone. */
	zone: string | null;
	strict: boolean;
}

/** What one log holds. */
export interface LogRead {
	records: Records;
	rows: number;
	/** Faults that stop the run, and what was set aside. */
	stop: SetAside[];
	aside: SetAside[];
	notes: Note[];
	/** Local times that the zone's clocks show twice, and the first of them. */
	shownTwice: number;
	firstShownTwice_s: number;
}

/**
 * Reads one log's records.
 *
 * @param share - of the log that has been read
 */
export async function logRecords(
	chunks: AsyncIterable<Uint8Array>,
	{ log, index, plan, zone: name, strict }: LogInput,
	share: () => number,
): Promise<LogRead> {
	const faults = new FileFaults(log.file);
	const zone = name === null ? null : new Zone(name);
	const context: LogContext = { growing: new Growing(), plan, zone, notes: [] };
	let reader: LogReader | null = null;
	const rows = await readRows(chunks, faults, (head) => {
		const columns = logColumns(head, log, context, faults);
		if (columns === null) return null;
		const opened = new LogReader({ head, index, context, faults, columns, share });
		reader = opened;
		return (cells) => opened.row(cells);
	});
	if (faults.stop.length === 0) {
		if (rows === 0) faults.whole(null, null, 'a header and no rows', 'the log is empty: it holds no records');
		(reader as LogReader | null)?.close();
	}
	faults.close(rows, strict);
	const { stop, aside } = faults;
	const { shownTwice = 0, firstShownTwice_s = Number.NaN } = zone ?? {};
	return { records: context.growing.done(), rows, stop, aside, notes: context.notes, shownTwice, firstShownTwice_s };
}

/** The same of a log in memory: what another thread does. */
export function logInMemory({ bytes, ...input }: LogInput & { bytes: Uint8Array }): Promise<LogRead> {
	let at = 0;
	async function* pieces() {
		// Copies, since no decoder takes bytes that threads share.
		for (; at < bytes.length; at += PIECE) yield bytes.slice(at, at + PIECE);
	}
	return logRecords(pieces(), input, () => at / bytes.length);
}

const PIECE = 1 << 20;

/** A log being read. */
interface Opened {
	head: Head;
	index: number;
	context: LogContext;
	faults: FileFaults;
	columns: LogColumns;
	share: () => number;
}

class LogReader {
	private cells!: Cells;
	private textOf = 0;
	private readonly text = () => cellText(this.cells, this.textOf);
	private readonly arrays: Float64Array[] = [];
	private readonly untimed: number[] = [];
	private goodCombine = -1;
	private readonly combines: DistinctTexts;
	private readonly varieties: DistinctTexts;
	private readonly loads: DistinctTexts;
	private readonly ownYield: OwnYield | null;

	private readonly numbers: readonly NumberPlace[];
	private readonly yieldAt: Place | null;

	private readonly head: Head;
	private readonly context: LogContext;
	private readonly faults: FileFaults;
	private readonly at: LogColumns;

	constructor(private readonly opened: Opened) {
		const { head, context, faults, columns } = opened;
		this.head = head;
		this.context = context;
		this.faults = faults;
		this.at = columns;
		const { combines, varieties, loads } = context.growing.records;
		this.numbers = columns.numbers;
		this.yieldAt = columns.yieldAt;
		this.combines = new DistinctTexts(combines);
		this.varieties = new DistinctTexts(varieties);
		this.loads = new DistinctTexts(loads);
		const flow = columns.numbers.find((n) => n.into === 'flow_kg_s');
		const own = columns.ownYieldAt;
		this.ownYield = own && flow ? new OwnYield(own.name, flow.name, context.plan.crop) : null;
		this.take();
	}

	/** The arrays that rows go into; fetched again whenever they have grown. */
	private take(): void {
		this.numbers.forEach((n, k) => {
			this.arrays[k] = this.context.growing.records[n.into];
		});
	}

	row(cells: Cells): void {
		this.cells = cells;
		if (cells.count !== this.head.columns.length && !this.widthFits(cells)) return;
		if (this.context.growing.fit(this.opened.share())) this.take();
		const { records } = this.context.growing;
		const i = records.n;
		if (!this.readNumbers(cells, i)) return;
		this.textOf = this.at.time.index;
		const time_s = this.at.clock.read(cells, cells.line, this.text);
		if (time_s === null) return;
		if (Number.isNaN(time_s) && allBlank(cells)) return;
		if (!this.plausible(records, i, cells.line)) return;
		const combine = this.combineOf(cells);
		if (combine < 0) return;
		if (this.yieldAt !== null && !this.flowFromYield(this.yieldAt, records, i, cells)) return;
		if (this.ownYield !== null) this.ownYield.look(records, i, this.numberAt(this.at.ownYieldAt!, cells));
		const headerDown = this.yesNoOf(this.at.header, cells);
		const augerOn = this.yesNoOf(this.at.auger, cells);
		if (headerDown === null || augerOn === null) return;
		records.headerDown[i] = headerDown;
		records.augerOn[i] = augerOn;
		records.time_s[i] = time_s;
		records.combine[i] = combine;
		records.log[i] = this.opened.index;
		records.line[i] = cells.line;
		records.variety[i] = wordOf(this.at.variety, this.varieties, cells);
		records.load[i] = wordOf(this.at.load, this.loads, cells);
		if (Number.isNaN(time_s)) this.untimed.push(i);
		records.n++;
	}

	/** Cells beyond the header must be blank; a row with fewer cells than the header was cut short. */
	private widthFits(cells: Cells): boolean {
		const wanted = this.head.columns.length;
		if (cells.count === 1 && isBlank(cells, 0)) return false;
		let blank = cells.count > wanted;
		for (let k = wanted; k < cells.count; k++) blank &&= isBlank(cells, k);
		if (!blank) this.faults.row(cells.line, null, `${cells.count} cells`, `the header has ${wanted} columns`);
		return blank;
	}

	private readNumbers(cells: Cells, i: number): boolean {
		const { numbers, arrays } = this;
		const { decimalComma } = this.head;
		let good = true;
		for (let k = 0; k < numbers.length; k++) {
			const place = numbers[k]!;
			const array = arrays[k]!;
			const c = place.index;
			if (c < 0) {
				array[i] = place.constant;
				continue;
			}
			const value = parseNumber(cells.bytes, cells.starts[c]!, cells.ends[c]!, decimalComma);
			if (value === NOT_A_NUMBER) {
				this.faults.row(
					cells.line,
					place.name,
					cellText(cells, c),
					'expected a number (blank if the value is missing)',
				);
				good = false;
			}
			array[i] = value * place.factor;
		}
		return good;
	}

	private plausible(records: Records, i: number, line: number): boolean {
		const lat = records.lat_deg[i]!;
		const lon = records.lon_deg[i]!;
		let good = true;
		if (lat > 90 || lat < -90) good = this.bad('lat_deg', line, 'expected a latitude from −90 to 90 degrees');
		if (lon > 180 || lon < -180) good = this.bad('lon_deg', line, 'expected a longitude from −180 to 180 degrees');
		if (lat === 0 && lon === 0) good = this.bad('lat_deg', line, 'position 0/0: the receiver had no fix');
		for (const [into, least, most, why] of POSSIBLE) {
			const value = records[into][i]!;
			if (value < least || value > most) good = this.bad(into, line, why);
		}
		return good;
	}

	private bad(into: NumberColumn, line: number, why: string): false {
		const place = this.numbers.find((n) => n.into === into);
		const found = place && place.index >= 0 ? cellText(this.cells, place.index) : '';
		this.faults.row(line, place?.name ?? into, found, why);
		return false;
	}

	private combineOf(cells: Cells): number {
		const { combine } = this.at;
		let index = this.at.ownCombine;
		if (combine !== null) {
			const named = combine.index < 0 ? this.combines.of(combine.text!) : this.combines.read(cells, combine.index);
			if (named >= 0) index = named;
		}
		if (index < 0) index = this.combines.of(baseName(this.faults.file));
		if (index === this.goodCombine) return index;
		if (index >= MOST_COMBINES || !nameUsable(this.combines.list[index]!)) {
			const found = combine === null ? '' : cellText(cells, combine.index);
			this.faults.row(cells.line, combine?.name ?? 'combine', found, `expected at most ${MOST_COMBINES} combine names`);
			return -1;
		}
		this.goodCombine = index;
		return index;
	}

	/** A column's number in the library's own unit. */
	private numberAt(place: Place, cells: Cells): number {
		const c = place.index;
		if (c < 0) return place.constant;
		const value = parseNumber(cells.bytes, cells.starts[c]!, cells.ends[c]!, this.head.decimalComma);
		return value * place.factor;
	}

	/** Flow from yield over the record's ground; missing if any part is. */
	private flowFromYield(place: Place, records: Records, i: number, cells: Cells): boolean {
		const c = place.index;
		const read = this.numberAt(place, cells);
		if (read === NOT_A_NUMBER) {
			this.faults.row(cells.line, place.name, cellText(cells, c), 'expected a number (blank if the value is missing)');
			return false;
		}
		const { basis, at_pct } = place.plan ?? {};
		const wet = basis === 'dry' ? wetWeight(read, records.moisture_pct[i]!, at_pct!) : read;
		const area_ha = (records.distance_m[i]! * records.swath_m[i]!) / 10_000;
		const flow = (wet * area_ha) / records.interval_s[i]!;
		records.flow_kg_s[i] = Number.isFinite(flow) ? flow : Number.NaN;
		if (!(Math.abs(flow) > 1e4)) return true;
		this.faults.row(cells.line, place.name, cellText(cells, c), 'more grain than any machine takes in');
		return false;
	}

	private yesNoOf(place: Place | null, cells: Cells): -1 | 0 | 1 | null {
		if (place === null) return -1;
		const c = place.index;
		if (c >= 0) {
			const s = cells.starts[c]!;
			if (cells.ends[c]! - s === 1) {
				const only = cells.bytes[s];
				if (only === 48) return 0;
				if (only === 49) return 1;
			}
		}
		const text = c < 0 ? place.text! : cellText(cells, c);
		const value = yesNo(text);
		if (value === null) this.faults.row(cells.line, place.name, text, 'expected 1 or 0 (blank if not known)');
		return value;
	}

	/** After the last row. */
	close(): void {
		const { faults, context, untimed, at } = this;
		const said = this.ownYield?.text() ?? null;
		if (said !== null) context.notes.push(caution(`${faults.file}: ${said}`));
		fillTimes(context, faults.file, untimed);
		dropFar(context.growing, faults, at);
		followOn(context, faults.file);
		spreadMinutes(context, faults.file);
		dropContradicted(context, faults.file, at);
	}
}

function wordOf(place: Place | null, words: DistinctTexts, cells: Cells): number {
	if (place === null) return -1;
	return place.index < 0 ? words.of(place.text!) : words.read(cells, place.index);
}
