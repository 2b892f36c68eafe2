import { describe, expect, it } from 'vitest';
import {
	type CartForm,
	CERTIFIED_U,
	cartBasis,
	cartPlaces,
	cartPrice,
	cartSize,
	NO_SLIP,
	scalesOf,
} from '../../../lib/factor/chain/cart-form.ts';
import type { Reference } from '../../../lib/model/index.ts';
import { Belief, layout, weigh } from '../../../lib/tank/index.ts';
import { bookOf, dump, exactReference } from '../../match/hand.ts';
import { plainMatch, plainPlan } from '../../plain.ts';
import { unloadingsOf, weighing } from './hand.ts';

const near = (x: number) => expect.closeTo(x, 9);
const load = (more: object) => ({
	truckLoad: 'T1',
	time_s: 100,
	scale: null,
	rel: 0.01,
	side_kg: 20_000,
	cart_kg: 20_000,
	used: true,
	...more,
});
const reference = (loads: object[], more: Partial<Reference> = {}): Reference => ({
	...exactReference,
	loads: loads as Reference['loads'],
	...more,
});

/** Four dumps weighed on scales of these names, and a ticket. */
function scales(names: (string | null)[], of: Reference, limits: Record<string, number> = {}) {
	const dumps = names.map((scale, i) => dump(`D${i}`, i, 0, 6000, { scale }));
	const weighings = [...names.map((_, i) => weighing([i])), weighing([0], { byCart: false, dumps: [] })];
	const match = plainMatch({ unloadings: unloadingsOf(names.map(() => 0)), weighings });
	match.clock.offset_s = 30;
	const plan = plainPlan({
		scales: Object.fromEntries(
			Object.entries(limits).map(([n, limit_pct]) => [n, { limit_pct, size_kg: null }]),
		) as never,
	});
	return scalesOf(match, of, bookOf(dumps), plan);
}

describe('the scales that took the weights', () => {
	it('one cart: its scale is the main one, tickets are of none', () => {
		const { of, others, loads, u_ratio } = scales([null, null], reference([]));
		expect([...of]).toEqual([0, 0, -1]);
		expect(others).toEqual([]);
		expect(loads).toEqual([]);
		expect(u_ratio).toBe(0.001);
	});

	it('several: the one that truckloads check is the main one, else the one with most weights', () => {
		const names = ['red', 'blue', 'blue', 'green'];
		expect([...scales(names, reference([])).of]).toEqual([1, 0, 0, 2, -1]);
		const checked = scales(names, reference([load({ scale: 'red', used: false }), load({ scale: 'green' })]));
		expect([...checked.of]).toEqual([1, 2, 2, 0, -1]);
		expect(checked.others.map((o) => o.name)).toEqual(['red', 'blue']);
	});

	it('another scale is off by what the main one’s ratio is not, within its own limit or the usual one', () => {
		const { others } = scales(['red', 'red', 'blue', 'green'], reference([], { ratio: 1.02 }), { blue: 1 });
		expect(others).toEqual([
			{ name: 'blue', mean: near(1 - 1.02), u: near(0.01 / Math.sqrt(3)) },
			{ name: 'green', mean: near(1 - 1.02), u: near(0.05 / Math.sqrt(3)) },
		]);
	});

	it('truckloads: in the logs’ time, each as certain as its share of the grain makes it', () => {
		const u = 0.004;
		const u_rel = Math.hypot(u, CERTIFIED_U);
		const { loads } = scales(
			['red', 'red', 'blue', null],
			reference(
				[
					load({ rel: 0.02, side_kg: 30_000, cart_kg: 30_600 }),
					load({ side_kg: 10_000, cart_kg: 10_000, scale: 'red' }),
					load({ rel: 0.3, used: false, scale: 'blue' }),
					load({ rel: 0.2, used: false }),
					load({ rel: Number.NaN }),
				],
				{ u_rel },
			),
		);
		expect(loads).toHaveLength(4);
		expect(loads[0]).toEqual({
			time_s: 130,
			truckLoad: 'T1',
			shares: [1, 0],
			rel: near(1 - 1 / 1.02),
			offload_rel: near(1 - 30_600 / (1.02 * 30_000)),
			u: near(u * Math.sqrt(4 / 3)),
			used: true,
		});
		expect(loads[1]).toMatchObject({ shares: [1, 0], u: near(u * 2), used: true });
		// One on a scale that no used load checks still tells of that scale.
		expect(loads[2]).toMatchObject({ shares: [0, 1], used: true });
		expect(loads[3]).toMatchObject({ shares: [1, 0], used: false });
		expect(loads[2]!.u).toBe(loads[3]!.u);
		// Loads that are not used count only beside a ratio from others.
		expect(scales([null], reference([load({ used: false })], { n: 0 })).loads).toEqual([]);
		expect(scales([null], reference([load({ used: false })], { n: 1 })).loads).toHaveLength(1);
	});

	it('a truckload and a weight mean the same by the scale’s error, however large it is', () => {
		const at = layout([1], 1, 2);
		const b = new Belief(at.n);
		const grain_kg = 10_000;
		const read_kg = 0.7 * grain_kg;
		const { loads } = scales(
			[null],
			reference([load({ rel: grain_kg / read_kg - 1, side_kg: read_kg, cart_kg: read_kg })]),
		);
		b.set(at.cart[0]!, loads[0]!.rel, 0);
		b.set(at.free[0]!, grain_kg, 1);
		weigh(b, at, at.free[0]!, { kg: read_kg, variance: 1, before: -1, after: -1, cart_kg: [read_kg, 0] });
		expect(b.x[at.free[0]!]).toBeCloseTo(grain_kg, 6);
	});

	it('an unknown clock offset is none', () => {
		const match = plainMatch({ weighings: [] });
		match.clock.offset_s = Number.NaN;
		expect(scalesOf(match, reference([load({})]), bookOf([]), plainPlan()).loads[0]!.time_s).toBe(100);
	});
});

