/** Writes invented rows in any dialect that a monitor's software or a spreadsheet might. */
import type { Row } from './field.ts';

export interface Column {
	name: string;
	/** Unit for a row of units. */
	unit?: string;
	cell: (row: Row) => string | number;
	/** Digits behind the decimal sign. */
	digits?: number;
}

export interface Dialect {
	delimiter?: string;
	decimal?: '.' | ',';
	thousands?: '' | ',' | '.' | ' ' | "'" | '\u00a0';
	newline?: '\n' | '\r\n' | '\r';
	encoding?: 'utf-8' | 'utf-8-bom' | 'utf-16le' | 'utf-16be' | 'utf-16le-bare' | 'windows-1252';
	quotes?: 'none' | 'text' | 'all';
	/** Lines above the header. */
	preamble?: string[];
	/** Lines below the last row. */
	footer?: string[];
	units?: boolean;
	/** Header again before every so many rows. */
	repeatHeader?: number;
	noHeader?: boolean;
}

function grouped(text: string, mark: string): string {
	const [whole = '', rest] = text.split('.');
	const digits = whole.replace('-', '');
	const out = digits.replace(/\B(?=(\d{3})+(?!\d))/g, mark);
	return (whole.startsWith('-') ? '-' : '') + out + (rest === undefined ? '' : `.${rest}`);
}

function numberText(value: number, digits: number, { decimal = '.', thousands = '' }: Dialect): string {
	if (!Number.isFinite(value)) return '';
	let text = value.toFixed(digits);
	if (thousands !== '') {
		// The two signs must not meet: decimals are set apart first.
		text = grouped(text, '\u0000');
	}
	return text.replace('.', decimal).replaceAll('\u0000', thousands);
}

export function write(rows: readonly Row[], columns: readonly Column[], d: Dialect = {}): Uint8Array {
	const delimiter = d.delimiter ?? ',';
	const quote = (cell: string, isText: boolean) =>
		d.quotes === 'all' || (d.quotes === 'text' && isText) || cell.includes(delimiter) || cell.includes('"')
			? `"${cell.replaceAll('"', '""')}"`
			: cell;
	const line = (cells: readonly string[]) => cells.map((c) => quote(c, true)).join(delimiter);
	const header = line(columns.map((c) => c.name));
	const out: string[] = [...(d.preamble ?? [])];
	if (!d.noHeader) out.push(header);
	if (d.units) out.push(line(columns.map((c) => c.unit ?? '')));
	rows.forEach((row, i) => {
		if (d.repeatHeader && i > 0 && i % d.repeatHeader === 0) out.push(header);
		out.push(
			columns
				.map((c) => {
					const value = c.cell(row);
					return typeof value === 'number' ? quote(numberText(value, c.digits ?? 3, d), false) : quote(value, true);
				})
				.join(delimiter),
		);
	});
	out.push(...(d.footer ?? []));
	return encode(`${out.join(d.newline ?? '\n')}${d.newline ?? '\n'}`, d.encoding ?? 'utf-8');
}

export function encode(text: string, encoding: NonNullable<Dialect['encoding']>): Uint8Array {
	if (encoding === 'utf-8') return new TextEncoder().encode(text);
	if (encoding === 'utf-8-bom') return new TextEncoder().encode(`\ufeff${text}`);
	if (encoding === 'windows-1252') return Uint8Array.from(text, (c) => c.charCodeAt(0) & 255);
	const little = encoding !== 'utf-16be';
	const body = encoding === 'utf-16le-bare' ? text : `\ufeff${text}`;
	const bytes = new Uint8Array(body.length * 2);
	const view = new DataView(bytes.buffer);
	for (let i = 0; i < body.length; i++) view.setUint16(2 * i, body.charCodeAt(i), little);
	return bytes;
}

