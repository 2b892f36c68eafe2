import { expect, it } from 'vitest';
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
