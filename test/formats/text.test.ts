import { describe, expect, it } from 'vitest';
import { textOf } from '../../lib/formats/text/decode.ts';
import { readText } from '../../lib/formats/text/read.ts';

it('rows with more cells than the header are listed, twenty one by one and how many more', () => {
	const rows = (wide: number) =>
		Array.from({ length: 60 }, (_, i) => `${i},${40 + i / 1000},${i < wide ? '7,8' : '7'}`).join('\n');
	const notes = (wide: number) =>
		readText('a.csv', new TextEncoder().encode(`n,lat,flow\n${rows(wide)}\n`)).notes.filter((n) => /cells/.test(n));
	expect(notes(0)).toEqual([]);
	expect(notes(2)).toEqual([
		'row 2 holds 4 cells where the header has 3',
		'row 3 holds 4 cells where the header has 3',
	]);
	expect(notes(20)).toHaveLength(20);
	expect(notes(23)).toHaveLength(21);
	expect(notes(23).at(-1)).toBe('and 3 more rows with more cells than the header');
});

describe('the text of XML and JSON', () => {
	const latin = (text: string) => Uint8Array.from(text, (c) => c.charCodeAt(0));
	const utf16 = (text: string) =>
		Uint8Array.from(text.split('').flatMap((c) => [c.charCodeAt(0) & 255, c.charCodeAt(0) >> 8]));
	const xml = (encoding: string) => `<?xml version="1.0" encoding="${encoding}"?><name>Blé</name>`;

	it('is in the encoding that it declares, else as its bytes show', () => {
		expect(textOf(latin(xml('ISO-8859-1')))).toContain('Blé');
		expect(textOf(new TextEncoder().encode(xml('UTF-8')))).toContain('Blé');
		expect(textOf(new TextEncoder().encode('{"name":"Blé"}'))).toContain('Blé');
		expect(textOf(utf16(xml('UTF-16')))).toContain('Blé');
		// What it declares is not so, or is no encoding.
		expect(textOf(latin(xml('UTF-8')))).toContain('Blé');
		expect(textOf(latin(xml('x-none')))).toContain('Blé');
	});
});