/** Local wall clock of a zone as parts. */
export function wall(time: number, zone: string) {
	const parts = new Intl.DateTimeFormat('en-US', {
		timeZone: zone,
		hourCycle: 'h23',
		year: 'numeric',
		month: '2-digit',
		day: '2-digit',
		hour: '2-digit',
		minute: '2-digit',
		second: '2-digit',
	}).formatToParts(time * 1000);
	const of = (type: string) => parts.find((p) => p.type === type)?.value ?? '';
	return { y: of('year'), m: of('month'), d: of('day'), h: of('hour'), min: of('minute'), s: of('second') };
}

const POUND = 0.45359237;
const FOOT = 0.3048;
const ACRE = 4046.8564224;

/** Columns by unit, under names that name it or not. */
export const flow = {
	kg: (name: string): Column => ({ name, unit: 'kg/s', cell: (r) => r.flow, digits: 4 }),
	lb: (name: string): Column => ({ name, unit: 'lb/s', cell: (r) => r.flow / POUND, digits: 4 }),
	t_h: (name: string): Column => ({ name, unit: 't/h', cell: (r) => r.flow * 3.6, digits: 4 }),
};
export const length = {
	m: (name: string, key: 'distance' | 'swath' | 'elevation'): Column => ({
		name,
		unit: 'm',
		cell: (r) => r[key],
		digits: 4,
	}),
	ft: (name: string, key: 'distance' | 'swath' | 'elevation'): Column => ({
		name,
		unit: 'ft',
		cell: (r) => r[key] / FOOT,
		digits: 4,
	}),
	in: (name: string, key: 'distance' | 'swath' | 'elevation'): Column => ({
		name,
		unit: 'in',
		cell: (r) => (r[key] / FOOT) * 12,
		digits: 3,
	}),
	cm: (name: string, key: 'distance' | 'swath' | 'elevation'): Column => ({
		name,
		unit: 'cm',
		cell: (r) => r[key] * 100,
		digits: 2,
	}),
};
export const lat = (name = 'lat'): Column => ({ name, unit: 'deg', cell: (r) => r.lat, digits: 8 });
export const lon = (name = 'lon'): Column => ({ name, unit: 'deg', cell: (r) => r.lon, digits: 8 });
export const moisture = (name = 'moisture'): Column => ({ name, unit: '%', cell: (r) => r.moisture, digits: 3 });
export const interval = (name = 'interval'): Column => ({ name, unit: 's', cell: (r) => r.interval, digits: 1 });
export const yieldOf = {
	bu_ac: (name: string, bushel_lb = 56, dry?: number): Column => ({
		name,
		unit: 'bu/ac',
		cell: (r) => {
			const wet = (r.flow * r.interval) / POUND / bushel_lb / ((r.distance * r.swath) / ACRE);
			return dry === undefined ? wet : (wet * (100 - r.moisture)) / (100 - dry);
		},
		digits: 4,
	}),
	t_ha: (name: string): Column => ({
		name,
		unit: 't/ha',
		cell: (r) => ((r.flow * r.interval) / (r.distance * r.swath)) * 10,
		digits: 5,
	}),
	kg_ha: (name: string): Column => ({
		name,
		unit: 'kg/ha',
		cell: (r) => ((r.flow * r.interval) / (r.distance * r.swath)) * 10_000,
		digits: 2,
	}),
	lb_ac: (name: string): Column => ({
		name,
		unit: 'lb/ac',
		cell: (r) => (r.flow * r.interval) / POUND / ((r.distance * r.swath) / ACRE),
		digits: 2,
	}),
};

const ZONE = 'America/Chicago';

