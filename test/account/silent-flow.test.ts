import { expect, it } from 'vitest';
import { silentFlow } from '../../lib/account/index.ts';
import { recordsOf, type Work } from '../match/hand.ts';

/** Steady flow with none from 200 s for so many seconds, standing from 250 s if `stood`. */
const without = (seconds: number, stood = false): Work => ({
	name: 'A',
	from_s: 0,
	to_s: 1000,
	flow: (t) => (t > 200 && t <= 200 + seconds ? 0 : 8),
	standing: (t) => stood && t > 250,
});
const seconds = (work: Work) => silentFlow(recordsOf([work])).reduce((sum, s) => sum + s, 0);

it('a sensor without flow for minutes of cutting is silent, however a machine that stands is not', () => {
	expect(seconds(without(0))).toBe(0);
	expect(seconds(without(110))).toBe(0);
	expect(seconds(without(300))).toBe(300);
	expect(seconds(without(300, true))).toBe(0);
});

it('turns among it do not end it, and with the header up nothing is cut', () => {
	const records = recordsOf([without(300)]);
	records.headerDown.fill(0, 300, 320);
	expect(silentFlow(records).reduce((sum, s) => sum + s, 0)).toBe(300);
	records.headerDown.fill(0, 200, 500);
	expect(silentFlow(records).reduce((sum, s) => sum + s, 0)).toBe(0);
});
