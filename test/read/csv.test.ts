import fc from 'fast-check';
import papa from 'papaparse';
import { describe, expect, test } from 'vitest';
import { parseNumber } from '../../lib/formats/digits.ts';
import { cellText } from '../../lib/read/csv/cells.ts';
import { type Head, readCsv } from '../../lib/read/csv/csv.ts';
import { source } from './folder.ts';

interface Read {
	head: Head | null;
	rows: string[][];
	lines: number[];
}

/** Everything that the reader hands on, cells without outer blanks. */
async function readAll(bytes: Uint8Array, size: number): Promise<Read> {
	const read: Read = { head: null, rows: [], lines: [] };
	const end = await readCsv(source('x.csv', bytes, size).chunks(), (head) => {
		read.head = head;
		return (cells) => {
			read.rows.push(Array.from({ length: cells.count }, (_, k) => cellText(cells, k)));
			read.lines.push(cells.line);
		};
	});
	expect(end.broken).toBeNull();
	expect(end.rows).toBe(read.rows.length);
	return read;
}

const encode = (text: string) => new TextEncoder().encode(text);
const trimmed = (rows: string[][]) => rows.map((row) => row.map((cell) => cell.trim()));

const plainCell = fc.oneof(
	fc.double({ noNaN: true }).map(String),
	fc.integer().map(String),
	fc.constantFrom('', ' ', '2026-10-03T14:00:00Z', 'A', 'Ünï', '−3', 'text here'),
	fc.string({ maxLength: 6 }).map((s) => s.replace(/["\r\n,;\t\0]/g, '_')),
);
const anyCell = fc.oneof(
	plainCell,
	fc.string({ maxLength: 8 }).map((s) => s.replace(/[\r\0]/g, '')),
);
const quote = (cell: string, delimiter: string) =>
	cell.includes(delimiter) || /["\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;

const table = (cell: fc.Arbitrary<string>) =>
	fc
		.integer({ min: 2, max: 6 })
		.chain((width) => fc.array(fc.array(cell, { minLength: width, maxLength: width }), { maxLength: 12 }));
const layout = fc.record({
	newline: fc.constantFrom('\n', '\r\n'),
	mark: fc.boolean(),
	endsWithNewline: fc.boolean(),
	size: fc.integer({ min: 1, max: 40 }),
	delimiter: fc.constantFrom(',', ';', '\t'),
});

function written(
	rows: string[][],
	header: string[],
	l: { newline: string; mark: boolean; endsWithNewline: boolean; delimiter: string },
) {
	const text = [header, ...rows].map((row) => row.map((c) => quote(c, l.delimiter)).join(l.delimiter)).join(l.newline);
	return (l.mark ? '\ufeff' : '') + text + (l.endsWithNewline ? l.newline : '');
}

/** The whole text at once by PapaParse: the outside value. */
function byPapa(text: string, delimiter: string): string[][] {
	const { data } = papa.parse<string[]>(text.replace(/^\ufeff/, ''), { delimiter, newline: '\n' });
	return trimmed(data.slice(1)).filter((row) => row.length > 1 || row[0] !== '');
}

describe('CSV in chunks', () => {
	for (const [what, cell] of [
		['plain cells', plainCell],
		['cells with quotes, separators and line breaks', anyCell],
	] as const) {
		test(`${what}: same as PapaParse on the whole text, however the bytes are cut`, async () => {
			await fc.assert(
				fc.asyncProperty(table(cell), layout, async (rows, l) => {
					const width = rows[0]?.length ?? 2;
					const header = Array.from({ length: width }, (_, k) => `c${k}`);
					const text = written(rows, header, l);
					const read = await readAll(encode(text), l.size);
					expect(read.head).toEqual({ columns: header, delimiter: l.delimiter, decimalComma: l.delimiter !== ',' });
					expect(read.rows).toEqual(byPapa(text, l.delimiter));
				}),
				{ numRuns: 300 },
			);
		});
	}

	test('lines are counted through blank lines and breaks inside quotes', async () => {
		const text = 'a,b\n1,2\n\n3,4\n"x\ny\nz",5\n6,7\n\n"8",9';
		for (const size of [1, 3, 1000]) {
			expect((await readAll(encode(text), size)).lines).toEqual([2, 4, 5, 8, 10]);
		}
	});

	test('stray quotes inside cells are text', async () => {
		const { rows } = await readAll(encode('a,b\n5" pipe,1\nx,2\n'), 4);
		expect(rows).toEqual([
			['5" pipe', '1'],
			['x', '2'],
		]);
	});

	test('a quote that never closes is told, and what stood before it is kept', async () => {
		for (const tail of [10, 200_000]) {
			const text = `a,b\n1,2\n3,"x\n${'4,5\n'.repeat(tail)}`;
			const rows: number[] = [];
			const end = await readCsv(source('x.csv', text, 5000).chunks(), () => (cells) => rows.push(cells.line));
			expect(rows).toEqual([2]);
			expect(end.quoteFaults).toEqual([
				{ line: 3, found: '"x', why: 'a quote is opened here and never closed', whole: true },
			]);
		}
	});

	test.each([
		['nothing', new Uint8Array(0), /empty/],
		['blank lines', encode('\n\n'), /empty/],
		['zero bytes', Uint8Array.of(80, 75, 3, 4, 0, 0), /binary/],
		['UTF-16', Uint8Array.of(255, 254, 97, 0), /UTF-8/],
		['one endless line', encode('x'.repeat(3_000_000)), /one row per line/],
	])('%s is no table', async (_, bytes, why) => {
		for (const size of [1000, 1 << 20]) {
			const end = await readCsv(source('x.csv', bytes, size).chunks(), () => () => {});
			expect(end.broken?.why).toMatch(why);
		}
	});
});

describe('numbers', () => {
	const number = (text: string, decimalComma = false) => {
		const bytes = encode(text);
		return parseNumber(bytes, 0, bytes.length, decimalComma);
	};

	test('the double nearest to what is written', () => {
		const digits = fc.string({ unit: fc.constantFrom(...'0123456789'), maxLength: 22 });
		fc.assert(
			fc.property(fc.constantFrom('', '-', '+'), digits, fc.option(digits, { nil: undefined }), (sign, whole, part) => {
				const text = sign + whole + (part === undefined ? '' : `.${part}`);
				if (!/\d/.test(text)) return;
				expect(Object.is(number(text), Number(text))).toBe(true);
			}),
			{ numRuns: 5000 },
		);
		fc.assert(
			fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
				expect(Object.is(number(String(value)), Number(String(value)))).toBe(true);
			}),
		);
	});

	test.each(['many', '1e999', 'NaN', 'Infinity', '0x10', '1,5', '1.2.3', '-', '.', '1 2', '--1', '1e', '12a', '−5'])(
		'%s is none',
		(text) => expect(number(text)).toBe(Infinity),
	);

	test('blanks around it do not matter; blank is missing; a comma may stand for the point', () => {
		expect(number(' 12.5 ')).toBe(12.5);
		expect(number('  ')).toBeNaN();
		expect(number('12,5', true)).toBe(12.5);
		expect(number('-1,25e2', true)).toBe(-125);
	});
});
