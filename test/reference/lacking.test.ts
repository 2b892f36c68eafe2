import { expect, it } from 'vitest';
import { type CartLoad, lacking } from '../../lib/model/index.ts';

const load = (dumps: number, lacks_kg: number): CartLoad => ({ dumps, dumped_kg: 5000 * dumps, lacks_kg });

it('what each dump lacks is that of all loads together and those at the quartiles', () => {
	expect(lacking([load(2, 200), load(3, 330), load(1, 90)], (l) => l.dumps)).toEqual([620 / 6, 90, 100, 110]);
	// One weight is missing from a load: that of the middle stays as it is.
	expect(lacking([load(2, 200), load(2, 5300), load(3, 330)], (l) => l.dumps)[2]).toBe(110);
	// An offload of what was left in the cart has no dumps of its own.
	expect(lacking([load(2, 200), load(0, 7000)], () => 1)).toEqual([200, 200, 200, 200]);
	expect(lacking([], () => 1)).toEqual([Number.NaN, Number.NaN, Number.NaN, Number.NaN]);
});
