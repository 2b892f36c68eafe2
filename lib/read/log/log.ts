import type { FieldPlan, LogPlan, Note, Records, Source } from '../../model/index.ts';
import { wetWeight } from '../../units/index.ts';
import type { Zone } from '../../units/zone.ts';
import { allBlank, type Cells, cellText, isBlank, NOT_A_NUMBER, parseNumber } from '../csv/cells.ts';
import { type Head, readCsv, tellQuotes } from '../csv/csv.ts';
import { FileFaults } from '../faults.ts';
import { Columns, type Place, type Wanted } from '../plan/mapping.ts';
import { nameUsable } from '../plan/plan.ts';
import type { Tally } from '../tally.ts';
import { Clock } from '../time/clock.ts';
import { YieldBeside } from './beside.ts';
import type { Growing } from './grow.ts';
import { Words } from './words.ts';
import { yesNo } from './yesno.ts';

/** Columns of numbers in Records. */
type NumberColumn =
	| 'lat_deg'
	| 'lon_deg'
	| 'flow_kg_s'
	| 'interval_s'
	| 'distance_m'
	| 'swath_m'
	| 'moisture_pct'
	| 'speed_m_s'
	| 'heading_deg'
	| 'elevation_m';

interface WantedNumber extends Wanted {
	into: NumberColumn;
	needed: boolean;
}

const NUMBERS: readonly WantedNumber[] = [
	{ key: 'lat', name: 'lat', kind: 'angle', unit: 'degrees', into: 'lat_deg', needed: true },
	{ key: 'lon', name: 'lon', kind: 'angle', unit: 'degrees', into: 'lon_deg', needed: true },
	{ key: 'interval', name: 'interval_s', kind: 'time', unit: 's', into: 'interval_s', needed: true },
	{ key: 'distance', name: 'distance_m', kind: 'length', unit: 'm', into: 'distance_m', needed: false },
	{ key: 'swath', name: 'swath_m', kind: 'length', unit: 'm', into: 'swath_m', needed: false },
	{ key: 'moisture', name: 'moisture_pct', kind: 'share', unit: '%', into: 'moisture_pct', needed: true },
	{ key: 'speed', name: 'speed_m_s', kind: 'speed', unit: 'm/s', into: 'speed_m_s', needed: false },
	{ key: 'heading', name: 'heading_deg', kind: 'angle', unit: 'degrees', into: 'heading_deg', needed: false },
	{ key: 'elevation', name: 'elevation_m', kind: 'length', unit: 'm', into: 'elevation_m', needed: false },
];
const FLOW: WantedNumber = {
	key: 'flow',
	name: 'flow_kg_s',
	kind: 'mass per time',
	unit: 'kg/s',
	into: 'flow_kg_s',
	needed: true,
};
const YIELD: Wanted = { key: 'yield', name: 'yield', kind: 'mass per area', unit: 'kg/ha' };
const TIME: Wanted = { key: 'time', name: 'time', kind: 'time', unit: 's' };
const COMBINE: Wanted = { key: 'combine', name: 'combine', kind: null, unit: '' };
const VARIETY: Wanted = { key: 'variety', name: 'variety', kind: null, unit: '' };
const LOAD: Wanted = { key: 'load', name: 'load', kind: null, unit: '' };
const HEADER: Wanted = { key: 'header', name: 'header_down', kind: null, unit: '' };
const AUGER: Wanted = { key: 'auger', name: 'auger_on', kind: null, unit: '' };
const KEYS = new Set([...NUMBERS, FLOW, YIELD, TIME, COMBINE, VARIETY, LOAD, HEADER, AUGER].map((w) => w.key));

/** A row's numbers are not believed to lie further from the file's middle year than this. */
const YEAR_S = 370 * 86_400;

/**
 * Outside of these no column in whatever unit can be: far wider than what is usual, since a unit that was confused is
 * to be found and named by what it does to the whole log, and a spike of a sensor is mended later.
 */
const POSSIBLE: readonly [NumberColumn, number, number, string][] = [
	['interval_s', 0, 86_400, 'expected an interval from 0 to 86400 s'],
	['swath_m', 0, 2000, 'expected a width from 0 to 2000 m'],
	['distance_m', -1e6, 1e6, 'no machine travels so far in a record'],
	['flow_kg_s', -1e4, 1e4, 'no machine takes so much grain'],
	['moisture_pct', 0, 100, 'expected a moisture from 0 to 100%'],
	['speed_m_s', -1e4, 1e4, 'no machine is so fast'],
	['heading_deg', -3600, 3600, 'expected a heading in degrees'],
	['elevation_m', -1e5, 1e5, 'no field is so high or low'],
];

