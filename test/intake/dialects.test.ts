import { describe, expect, it } from 'vitest';
import type { IntakeOptions } from '../../lib/intake/index.ts';
import {
	type Column,
	type Dialect,
	flow,
	interval,
	lat,
	length,
	lon,
	moisture,
	time,
	write,
	yieldOf,
} from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf, intakeOf } from './read.ts';

const rows = cut();
/** A field in Germany, where decimals are set off by commas. */
const german = cut({ lat: 52.2, lon: 10.4, start: '2026-08-14T10:05:00Z', yield: 8000, swath: 9 });
const us: Column[] = [
	length.ft('Distance(ft)', 'distance'),
	length.ft('Swath Width(ft)', 'swath'),
	flow.lb('Flow(lb/s)'),
	moisture('Moisture(%)'),
];
const metric: Column[] = [
	length.m('distance_m', 'distance'),
	length.m('swath_m', 'swath'),
	flow.kg('flow_kg_s'),
	moisture('moisture_pct'),
];
const bare = (columns: Column[]): Column[] => columns.map((c) => ({ ...c, name: c.name.replace(/[_(].*$/, '') }));
const place = [lat(), lon()];

interface Fixture {
	columns: Column[];
	dialect?: Dialect;
	rows?: Row[];
	options?: IntakeOptions;
	/** Questions that must be asked, by how `about` begins; none by default. */
	asks?: string[];
	/** Name of the file. */
	file?: string;
	/** The time of day is not expected to be known. */
	timeless?: true;
}

const german_ = (dialect: Dialect): Fixture => ({
	rows: german,
	columns: [
		...time.german(),
		{ ...lat('Breitengrad') },
		{ ...lon('Längengrad') },
		length.m('Strecke [m]', 'distance'),
		length.m('Arbeitsbreite [m]', 'swath'),
		flow.t_h('Durchsatz [t/h]'),
		moisture('Feuchte [%]'),
	],
	dialect,
	options: { crop: 'wheat' },
});

const crop = { crop: 'corn' };
const fixtures: Record<string, Fixture> = {
	'the contract’s own names': {
		columns: [
			...time.iso(),
			...place,
			flow.kg('flow_kg_s'),
			interval('interval_s'),
			length.m('distance_m', 'distance'),
			length.m('swath_m', 'swath'),
			moisture('moisture_pct'),
		],
	},
	'commas, US units in brackets': { columns: [...time.us(), ...place, ...us], asks: ['date order'] },
	'a column that decides the order of dates': {
		rows: cut({ start: '2026-10-18T18:05:00Z' }),
		columns: [...time.us(), ...place, ...us],
	},
	'days that follow on each other decide too': {
		rows: [
			...cut({ start: '2026-10-08T18:05:00Z', passes: 2 }),
			...cut({ start: '2026-10-09T18:05:00Z', passes: 2, east: 18.288 }),
			...cut({ start: '2026-10-10T18:05:00Z', passes: 2, east: 36.576 }),
		],
		columns: [...time.us(), ...place, ...us],
	},
	'the order answered': {
		columns: [...time.us(), ...place, ...us],
		options: { ...crop, answers: { '*': { 'date order': 'month first' } } },
	},
	semicolons: { columns: [...time.iso(), ...place, ...metric], dialect: { delimiter: ';' } },
	tabs: { columns: [...time.iso(), ...place, ...metric], dialect: { delimiter: '\t' } },
	pipes: { columns: [...time.iso(), ...place, ...metric], dialect: { delimiter: '|' } },
	'decimal commas between semicolons': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { delimiter: ';', decimal: ',' },
	},
	'decimal commas between tabs': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { delimiter: '\t', decimal: ',' },
	},
	'decimal commas in quotes between commas': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { decimal: ',', quotes: 'all' },
	},
	'thousands by commas in quotes': {
		columns: [...time.iso(), ...place, ...metric, { name: 'elevation_mm', cell: (r) => r.elevation * 1000, digits: 1 }],
		dialect: { thousands: ',' },
	},
	'thousands by points, decimals by commas': {
		columns: [...time.iso(), ...place, ...metric, { name: 'elevation_mm', cell: (r) => r.elevation * 1000, digits: 1 }],
		dialect: { delimiter: ';', decimal: ',', thousands: '.' },
	},
	'thousands by blanks': {
		columns: [...time.iso(), ...place, ...metric, { name: 'elevation_mm', cell: (r) => r.elevation * 1000, digits: 1 }],
		dialect: { delimiter: ';', decimal: ',', thousands: '\u00a0' },
	},
	'thousands by apostrophes': {
		columns: [...time.iso(), ...place, ...metric, { name: 'elevation_mm', cell: (r) => r.elevation * 1000, digits: 1 }],
		dialect: { delimiter: ';', thousands: "'" },
	},
	'every cell in quotes': { columns: [...time.iso(), ...place, ...metric], dialect: { quotes: 'all' } },
	'a byte order mark': { columns: [...time.iso(), ...place, ...metric], dialect: { encoding: 'utf-8-bom' } },
	'UTF-16, little end first': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { encoding: 'utf-16le', delimiter: '\t' },
	},
	'UTF-16, big end first': { columns: [...time.iso(), ...place, ...metric], dialect: { encoding: 'utf-16be' } },
	'UTF-16 without a mark': { columns: [...time.iso(), ...place, ...metric], dialect: { encoding: 'utf-16le-bare' } },
	'lines of Windows': { columns: [...time.iso(), ...place, ...metric], dialect: { newline: '\r\n' } },
	'lines of an old Mac': { columns: [...time.iso(), ...place, ...metric], dialect: { newline: '\r' } },
	'German names in Windows-1252': german_({ delimiter: ';', decimal: ',', encoding: 'windows-1252' }),
	'German names in UTF-8': german_({ delimiter: ';', decimal: ',' }),
	'lines above the header': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { preamble: ['Yield data export', 'Field: Kettle Creek', 'Crop: Corn', ''] },
		options: {},
	},
	'lines above the header with cells': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { delimiter: ';', preamble: ['Field;Kettle Creek', 'Crop;Corn', 'Operator;nobody', ''] },
		options: {},
	},
	'units in a row below': { columns: [...time.iso(), ...place, ...bare(us)], dialect: { units: true } },
	'metric units in a row below': {
		columns: [...time.iso(), ...place, ...bare(metric)],
		dialect: { units: true, delimiter: ';', decimal: ',' },
	},
	'a header that comes again': { columns: [...time.iso(), ...place, ...metric], dialect: { repeatHeader: 100 } },
	'totals at the end': {
		columns: [{ name: 'no', cell: () => 1, digits: 0 }, ...time.iso(), ...place, ...metric],
		dialect: { footer: ['Total,,,,12345.6,,999,'] },
	},
	'a remark at the end': { columns: [...time.iso(), ...place, ...metric], dialect: { footer: ['', 'end of file'] } },
	'the line that spreadsheets put first': {
		columns: [...time.iso(), ...place, ...metric],
		dialect: { delimiter: ';', preamble: ['sep=;'] },
	},
	'date and time in two columns': {
		rows: cut({ start: '2026-10-18T18:05:00Z' }),
		columns: [...time.twoColumns(), ...place, ...us],
	},
	'date and time as numbers': { columns: [...time.packed(), ...place, ...us] },
	'seconds of the day': { columns: [...time.secondsOfDay(), ...place, ...us] },
	'seconds of the GPS week': { columns: [...time.gpsWeek(), ...place, ...us] },
	'seconds since 1970': { columns: [...time.epoch(), ...place, ...metric] },
	'milliseconds since 1970': { columns: [...time.epochMs(), ...place, ...metric] },
	'day numbers of a spreadsheet': { columns: [...time.sheetDay(), ...place, ...metric] },
	'months in words': { columns: [...time.worded(), ...place, ...metric] },
	'local time with a zone by the place': { columns: [...time.isoLocal(), ...place, ...metric] },
	'seconds since the first record': { columns: [...time.since(), ...place, ...metric], asks: ['time'], timeless: true },
	'no column of seconds': { columns: [...time.iso(), ...place, ...metric] },
	'no column of distance': {
		columns: [
			...time.iso(),
			...place,
			length.m('swath_m', 'swath'),
			flow.kg('flow_kg_s'),
			{ name: 'speed (mph)', cell: (r) => r.speed / 0.44704, digits: 5 },
			moisture('moisture'),
		],
	},
	'distance in inches that its name does not tell': {
		columns: [
			...time.iso(),
			...place,
			length.in('distance', 'distance'),
			length.in('swath', 'swath'),
			flow.lb('flow'),
			moisture('moisture'),
		],
	},
	'distance in feet that its name does not tell': {
		columns: [
			...time.iso(),
			...place,
			length.ft('dist', 'distance'),
			length.ft('width', 'swath'),
			flow.lb('mass flow'),
			moisture('moist'),
		],
	},
	centimeters: {
		columns: [
			...time.iso(),
			...place,
			length.cm('distance', 'distance'),
			length.cm('swath', 'swath'),
			flow.kg('flow'),
			moisture('moist'),
		],
	},
	'names cut to ten letters': {
		columns: [
			...time.iso('timestamp_'),
			...place,
			length.ft('Distance_f', 'distance'),
			length.ft('Swath_Widt', 'swath'),
			flow.lb('Crop_Flow_'),
			moisture('Moisture__'),
		],
	},
	'names without vowels': {
		columns: [
			...time.iso('tmstmp'),
			{ ...lat('Y') },
			{ ...lon('X') },
			length.ft('dstnc_f', 'distance'),
			length.ft('swth_w_', 'swath'),
			flow.lb('crp_flw_m'),
			moisture('mostr__'),
		],
	},
	'moisture as a share': {
		columns: [
			...time.iso(),
			...place,
			length.m('distance_m', 'distance'),
			length.m('swath_m', 'swath'),
			flow.kg('flow_kg_s'),
			{ name: 'moisture', cell: (r) => r.moisture / 100, digits: 5 },
		],
	},
	'latitude and longitude exchanged': { columns: [...time.iso(), { ...lat('lon') }, { ...lon('lat') }, ...metric] },
	'a yield in bushels, wet': {
		columns: [
			...time.iso(),
			...place,
			length.ft('Distance(ft)', 'distance'),
			length.ft('Swath(ft)', 'swath'),
			yieldOf.bu_ac('Yield Wet(bu/ac)'),
			moisture('Moisture(%)'),
		],
	},
	'a yield in bushels, dry': {
		columns: [
			...time.iso(),
			...place,
			length.ft('Distance(ft)', 'distance'),
			length.ft('Swath(ft)', 'swath'),
			yieldOf.bu_ac('Dry Yield(bu/ac)', 56, 15.5),
			moisture('Moisture(%)'),
		],
	},
	'a yield that does not say wet or dry': {
		columns: [
			...time.iso(),
			...place,
			length.ft('Distance(ft)', 'distance'),
			length.ft('Swath(ft)', 'swath'),
			yieldOf.bu_ac('Yield(bu/ac)'),
			moisture('Moisture(%)'),
		],
		asks: ['basis of yield'],
	},
	'the basis answered': {
		columns: [
			...time.iso(),
			...place,
			length.ft('Distance(ft)', 'distance'),
			length.ft('Swath(ft)', 'swath'),
			yieldOf.bu_ac('Yield(bu/ac)', 56, 15),
			moisture('Moisture(%)'),
		],
		options: { ...crop, answers: { '*': { 'basis of yield': 'dry at 15' } } },
	},
	'a yield by mass, dry, and no flow': {
		columns: [
			...time.iso(),
			...place,
			length.ft('Distance(ft)', 'distance'),
			length.ft('Swth Wdth(ft)', 'swath'),
			{
				...yieldOf.lb_ac('Yld Mass(Dry)(lb/ac)'),
				cell: (r) => ((yieldOf.lb_ac('').cell(r) as number) * (100 - r.moisture)) / 84.5,
			},
			moisture('Moisture(%)'),
		],
	},
	'a mass for each record': {
		columns: [
			...time.iso(),
			...place,
			...metric.slice(0, 2),
			{ name: 'Mass (kg)', cell: (r) => r.flow * r.interval, digits: 4 },
			moisture(),
		],
	},
	'columns set apart by blanks': { columns: [...time.epoch(), ...place, ...metric], dialect: { delimiter: ' ' } },
	'a name that says meters where positions say feet': {
		columns: [
			...time.iso(),
			...place,
			{ ...length.ft('Distance (m)', 'distance') },
			length.ft('Swath (ft)', 'swath'),
			flow.lb('Flow (lb/s)'),
			moisture(),
		],
		asks: ['unit of Distance (m)'],
	},
	'a yield in t/ha': {
		columns: [
			...time.iso(),
			...place,
			length.m('distance', 'distance'),
			length.m('swath', 'swath'),
			yieldOf.t_ha('wet yield t/ha'),
			moisture('moisture'),
		],
	},
	'a crop that no file names': { columns: [...time.iso(), ...place, ...metric], options: {}, asks: ['crop'] },
	'the crop in the file’s name': {
		columns: [...time.iso(), ...place, ...metric],
		options: {},
		file: 'north corn 2026.csv',
	},
};

