import { expect, it } from 'vitest';
import { aligned, verdict } from './fields.ts';

it.each([
	// No weight is more than the larger tank holds; the smaller one would not hold most of them.
	['weights that one tank could hold', 205, undefined],
	['tanks of unknown size', 203, { notes: { tankTold: false } }],
	['tanks of unknown size, a rest of most of a tank', 208, { notes: { tankTold: false } }],
])('whole loads of two combines that nobody noted: %s', async (_, seed, overrides) => {
	const field = await aligned({ seed: seed as number, kind: 'mixed', ...(overrides ? { overrides } : {}) });
	const v = verdict(field);
	expect(v.wrong).toEqual([]);
	expect(v.invented).toBe(0);
	expect(v.covered).toBe(true);
	expect(field.match.notes.some((n) => n.includes('whole cart loads'))).toBe(true);
});

it('weights of single tanks that nobody noted are not taken for whole loads', async () => {
	const field = await aligned({ seed: 206, kind: 'unlabelled', overrides: { notes: { tankTold: false } } });
	expect(verdict(field).wrong).toEqual([]);
	expect(field.match.fates.every((f) => f.combines.length === 1)).toBe(true);
	expect(field.match.notes.some((n) => n.includes('whole cart loads'))).toBe(false);
});