/** One folder is one field: the largest is a tenth of this across. */
const FAR_M = 50_000;
const M_PER_DEG = 111_195;

/** What the logs share. */
export interface LogRoom {
	growing: Growing;
	plan: FieldPlan;
	zone: Zone | null;
	tally: Tally;
	notes: Note[];
}

/** Reads one log's records on to the others. Its faults say what was set aside and whether it stops the run. */
export async function readLog(
	source: Source,
	log: LogPlan,
	index: number,
	room: LogRoom,
): Promise<{ faults: FileFaults; rows: number }> {
	const faults = new FileFaults(source.name);
	let reader: LogReader | null = null;
	const end = await readCsv(room.tally.watch(source), (head) => {
		reader = LogReader.open(head, log, index, room, faults);
		return reader && ((cells) => (reader as LogReader).row(cells));
	});
	room.tally.rows(source.name, end.rows);
	if (end.broken !== null) faults.whole(null, null, end.broken.found, end.broken.why);
	tellQuotes(faults, end.quoteFaults);
	if (faults.stop.length > 0) return { faults, rows: end.rows };
	if (end.rows === 0) faults.whole(null, null, 'a header and no rows', 'the log is empty: it holds no records');
	(reader as LogReader | null)?.close();
	return { faults, rows: end.rows };
}

interface NumberPlace extends Place {
	into: NumberColumn;
}

class LogReader {
	private cells!: Cells;
	private textOf = 0;
	private readonly text = () => cellText(this.cells, this.textOf);
	private readonly arrays: Float64Array[] = [];
	private readonly untimed: number[] = [];
	private goodCombine = -1;
	/** Records of earlier logs. */
	private readonly from: number;
	private readonly combines: Words;
	private readonly varieties: Words;
	private readonly loads: Words;
	private readonly beside: YieldBeside | null;

	private constructor(
		private readonly head: Head,
		private readonly index: number,
		private readonly room: LogRoom,
		private readonly faults: FileFaults,
		private readonly clock: Clock,
		private readonly time: Place,
		private readonly numbers: readonly NumberPlace[],
		private readonly yieldAt: Place | null,
		/** A yield that is not used, to look at beside the flow. */
		private readonly besideAt: Place | null,
		private readonly combine: Place | null,
		/** Number of the combine of rows that name none. */
		private readonly ownCombine: number,
		private readonly variety: Place | null,
		private readonly load: Place | null,
		private readonly header: Place | null,
		private readonly auger: Place | null,
	) {
		const { records } = room.growing;
		this.from = records.n;
		this.combines = new Words(records.combines);
		this.varieties = new Words(records.varieties);
		this.loads = new Words(records.loads);
		const flow = numbers.find((n) => n.into === 'flow_kg_s');
		this.beside = besideAt && flow ? new YieldBeside(besideAt.name, flow.name, room.plan.crop) : null;
		this.take();
	}

