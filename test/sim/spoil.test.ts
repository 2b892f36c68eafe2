import { describe, expect, it } from 'vitest';
import { InputFault } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { folder } from '../read/folder.ts';
import { simulate } from './index.ts';
import { random } from './random.ts';
import { type Spoil, spoil } from './spoil.ts';

const whole = new Map([11, 12].map((seed) => [seed, simulate({ seed }).files]));

/** What is said of a spoiled field on reading, faults and cautions alike. */
async function said(how: Spoil | null, seed: number): Promise<{ text: string; file: string }> {
	const given = new Map(whole.get(seed));
	const file = how === null ? '' : spoil(given, how, random(seed, 'spoil'));
	try {
		const { notes } = await readField(folder(Object.fromEntries(given)));
		return { text: notes.map((n) => n.text).join('\n'), file };
	} catch (fault) {
		if (!(fault instanceof InputFault)) throw fault;
		return { text: fault.message, file };
	}
}

describe('fields spoiled by hand', () => {
	const cases: [Spoil, RegExp][] = [
		['distance-in-feet', /column distance_m is 3\.\d+ times.*unit.*feet/],
		['width-in-feet', /column swath_m is [23]\.\d+ times.*unit.*feet/],
		['copied-log', /records are equal in time and position/],
		['overlapping-export', /rows repeat rows of the same combine/],
		['moisture-in-tenths', /column moisture_pct|moisture from 0 to 100/],
		['moisture-as-share', /column moisture_pct.*unit/],
		['stray-quote', /row \d+: a quote is opened/],
	];
	it.each(cases)('%s: said, with the file', async (how, says) => {
		for (const seed of [11, 12]) {
			const { text, file } = await said(how, seed);
			expect(text).toMatch(says);
			expect(text).toContain(file);
		}
	});

	it('and nothing of the like where all is well', async () => {
		for (const seed of [11, 12]) expect((await said(null, seed)).text).not.toMatch(/unit|repeat|equal in time|quote/);
	});
});
