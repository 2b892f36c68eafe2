import { describe, expect, it } from 'vitest';
import { isBackup, isHistory } from '../../viewer/state/kept-check.ts';

const step = (pins: unknown, flags: unknown = {}) => ({ label: 'x', edits: { pins, flags } });
const work = (past: unknown[]) => ({ key: 'a.csv:1', name: 'Nib', history: { past, future: [] } });
const backup = (past: unknown[]) => ({ schema: 'steelyard.backup/1', work: [work([]), work(past)] });
const pins = {
	clock_offset_s: 137,
	dumps: { D1: { combine: 'A', status: 'aside', reason: 'rain' } },
	factors: { A: { value: 1.02 }, B: { form: 'step' } },
	lags: { A: 11 },
};

describe('a backup', () => {
	it('is taken as the page writes it, through its text', () => {
		for (const past of [[], [step({})], [step(pins, { standing: 0.2, lone: 4 })]]) {
			expect(isBackup(JSON.parse(JSON.stringify(backup(past))))).toBe(true);
		}
	});

	it.each<[string, unknown]>([
		['null', null],
		['a list', []],
		['another schema', { ...backup([]), schema: 'x' }],
		['no work', { schema: 'steelyard.backup/1' }],
		['work that is none', { schema: 'steelyard.backup/1', work: [null] }],
		['no history', { schema: 'steelyard.backup/1', work: [{ key: 'a', name: 'b' }] }],
		['steps that are none', backup([null])],
		['steps without edits', backup([{ label: 'x' }])],
		['pins that are a list', backup([step([])])],
		['an unknown pin', backup([step({ clock: 1 })])],
		['an absurd factor', backup([step({ factors: { A: { value: 1e300 } } })])],
		['a factor of text', backup([step({ factors: { A: { value: '1' } } })])],
		['an unknown flag', backup([step({}, { stnding: 1 })])],
		['a threshold of null', backup([step({}, { standing: null })])],
		['a proto', JSON.parse('{"schema":"steelyard.backup/1","work":[],"__proto__":{"x":1}}')],
		['steps without end', backup(Array.from({ length: 20_000 }, () => step({})))],
	])('with %s is refused', (_, value) => expect(isBackup(value)).toBe(false));

	it('one bad field of two refuses both', () => {
		expect(isHistory(work([step(pins)]).history)).toBe(true);
		expect(isBackup(backup([step({ lags: { A: Infinity } })]))).toBe(false);
	});
});