	/** Finds every column; null where one is missing or at fault. */
	static open(head: Head, log: LogPlan, index: number, room: LogRoom, faults: FileFaults): LogReader | null {
		const columns = new Columns(head.columns, log.columns, room.plan.crop, faults);
		const need = (wanted: Wanted): Place | null => {
			const place = columns.place(wanted);
			if (place === null && !columns.mapped(wanted.key)) columns.missing(wanted.name);
			return place;
		};
		const unknown = Object.keys(log.columns ?? {}).filter((key) => !KEYS.has(key));
		if (unknown.length > 0) {
			room.notes.push({
				level: 'caution',
				text: `${faults.file}: the mapping has entries that are not known and not used: ${unknown.join(', ')} (known: ${[...KEYS].join(', ')}).`,
			});
		}
		const time = need(TIME);
		const timePlan = log.columns?.time;
		if (time !== null && time.index < 0) faults.whole(null, 'time', String(timePlan?.value), 'time must be a column');
		const numbers: NumberPlace[] = [];
		for (const wanted of NUMBERS) {
			const place = wanted.needed ? need(wanted) : columns.place(wanted);
			if (place !== null) numbers.push({ ...place, into: wanted.into });
		}
		swathFromPlan(log, room, numbers, columns);
		distanceMissing(faults.file, room, numbers, columns);
		const byYield = columns.mapped('yield') && !columns.mapped('flow');
		if (columns.mapped('yield') && !byYield) {
			room.notes.push({
				level: 'note',
				text: `${faults.file}: its mapping has both flow and yield; the yield is not used.`,
			});
		}
		const yieldAt = byYield ? yieldPlace(columns, faults) : null;
		const besideAt = columns.mapped('yield') && !byYield ? columns.place(YIELD) : null;
		if (!byYield) {
			const flow = need(FLOW);
			if (flow !== null) numbers.push({ ...flow, into: 'flow_kg_s' });
		}
		if (byYield && !numbers.some((n) => n.into === 'distance_m')) columns.missing('distance_m');
		const optional = [COMBINE, VARIETY, LOAD, HEADER, AUGER].map((w) => columns.place(w));
		const [combine = null, variety = null, load = null, header = null, auger = null] = optional;
		for (const text of columns.cautions) room.notes.push({ level: 'caution', text: `${faults.file}: ${text}` });
		// Opening the clock may find faults too ("since"), so it comes before the last look.
		const clock = time === null ? null : new Clock(time, room.zone, head.decimalComma, faults);
		if (faults.stop.length > 0 || clock === null || time === null) return null;
		const own = log.combine ?? baseName(log.file);
		const ownCombine = combine === null || log.combine !== null ? new Words(room.growing.records.combines).of(own) : -1;
		if (combine === null && log.combine === null) {
			room.notes.push({ level: 'note', text: `${faults.file} names no combine; it is called ${own} here.` });
		}
		return new LogReader(
			head,
			index,
			room,
			faults,
			clock,
			time,
			numbers,
			yieldAt,
			besideAt,
			combine,
			ownCombine,
			variety,
			load,
			header,
			auger,
		);
	}

	/** The arrays that rows go into; asked again whenever they have grown. */
	private take(): void {
		this.numbers.forEach((n, k) => {
			this.arrays[k] = this.room.growing.records[n.into];
		});
	}

	row(cells: Cells): void {
		this.cells = cells;
		if (cells.count !== this.head.columns.length && !this.widthFits(cells)) return;
		if (this.room.growing.fit(this.from, this.room.tally.share)) this.take();
		const { records } = this.room.growing;
		const i = records.n;
		if (!this.readNumbers(cells, i)) return;
		this.textOf = this.time.index;
		const time_s = this.clock.read(cells, cells.line, this.text);
		if (time_s === null) return;
		if (Number.isNaN(time_s) && allBlank(cells)) return;
		if (!this.plausible(records, i, cells.line)) return;
		const combine = this.combineOf(cells);
		if (combine < 0) return;
		if (this.yieldAt !== null && !this.flowFromYield(this.yieldAt, records, i, cells)) return;
		if (this.beside !== null) this.beside.look(records, i, this.numberAt(this.besideAt as Place, cells));
		const headerDown = this.yesNoOf(this.header, cells);
		const augerOn = this.yesNoOf(this.auger, cells);
		if (headerDown === null || augerOn === null) return;
		records.headerDown[i] = headerDown;
		records.augerOn[i] = augerOn;
		records.time_s[i] = time_s;
		records.combine[i] = combine;
		records.log[i] = this.index;
		records.line[i] = cells.line;
		records.variety[i] = wordOf(this.variety, this.varieties, cells);
		records.load[i] = wordOf(this.load, this.loads, cells);
		if (Number.isNaN(time_s)) this.untimed.push(i);
		records.n++;
	}

