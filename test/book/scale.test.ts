import { describe, expect, it } from 'vitest';
import {
	addReading,
	guessMapping,
	lineReader,
	noReading,
	readScaleLoads,
	readScaleTable,
	type ScaleState,
	usualLine,
	type WallTime,
} from '../../lib/book/index.ts';
import { POUND_KG } from '../../lib/units/index.ts';

const utc = ([y, mo, d, h, mi, s]: WallTime) => Date.UTC(y, mo - 1, d, h, mi, s) / 1000;
const at = (text: string) => Date.parse(text) / 1000;

function loads(text: string) {
	const table = readScaleTable(text, 'list.csv');
	return { mapping: guessMapping(table), ...readScaleLoads(table, guessMapping(table), utc, 'list.csv') };
}

describe("a scale head's own list", () => {
	it('comma, header, month first, pounds', () => {
		const { loads: l, setAside } = loads(
			'Load No,Date,Time,Net Weight (lb),Harvester,Truck\r\n1,10/07/2026,2:05 PM,"13,480",A,Red\r\n2,10/07/2026,2:31 PM,14020,B,Red\r\n',
		);
		expect(setAside).toEqual([]);
		expect(l.map((x) => [x.time_s, x.weight_kg, x.combine, x.truck])).toEqual([
			[at('2026-10-07T14:05:00Z'), 13_480 * POUND_KG, 'A', 'Red'],
			[at('2026-10-07T14:31:00Z'), 14_020 * POUND_KG, 'B', 'Red'],
		]);
	});

	it('semicolon, decimal comma, day first, kilograms, byte-order mark', () => {
		const { mapping, loads: l } = loads(
			'\uFEFFDatum;Uhrzeit;Gewicht kg;Feuchte H2O\n07.10.2026;14:05;6.123,5;18,2\n07.10.2026;14:31;5.980,0;17,9\n',
		);
		expect(mapping).toMatchObject({ order: 'dmy', unit: 'kg', decimal: ',' });
		expect(l.map((x) => [x.time_s, x.weight_kg, x.moisture_pct])).toEqual([
			[at('2026-10-07T14:05:00Z'), 6123.5, 18.2],
			[at('2026-10-07T14:31:00Z'), 5980, 17.9],
		]);
	});

	it('tab, one column of ISO time, grain out marked by a word', () => {
		const { loads: l } = loads(
			'id\ttimestamp\tevent\tweight_kg\n1\t2026-10-07T14:05:09\tload\t6100\n2\t2026-10-07T14:31:40\tunload\t6100\n',
		);
		expect(l.map((x) => [x.time_s, x.out])).toEqual([
			[at('2026-10-07T14:05:09Z'), false],
			[at('2026-10-07T14:31:40Z'), true],
		]);
	});

	it('no header at all: weight and time by what stands there; out by its sign', () => {
		const { mapping, loads: l } = loads('1|2026/10/07 14:05|6100\n2|2026/10/07 14:31|-6100\n3|2026/10/07 14:40|5900\n');
		expect(mapping).toMatchObject({ date: 1, weight: 2, order: 'ymd', signed: true });
		expect(l.map((x) => x.out)).toEqual([false, true, false]);
	});

	it('months in words, thousands in groups, and a weight that is none', () => {
		const { loads: l, setAside } = loads(
			'Load,Date,Weight lb\n1,"Oct 7, 2026 2:05 PM","13,480"\n2,7 Oct 2026 14:31,"14,020 lb"\n3,7 Oct 2026 14:40,about 14000\n',
		);
		expect(l.map((x) => [x.time_s, x.weight_kg])).toEqual([
			[at('2026-10-07T14:05:00Z'), 13_480 * POUND_KG],
			[at('2026-10-07T14:31:00Z'), 14_020 * POUND_KG],
		]);
		expect(setAside).toMatchObject([{ row: 4, column: 'weight', found: 'about 14000' }]);
	});

	it('semicolons and points: these part thousands', () => {
		const { loads: l } = loads('Datum;Uhrzeit;Gewicht kg\n07.10.2026;14:05;6.120\n07.10.2026;14:31;5.980\n');
		expect(l.map((x) => x.weight_kg)).toEqual([6120, 5980]);
	});

	it('lines above the header, and a delimiter named by a spreadsheet', () => {
		const { loads: l } = loads(
			'sep=;\nScale of the red cart;;\nSeason 2026;;\nDate;Net lb;Field\n13/10/2026 08:00;13480;North\n',
		);
		expect(l).toMatchObject([{ field: 'North', line: 5, time_s: at('2026-10-13T08:00:00Z') }]);
	});

	it('sets rows aside that cannot be read, each with its line and reason, and drops none', () => {
		const { loads: l, setAside } = loads(
			'Date,Net lb,Moisture\n10/07/2026 14:05,13480,18.1\n10/07/2026 14:20,many,18\n31/31/2026 14:20,13000,18\n10/07/2026 14:40,0,18\n10/07/2026 14:50,13100,180\n',
		);
		expect(setAside.map((s) => [s.row, s.column, s.found])).toEqual([
			[3, 'weight', 'many'],
			[4, 'date', '31/31/2026 14:20'],
			[5, 'weight', '0'],
			[6, 'moisture', '180'],
		]);
		expect(l).toHaveLength(2);
		expect(l[1]!.moisture_pct).toBeNull();
	});

	it('names the same load alike when read again, and twins apart', () => {
		const text = 'Date,Net lb\n10/07/2026,13480\n10/07/2026,13480\n10/08/2026,13480\n';
		const keys = loads(text).loads.map((l) => l.key);
		expect(new Set(keys).size).toBe(3);
		expect(loads(text).loads.map((l) => l.key)).toEqual(keys);
	});

	it('knows a file of the same make again', () => {
		const a = readScaleTable('Date,Net lb\n10/07/2026,13480\n');
		const b = readScaleTable('Date,Net lb\n10/09/2026,99\n10/09/2026,98\n');
		expect(a.signature).toBe(b.signature);
		expect(readScaleTable('Day,Net lb\n10/07/2026,1\n').signature).not.toBe(a.signature);
	});

	it('refuses what is no table', () => {
		expect(() => readScaleTable('', 'x.csv')).toThrow(/x\.csv: the file is empty/);
		expect(() => readScaleTable('one\ntwo\n')).toThrow(/no columns found/);
		expect(() => readScaleTable('a,b\u0000\n')).toThrow(/not text/);
	});
});

