import { describe, expect, it } from 'vitest';
import { coverageOf, isUsableJump } from '../../../lib/factor/coverage.ts';
import { plainMatch } from '../../plain.ts';
import { jump, unloadingsOf, weighing } from './hand.ts';

/** Unloadings 0 to 5: A, A, A, B, B, C. */
const unloadings = unloadingsOf([0, 0, 0, 1, 1, 2]);
const of = (weighings: ReturnType<typeof weighing>[], jumps = [] as ReturnType<typeof jump>[]) =>
	coverageOf(
		plainMatch({ unloadings, weighings }),
		weighings.map((_, i) => i),
		jumps,
		3,
	);

describe('which factors the weights determine', () => {
	it('counts weights of a combine alone, and all that it has a part in', () => {
		const { own, any, estimable } = of([weighing([0]), weighing([1, 2]), weighing([3, 5]), weighing([2, 3])]);
		expect(own).toEqual([2, 0, 0]);
		expect(any).toEqual([3, 2, 1]);
		expect(estimable).toEqual([true, true, true]);
	});

	it('takes only the weights that are used', () => {
		const weighings = [weighing([0]), weighing([3])];
		expect(coverageOf(plainMatch({ unloadings, weighings }), [1], [], 3).any).toEqual([0, 1, 0]);
	});

	it('a total counts for every combine where nothing else was weighed, else for none', () => {
		const total = weighing([0, 1, 2, 3, 4, 5], { kind: 'total' });
		expect(of([total])).toEqual({
			own: [0, 0, 0],
			any: [1, 1, 1],
			estimable: [true, true, true],
		});
		expect(of([total, weighing([0])]).any).toEqual([1, 0, 0]);
		// Of a field of one combine, it is that combine's own.
		const alone = plainMatch({ unloadings: unloadingsOf([0]), weighings: [weighing([0], { kind: 'total' })] });
		expect(coverageOf(alone, [0], [], 1).own).toEqual([1]);
	});

	it('seams carry a factor on, over other combines too, whichever end is known and in whatever order they come', () => {
		expect(of([weighing([0])]).estimable).toEqual([true, false, false]);
		expect(of([weighing([0])], [jump(1, 2), jump(0, 1)]).estimable).toEqual([true, true, true]);
		expect(of([weighing([5])], [jump(0, 1), jump(1, 2)]).estimable).toEqual([true, true, true]);
		expect(of([weighing([0])], [jump(1, 2)]).estimable).toEqual([true, false, false]);
		expect(of([weighing([0])], [jump(0, 1, { u_log: 0 })]).estimable).toEqual([true, false, false]);
	});
});

it('a jump is usable between two combines, with a value and an uncertainty', () => {
	expect(isUsableJump(jump(0, 1))).toBe(true);
	expect(isUsableJump(jump(1, 1))).toBe(false);
	for (const more of [{ log_jump: Number.NaN }, { u_log: Number.NaN }, { u_log: Infinity }, { u_log: 0 }])
		expect(isUsableJump(jump(0, 1, more))).toBe(false);
});