describe('coefficients of the scales', () => {
	const three = scales(['red', 'red', 'blue', 'green'], reference([]));
	const drift: CartForm = { ...NO_SLIP, kind: 'drift' };
	it('main, certified, the others, and a drift', () => {
		expect(cartSize(three, NO_SLIP)).toBe(4);
		expect(cartSize(three, drift)).toBe(5);
		expect(cartPlaces({ cart: [7, 8, 9, 10, 11] } as never, three)).toEqual({
			main: 7,
			certified: 8,
			others: [9, 10],
			slip: 11,
		});
		expect(cartPlaces({ cart: [7, 8, 9, 10] } as never, three).slip).toBe(-1);
	});
	it('a weight by the error of its own scale; a ticket’s grain less by that of the certified one', () => {
		expect(cartBasis(three, NO_SLIP, 0, 500)).toEqual([500, 0, 0, 0]);
		expect(cartBasis(three, NO_SLIP, 2, 500)).toEqual([0, 0, 500, 0]);
		expect(cartBasis(three, drift, 3, 500)).toEqual([0, 0, 0, 500, 0]);
		expect(cartBasis(three, NO_SLIP, 4, 500)).toEqual([0, -500, 0, 0]);
	});
	it('a change costs by how long there was for it, and by how many moments it may fall on', () => {
		const step: CartForm = { ...NO_SLIP, kind: 'step', at: 3 };
		expect(cartPrice(NO_SLIP, 10, 5)).toBeCloseTo(0, 12);
		expect(cartPrice(step, 10, 10) - cartPrice(step, 10, 5)).toBeCloseTo(2 * Math.log(2), 9);
		expect(cartPrice(step, 5, 5) - cartPrice(step, 10, 5)).toBeCloseTo(2 * Math.log(2), 9);
		expect(cartPrice(step, 1e6, 1)).toBeCloseTo(2 * Math.log(2), 9);
		expect(cartPrice(step, 10, 0)).toBe(cartPrice(step, 10, 1));
		expect(cartPrice(drift, 1, 1)).toBe(cartPrice(drift, 9, 9));
		expect(cartPrice(drift, 1, 1)).toBeGreaterThan(0);
	});
});