describe('a log in any dialect', () => {
	for (const [name, f] of Object.entries(fixtures)) {
		it(name, async () => {
			const truth = f.rows ?? rows;
			const done = intakeOf({ [f.file ?? 'export.txt']: write(truth, f.columns, f.dialect) }, f.options ?? crop);
			expect(done.report.fields.length, JSON.stringify(done.report.sources, null, 1)).toBe(1);
			const asked = [
				...new Set(
					(done.report.fields[0]?.questions ?? [])
						.filter((q) => q.blocking || f.asks?.some((a) => q.about.startsWith(a)))
						.map((q) => q.about),
				),
			];
			expect(asked).toEqual(f.asks ?? []);
			const [combine] = done.report.fields[0]?.combines ?? [];
			expect(combine?.records).toBe(truth.length);
			const log = done.fields[0]?.files.find((file) => file.name.endsWith('.csv'))?.name as string;
			const read = await csvOf(done, 0, log);
			const sum = read.reduce((s, r) => s + Number(r.flow_kg_s) * Number(r.interval_s), 0);
			expect(sum / massOf(truth)).toBeCloseTo(1, 3);
			const timeless = f.timeless || asked.includes('date order');
			for (const i of [0, 17, 150, truth.length - 1]) {
				const [r, t] = [read[i] as Record<string, string>, truth[i] as Row];
				expect(Number(r.lat)).toBeCloseTo(t.lat, 6);
				expect(Number(r.lon)).toBeCloseTo(t.lon, 6);
				if (!timeless) expect(Math.abs(Date.parse(r.time as string) / 1000 - t.time)).toBeLessThan(0.51);
				expect(Number(r.moisture_pct)).toBeCloseTo(t.moisture, 2);
				expect(Number(r.swath_m)).toBeCloseTo(t.swath, 2);
				expect(Number(r.distance_m)).toBeCloseTo(t.distance, 2);
				expect(Number(r.interval_s)).toBeCloseTo(t.interval, 2);
			}
		});
	}
});