	/** Cells beyond the header must be blank; fewer than the header has is a row cut short. */
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
			const place = numbers[k] as NumberPlace;
			const array = arrays[k] as Float64Array;
			const c = place.index;
			if (c < 0) {
				array[i] = place.constant;
				continue;
			}
			const value = parseNumber(cells.bytes, cells.starts[c] as number, cells.ends[c] as number, decimalComma);
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
		const lat = records.lat_deg[i] as number;
		const lon = records.lon_deg[i] as number;
		let good = true;
		if (lat > 90 || lat < -90) good = this.bad('lat_deg', line, 'expected a latitude from −90 to 90 degrees');
		if (lon > 180 || lon < -180) good = this.bad('lon_deg', line, 'expected a longitude from −180 to 180 degrees');
		if (lat === 0 && lon === 0) good = this.bad('lat_deg', line, 'position 0/0: the receiver had no fix');
		for (const [into, least, most, why] of POSSIBLE) {
			const value = records[into][i] as number;
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
		const { combine } = this;
		let index = this.ownCombine;
		if (combine !== null) {
			const named =
				combine.index < 0 ? this.combines.of(combine.text as string) : this.combines.read(cells, combine.index);
			if (named >= 0) index = named;
		}
		if (index < 0) index = this.combines.of(baseName(this.faults.file));
		if (index === this.goodCombine) return index;
		if (index > 255 || !nameUsable(this.combines.list[index] as string)) {
			const found = combine === null ? '' : cellText(cells, combine.index);
			this.faults.row(cells.line, combine?.name ?? 'combine', found, 'expected at most 256 combine names');
			return -1;
		}
		this.goodCombine = index;
		return index;
	}

	/** A column's number in the library's own unit. */
	private numberAt(place: Place, cells: Cells): number {
		const c = place.index;
		if (c < 0) return place.constant;
		const value = parseNumber(cells.bytes, cells.starts[c] as number, cells.ends[c] as number, this.head.decimalComma);
		return value * place.factor;
	}

	/** Flow from yield over the record's ground; missing where any part is. */
	private flowFromYield(place: Place, records: Records, i: number, cells: Cells): boolean {
		const c = place.index;
		const read = this.numberAt(place, cells);
		if (read === NOT_A_NUMBER) {
			this.faults.row(cells.line, place.name, cellText(cells, c), 'expected a number (blank if the value is missing)');
			return false;
		}
		const { basis, at_pct } = place.plan ?? {};
		const wet = basis === 'dry' ? wetWeight(read, records.moisture_pct[i] as number, at_pct as number) : read;
		const area_ha = ((records.distance_m[i] as number) * (records.swath_m[i] as number)) / 10_000;
		const flow = (wet * area_ha) / (records.interval_s[i] as number);
		records.flow_kg_s[i] = Number.isFinite(flow) ? flow : Number.NaN;
		if (!(Math.abs(flow) > 1e4)) return true;
		this.faults.row(cells.line, place.name, cellText(cells, c), 'no machine takes so much grain');
		return false;
	}

	private yesNoOf(place: Place | null, cells: Cells): -1 | 0 | 1 | null {
		if (place === null) return -1;
		const c = place.index;
		if (c >= 0) {
			const s = cells.starts[c] as number;
			if ((cells.ends[c] as number) - s === 1) {
				const only = cells.bytes[s];
				if (only === 48) return 0;
				if (only === 49) return 1;
			}
		}
		const text = c < 0 ? (place.text as string) : cellText(cells, c);
		const value = yesNo(text);
		if (value === null) this.faults.row(cells.line, place.name, text, 'expected 1 or 0 (blank if not known)');
		return value;
	}

	/** After the last row: years far from the file's own, and records without a time. */
	close(): void {
		const said = this.beside?.text() ?? null;
		if (said !== null) this.room.notes.push({ level: 'caution', text: `${this.faults.file}: ${said}` });
		const { growing } = this.room;
		const { from } = this;
		const { records } = growing;
		this.fillTimes();
		const middle = middleTime(records, from);
		if (Number.isNaN(middle)) {
			this.faults.whole(null, this.time.name, 'blank cells', 'no row of the log has a time');
			return;
		}
		const far = farFromMiddle(records, from);
		growing.drop(from, (i) => {
			if (far(i)) {
				this.faults.row(
					records.line[i] as number,
					this.numbers.find((n) => n.into === 'lat_deg')?.name ?? 'lat',
					`${records.lat_deg[i]}, ${records.lon_deg[i]}`,
					'more than 50 km from the middle of the log: not in this field',
				);
				return true;
			}
			const time_s = records.time_s[i] as number;
			if (Math.abs(time_s - middle) <= YEAR_S) return false;
			this.faults.row(
				records.line[i] as number,
				this.time.name,
				new Date(time_s * 1000).toISOString(),
				`impossible year: the file’s other rows are of ${new Date(middle * 1000).getUTCFullYear()}`,
			);
			return true;
		});
	}