/** Forms of a time in one column or two. */
export const time = {
	iso: (name = 'time'): Column[] => [{ name, cell: (r) => new Date(r.time * 1000).toISOString() }],
	isoLocal: (name = 'time', zone = ZONE): Column[] => [
		{
			name,
			cell: (r) => {
				const w = wall(r.time, zone);
				return `${w.y}-${w.m}-${w.d} ${w.h}:${w.min}:${w.s}`;
			},
		},
	],
	us: (name = 'Date Time', zone = ZONE): Column[] => [
		{
			name,
			cell: (r) => {
				const w = wall(r.time, zone);
				const h = Number(w.h);
				return `${Number(w.m)}/${Number(w.d)}/${w.y} ${h % 12 === 0 ? 12 : h % 12}:${w.min}:${w.s} ${h < 12 ? 'AM' : 'PM'}`;
			},
		},
	],
	german: (name = 'Zeit', zone = 'Europe/Berlin'): Column[] => [
		{
			name,
			cell: (r) => {
				const w = wall(r.time, zone);
				return `${w.d}.${w.m}.${w.y} ${w.h}:${w.min}:${w.s}`;
			},
		},
	],
	twoColumns: (date = 'Date', clock = 'Time', zone = ZONE): Column[] => [
		{
			name: date,
			cell: (r) => {
				const w = wall(r.time, zone);
				return `${w.m}/${w.d}/${w.y}`;
			},
		},
		{
			name: clock,
			cell: (r) => {
				const w = wall(r.time, zone);
				return `${w.h}:${w.min}:${w.s}`;
			},
		},
	],
	epoch: (name = 'timestamp'): Column[] => [{ name, cell: (r) => r.time, digits: 0 }],
	epochMs: (name = 'timestamp'): Column[] => [{ name, cell: (r) => r.time * 1000, digits: 0 }],
	sheetDay: (name = 'Time', zone = ZONE): Column[] => [
		{
			name,
			cell: (r) => {
				const w = wall(r.time, zone);
				return Date.UTC(+w.y, +w.m - 1, +w.d, +w.h, +w.min, +w.s) / 86_400_000 + 25_569;
			},
			digits: 7,
		},
	],
	packed: (date = 'date', clock = 'time', zone = ZONE): Column[] => [
		{
			name: date,
			cell: (r) => {
				const w = wall(r.time, zone);
				return Number(`${w.y}${w.m}${w.d}`);
			},
			digits: 0,
		},
		{
			name: clock,
			cell: (r) => {
				const w = wall(r.time, zone);
				return Number(`${w.h}${w.min}${w.s}`);
			},
			digits: 0,
		},
	],
	secondsOfDay: (date = 'date', clock = 'seconds of day', zone = ZONE): Column[] => [
		{
			name: date,
			cell: (r) => {
				const w = wall(r.time, zone);
				return `${w.y}-${w.m}-${w.d}`;
			},
		},
		{
			name: clock,
			cell: (r) => {
				const w = wall(r.time, zone);
				return +w.h * 3600 + +w.min * 60 + +w.s;
			},
			digits: 0,
		},
	],
	gpsWeek: (week = 'GPS week', seconds = 'GPS tow'): Column[] => {
		const zero = Date.UTC(1980, 0, 6) / 1000;
		const gps = (r: Row) => r.time + 18 - zero;
		return [
			{ name: week, cell: (r) => Math.floor(gps(r) / 604_800), digits: 0 },
			{ name: seconds, cell: (r) => gps(r) % 604_800, digits: 1 },
		];
	},
	worded: (name = 'time', zone = ZONE): Column[] => [
		{
			name,
			cell: (r) => {
				const w = wall(r.time, zone);
				const month = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'][+w.m - 1];
				return `${w.d}-${month}-${w.y} ${w.h}:${w.min}:${w.s}`;
			},
		},
	],
	since: (name = 'time'): Column[] => [{ name, cell: (r) => r.time - 1_791_482_700, digits: 0 }],
};

/** The usual columns of a log, metric, in the contract's own order. */
export const usualColumns = (): Column[] => [
	...time.iso(),
	lat(),
	lon(),
	flow.kg('flow_kg_s'),
	interval('interval_s'),
	length.m('distance_m', 'distance'),
	length.m('swath_m', 'swath'),
	moisture('moisture_pct'),
];
