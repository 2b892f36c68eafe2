import { expect, it } from 'vitest';
import { explain } from '../../../lib/match/explained.ts';
import { shortThroughout } from '../../../lib/match/suppose/short-throughout.ts';
import type { Dump, Offload } from '../../../lib/model/index.ts';
import { bookOf, exactReference, inputOf, offload, planOf, recordsOf } from '../hand.ts';
import { cart, works } from '../two.ts';

const records = recordsOf(works(true));
const SIDES = { offloads: 1, u_offloads: 0.001, dumps: Number.NaN, u_dumps: Number.NaN };

/** Three dumps to a truck, each so much short, and one in `every` not saved. */
const shortBy = (kg: number, every: number, sides?: typeof SIDES) => {
	const dumps: Dump[] = [];
	const offloads: Offload[] = [];
	let sum_kg = 0;
	cart(records, 0, true).forEach(({ dump }, i, all) => {
		const order = dumps.length + offloads.length;
		sum_kg += dump.weight_kg;
		if (i % every !== 1) dumps.push({ ...dump, order, weight_kg: dump.weight_kg - kg });
		if (i % 3 < 2 && i < all.length - 1) return;
		offloads.push({ ...offload(`L${i}`, order + 1, 0, sum_kg, `T${i}`), time_s: dump.time_s + 30 });
		sum_kg = 0;
	});
	const reference = sides ? { ...exactReference, sides } : exactReference;
	const input = inputOf(records, bookOf(dumps, offloads), { plan: planOf(['A', 'B']), reference });
	const [plain] = explain(input, null, () => {});
	const found = shortThroughout(plain!);
	return { plain: plain!, found, kg: found.map((s) => s.input.book.dumps[0]!.weight_kg - dumps[0]!.weight_kg) };
};

it('what all dumps lack is found where few cart loads have all their dumps', () => {
	const { found, kg } = shortBy(400, 4, SIDES);
	expect(kg[1]).toBeGreaterThan(370);
	expect(kg[1]).toBeLessThan(430);
	// The middle stands for two thirds of what it may be, either side for a sixth, with one caution.
	expect(kg).toEqual([...kg].sort((a, b) => a - b));
	expect(found[0]!.least! - found[1]!.least!).toBeCloseTo(Math.log(4), 9);
	expect(new Set(found.map((s) => s.caution)).size).toBe(1);
	expect(found[1]!.caution).toMatch(/Each dump weighs about .* less/);
});

it('without tickets the logs alone tell, and less sharply', () => {
	const { kg } = shortBy(400, 4);
	const sharp = shortBy(400, 4, SIDES).kg;
	expect(kg[2]! - kg[0]!).toBeGreaterThan(2 * (sharp[2]! - sharp[0]!));
});

it('dumps that lack nothing cost less as written', () => {
	for (const every of [3, 4]) {
		const { plain, found } = shortBy(0, every, SIDES);
		for (const s of found) expect(s.least!).toBeGreaterThan(plain.cost + 5);
	}
});

it('it is not supposed where carts are empty after their offloads', () => {
	expect(shortBy(0, 100, SIDES).found).toEqual([]);
});