	/** A record without a time follows on the record before it, so that its grain keeps its place. */
	private fillTimes(): void {
		const { from } = this;
		if (this.untimed.length === 0) return;
		const { records, untimed } = this.room.growing;
		const step = (i: number) => Math.max(0, records.interval_s[i] || 0);
		for (const i of this.untimed) {
			untimed[i] = 1;
			let last = i - 1;
			while (last >= from && records.combine[last] !== records.combine[i]) last--;
			if (last >= from) records.time_s[i] = (records.time_s[last] as number) + step(i);
		}
		// Those before the first known time count back from it.
		for (let i = records.n - 2; i >= from; i--) {
			if (Number.isNaN(records.time_s[i])) records.time_s[i] = (records.time_s[i + 1] as number) - step(i + 1);
		}
		this.room.notes.push({
			level: 'caution',
			text: `${this.faults.file}: ${this.untimed.length} records have no time; each is assumed to follow the record before it.`,
		});
	}
}

/** Of records from `from` on: does one lie further from the middle place than any field reaches? */
function farFromMiddle(records: Records, from: number): (i: number) => boolean {
	const { lat_deg, lon_deg } = records;
	const lat0 = middleOf(lat_deg, from, records.n);
	const lon0 = middleOf(lon_deg, from, records.n);
	const east = M_PER_DEG * Math.cos((lat0 * Math.PI) / 180);
	return (i) => {
		const around = Math.abs((lon_deg[i] as number) - lon0);
		const east_m = Math.min(around, 360 - around) * east;
		return Math.hypot(((lat_deg[i] as number) - lat0) * M_PER_DEG, east_m) > FAR_M;
	};
}

/** The middle one of a file's times, of a thousand spread over it. */
function middleTime(records: Records, from: number): number {
	const middle = middleOf(records.time_s, from, records.n);
	return Number.isNaN(middle) && records.n === from ? 0 : middle;
}

/** The middle one of a column's known values, of a thousand spread over it. */
function middleOf(values: Float64Array, from: number, end: number): number {
	const step = Math.max(1, Math.floor((end - from) / 1000));
	const some: number[] = [];
	for (let i = from; i < end; i += step) some.push(values[i] as number);
	const known = some.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
	return known[known.length >> 1] ?? Number.NaN;
}

function wordOf(place: Place | null, words: Words, cells: Cells): number {
	if (place === null) return -1;
	return place.index < 0 ? words.of(place.text as string) : words.read(cells, place.index);
}

function baseName(file: string): string {
	return (file.split('/').pop() as string).replace(/\.[^.]*$/, '') || file;
}

/** A log without a column of widths takes the header's width from field.json. */
function swathFromPlan(log: LogPlan, room: LogRoom, numbers: NumberPlace[], columns: Columns): void {
	if (numbers.some((n) => n.into === 'swath_m') || columns.mapped('swath')) return;
	const swath_m = log.combine === null ? null : (room.plan.combines[log.combine]?.swath_m ?? null);
	if (swath_m === null) {
		columns.missing('swath_m');
		return;
	}
	numbers.push({ index: -1, name: 'swath_m', factor: 1, constant: swath_m, text: null, plan: null, into: 'swath_m' });
	room.notes.push({
		level: 'note',
		text: `${log.file} has no width: ${swath_m} m from field.json is used throughout.`,
	});
}

function distanceMissing(file: string, room: LogRoom, numbers: readonly NumberPlace[], columns: Columns): void {
	if (numbers.some((n) => n.into === 'distance_m') || columns.mapped('distance')) return;
	room.notes.push({
		level: 'caution',
		text: `${file} has no distance_m: distance traveled is computed from the positions.`,
	});
}

function yieldPlace(columns: Columns, faults: FileFaults): Place | null {
	const place = columns.place(YIELD);
	const plan = place?.plan;
	if (place === null || !plan) return null;
	if (plan.basis === undefined) {
		faults.whole(
			null,
			plan.column ?? 'yield',
			'no basis',
			'yield must say "basis": "wet", or "basis": "dry" with "at_pct" (at 22 % moisture the two differ by 7.7 %)',
		);
	} else if (plan.basis === 'dry' && plan.at_pct === undefined) {
		faults.whole(
			null,
			plan.column ?? 'yield',
			'basis dry',
			'dry yield must say "at_pct": the moisture it is stated at',
		);
	}
	return place;
}