describe('lines of a scale indicator', () => {
	it('reads the usual shape, framed or not', () => {
		const read = lineReader(usualLine);
		expect(read('ST,GS,+ 012340 lb')).toEqual({ value: 12_340, unit: 'lb', kg: 12_340 * POUND_KG, stable: true });
		expect(read('\u0002US,GS,+  12360lb\u0003')).toMatchObject({ value: 12_360, stable: false });
		expect(read('ST,NT,-   20 kg')).toMatchObject({ kg: -20 });
	});

	it('reads other shapes by their pattern', () => {
		expect(lineReader({ ...usualLine, pattern: '{weight} {unit} {kind}{status}' })('  13480 lb GM')).toMatchObject({
			value: 13_480,
		});
		expect(lineReader({ ...usualLine, pattern: 'W:{weight};{any}', unit: 'kg' })('W:6120.5;07;ok')).toMatchObject({
			kg: 6120.5,
			stable: null,
		});
	});

	it('says what does not fit, rather than guessing', () => {
		const read = lineReader(usualLine);
		expect(() => read('hello')).toThrow(/does not look like/);
		expect(() => read('ST,GS,+12340 st')).toThrow(/not a unit of weight/);
		expect(() => lineReader({ ...usualLine, pattern: '{status}' })).toThrow(/no \{weight\}/);
		expect(() => lineReader({ ...usualLine, pattern: '{weight}{mass}' })).toThrow(/\{mass\} is not a part/);
	});

	it('stands still when marked so, or when nothing has moved for a while', () => {
		const run = (kg: number[], stable: boolean | null) => {
			let s: ScaleState = noReading;
			kg.forEach((x, i) => {
				s = addReading(s, { t_s: i * 0.5, kg: x, stable });
			});
			return s.still;
		};
		expect(run([6000], true)).toBe(true);
		expect(run([6000, 6001, 6000, 6001, 6000], false)).toBe(false);
		expect(run([6000, 6001], null)).toBe(false);
		expect(run([5000, 5500, 5900, 6000, 6001, 6002, 6001], null)).toBe(false);
		expect(run([5500, 6000, 6001, 6002, 6001, 6000, 6001], null)).toBe(true);
	});
});
