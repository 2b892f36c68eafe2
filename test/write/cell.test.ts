import { describe, expect, it } from 'vitest';
import { plain } from '../../lib/commands/terminal.ts';
import { csvCell, csvRow, disarmed, harmless, rearmed, unquoted } from '../../lib/formats/csv-cell.ts';

const RUN = [
	'=1+1',
	'+SUM(A1)',
	'-cmd',
	'@x',
	'\t=1',
	' =1',
	'\r=1',
	'\u00a0=1',
	'\ufeff=1',
	'\u200b=1',
	'＝1',
	'-',
	'-1+2',
	'+1 2',
];
const NUMBERS = ['-93.5', '+4', '-1e-5', '-1,5', '-.5', ' -3 '];
const TEXTS = ['A', 'a=b', "O'Brien", '3-4', '', '#1', "'quoted'"];

describe('a cell that a spreadsheet would run', () => {
	it('gets an apostrophe; numbers and other texts stay as they are', () => {
		for (const text of RUN) expect(disarmed(text), JSON.stringify(text)).toBe(`'${text}`);
		for (const text of [...NUMBERS, ...TEXTS]) expect(disarmed(text), text).toBe(text);
		for (const text of [...RUN, ...NUMBERS, ...TEXTS]) expect(rearmed(disarmed(text))).toBe(text);
	});

	it('is found by the look at bytes too, quoted or not', () => {
		const encoder = new TextEncoder();
		for (const text of RUN) {
			for (const raw of [text, `"${text}"`]) {
				const bytes = encoder.encode(`5,${raw},x`);
				expect(harmless(bytes, 0, [1, bytes.length - 2, bytes.length]), JSON.stringify(raw)).toBe(false);
				expect(unquoted(raw)).toBe(text);
			}
		}
		const row = encoder.encode('2026-10-03T15:00:00Z,42.1,-93.123,,A b');
		expect(harmless(row, 0, [20, 25, 33, 34, row.length])).toBe(true);
	});

	it('stands in a row of CSV beside numbers', () => {
		expect(csvRow(['=A', -3, null, undefined, Number.NaN, 'a,b'])).toBe(`'=A,-3,,,,"a,b"`);
		expect(csvCell('=a;b', ';')).toBe(`"'=a;b"`);
	});
});

it('a terminal gets no controls, of color or of direction', () => {
	expect(plain('a\u001b[31mb\u202ec\u2066d\u200fe\u2028f')).toBe('a·[31mb·c·d·e·f');
});
