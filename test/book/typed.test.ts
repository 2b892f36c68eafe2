import { describe, expect, it } from 'vitest';
import { inMarks, marksOf, typed, written } from '../../viewer/state/typed.ts';

const us = marksOf('en-US');
const de = marksOf('de-DE');
const ch = marksOf('de-CH');
const fr = marksOf('fr-FR');

describe('numbers as people type them', () => {
	it.each([
		['38,800', us, 38_800],
		['38,800', de, 38.8],
		['38.800', de, 38_800],
		['38.800', us, 38.8],
		['38,800.5', us, 38_800.5],
		['38.800,5', de, 38_800.5],
		// The other mark, where it can mean only one thing.
		['38.800,5', us, 38_800.5],
		['38,800.5', de, 38_800.5],
		['18,4', us, 18.4],
		['18.4', de, 18.4],
		['18,4', de, 18.4],
		['1,234,567', us, 1_234_567],
		['1.234.567', us, 1_234_567],
		['38 800', fr, 38_800],
		['38\u202f800,5', fr, 38_800.5],
		["38'800.5", ch, 38_800.5],
		['38800', us, 38_800],
		[' 39 ', us, 39],
		['.5', us, 0.5],
		['12.', us, 12],
		['-12', us, -12],
		['0', us, 0],
	])('%s', (text, marks, value) => {
		expect(typed(text, marks)).toBe(value);
	});

	it.each(['', '.', ',', 'abc', '12a', '1,2,3', '3,88,00', '1.2.3', '12,34.5,6', '1 2', '--3', '38,800,5'])(
		'"%s" is none',
		(text) => {
			expect(typed(text, us)).toBeNull();
		},
	);

	it('reads back what it writes into a box', () => {
		for (const marks of [us, de, ch, fr])
			for (const x of [0, 18.4, 38_800, 1234.56, 0.01]) expect(typed(written(x, 2, marks), marks)).toBe(x);
	});
});

describe('numbers in a sentence of the library', () => {
	const text = 'multiplied by 1.107; D1.5, log-2.5.csv: 6,750 kg to 1,234,567.8 kg (±9.7%), 8:30, at 15%, D02, D03.';
	it.each([
		['en-US', text],
		['de-DE', 'multiplied by 1,107; D1.5, log-2.5.csv: 6.750 kg to 1.234.567,8 kg (±9,7%), 8:30, at 15%, D02, D03.'],
	])('%s', (locale, says) => expect(inMarks(text, marksOf(locale))).toBe(says));
});
