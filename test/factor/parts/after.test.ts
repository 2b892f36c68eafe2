import { describe, expect, it } from 'vitest';
import { afterFactors } from '../../../lib/factor/after.ts';
import { plainMatch } from '../../plain.ts';
import { fate, unloadingsOf, weighing } from './hand.ts';

const given = () =>
	plainMatch({
		unloadings: unloadingsOf([0, 0, 0, 1]),
		weighings: [weighing([0]), weighing([1], { used: false }), weighing([2]), weighing([3])],
		fates: [fate(0), fate(1, { status: 'aside', reason: 'too light' }), fate(2, { status: 'joined' }), fate(3)],
		notes: ['a note'],
		cautions: ['a caution'],
	});

describe('what the factors decide about weights', () => {
	it('nothing decided, nothing changed; the match given stays as it was', () => {
		const match = given();
		const copy = structuredClone(match);
		expect(afterFactors(match, {})).toEqual(copy);
		afterFactors(match, { aside: [{ weighing: 0, reason: 'heavier' }], emptiedAfterAll: [1] });
		expect(match).toEqual(copy);
	});

	it('an outlier is not used, and its dump says why', () => {
		const after = afterFactors(given(), {
			aside: [
				{ weighing: 2, reason: 'about 9% heavier' },
				{ weighing: 99, reason: '' },
			],
		});
		expect(after.weighings.map((w) => w.used)).toEqual([true, false, false, true]);
		expect(after.fates.map((f) => [f.status, f.reason])).toEqual([
			['used', null],
			['aside', 'too light'],
			['aside', 'about 9% heavier'],
			['used', null],
		]);
	});

	it('a tank taken as emptied holds nothing but what clings, and the dump after it is told of too', () => {
		const after = afterFactors(given(), { emptiedAfterAll: [1, 99] });
		expect(after.unloadings.map((u) => [u.rest_kg, u.u_rest_kg])).toEqual([
			[300, 250],
			[0, 40],
			[300, 250],
			[300, 250],
		]);
		// Dump 2 is of the same combine and was grouped.
		expect(after.fates[2]!.reason).toMatch(/^weighed while the factor changed; the tank is taken as emptied/);
		expect(after.fates.filter((f) => f.dump !== 2).map((f) => f.reason)).toEqual([null, 'too light', null]);
		// The next unloading of another combine has nothing to do with it.
		const other = given();
		other.fates[3]!.status = 'joined';
		expect(afterFactors(other, { emptiedAfterAll: [2] }).fates[3]!.reason).toBeNull();
	});

	it('adds its notes and cautions to those of the match', () => {
		const after = afterFactors(given(), { notes: ['another'], cautions: ['careful'] });
		expect([after.notes, after.cautions]).toEqual([
			['a note', 'another'],
			['a caution', 'careful'],
		]);
	});
});
