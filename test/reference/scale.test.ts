import { describe, expect, it } from 'vitest';
import type { LoadBook } from '../../lib/model/index.ts';
import {
	CERTIFIED_LIMIT_REL,
	joinTickets,
	scaleReference,
	statedReference,
	toleranceDivisions,
} from '../../lib/reference/index.ts';
import { bookOf, dump, offload, planOf, ticket } from '../match/hand.ts';

const plan = planOf(['A']);

/** Truck loads of two dumps and one offload each; `certified` over the cart's weight by load. */
function loads(ratios: number[], dumpsOver = 1): LoadBook {
	const dumps = ratios.flatMap((_, i) => [
		dump(`D${2 * i}`, 3 * i, 3600 * i, (6000 + 100 * i) * dumpsOver),
		dump(`D${2 * i + 1}`, 3 * i + 1, 3600 * i + 900, (7000 - 50 * i) * dumpsOver),
	]);
	const cart = (i: number): number => 13_000 + 50 * i;
	const offloads = ratios.map((_, i) => offload(`L${i}`, 3 * i + 2, 3600 * i + 1200, cart(i), `T${i}`));
	const tickets = ratios.map((r, i) => ticket(String(i), 3600 * i + 3000, r * cart(i), { truckLoad: `T${i}` }));
	return bookOf(dumps, offloads, tickets);
}

describe('cart against tickets', () => {
	it('is the ratio of sums with Cochran’s variance and a t interval', () => {
		const ratios = [1.03, 1.034, 1.031, 1.029];
		const found = scaleReference({ book: loads(ratios), plan });
		const x = ratios.map((_, i) => 13_000 + 50 * i);
		const y = ratios.map((r, i) => r * x[i]!);
		const R = y.reduce((a, b) => a + b) / x.reduce((a, b) => a + b);
		const mean = x.reduce((a, b) => a + b) / 4;
		// v(R) = Σ (y − R x)² / (n (n − 1) x̄²): Cochran, Sampling Techniques, 3rd ed., ch. 6.
		const u = Math.sqrt(y.reduce((s, v, i) => s + (v - R * x[i]!) ** 2, 0) / (4 * 3)) / mean;
		expect(found.ratio).toBeCloseTo(R, 12);
		expect(found).toMatchObject({ n: 4, source: 'tickets', df: 3, limit_rel: 0 });
		// The certified scale's tolerance, rectangular, is added.
		expect(found.u_rel).toBeCloseTo(Math.hypot(u / R, CERTIFIED_LIMIT_REL / Math.sqrt(3)), 12);
		expect((found.interval[1] - found.interval[0]) / 2 / R).toBeGreaterThan(2 * found.u_rel);
		expect(found.remarks).toEqual([]);
	});

	it('says so and goes by the dumps where dumps and offloads differ by more than chance', () => {
		const found = scaleReference({ book: loads([1.03, 1.0302, 1.0299, 1.0301], 1.006), plan });
		expect(found.ratio).toBeCloseTo(1.03 / 1.006, 3);
		expect(found.remarks!.join(' ')).toMatch(/weighs dumps and offloads of the same grain differently/);
	});

	it('does not use a truck that also took grain straight from a combine, nor one that stands apart', () => {
		const book = loads([1.03, 1.031, 1.029, 1.03, 1.12]);
		book.tickets[1]!.combine = 'A';
		const found = scaleReference({ book, plan });
		expect(found.n).toBe(3);
		expect(found.loads[1]).toMatchObject({ used: false });
		expect(found.loads[1]!.reason).toMatch(/straight from a combine/);
		expect(found.loads[4]!.reason).toMatch(/over the cart's weight/);
		expect(found.ratio).toBeCloseTo(1.03, 3);
	});

	it('cautions where fewer than three loads speak', () => {
		expect(scaleReference({ book: loads([1.03, 1.031]), plan }).remarks!.join(' ')).toMatch(/three to five/);
		const one = scaleReference({ book: loads([1.03]), plan });
		expect(one.n).toBe(1);
		expect(one.u_rel).toBeGreaterThan(0.003);
		expect(one.remarks!.join(' ')).toMatch(/1 truckload/);
	});

	it('without tickets the limits stand: 1 % said, 5 % not', () => {
		const book = { ...loads([1, 1]), tickets: [] };
		const said = { limit_pct: 1, size_kg: null, reading_a_kg: null, reading_b_rel: null };
		const one = scaleReference({ book, plan: planOf(['A'], { scales: { cart: said } }) });
		expect(one).toMatchObject({ ratio: 1, source: 'limit', limit_rel: 0.01, n: 0 });
		expect(one.u_rel).toBeCloseTo(0.01 / Math.sqrt(3), 12);
		// 95 % of a rectangular distribution lie within 0.95 of its half-width.
		expect(one.interval[1]).toBeCloseTo(1.0095, 12);
		const none = scaleReference({ book, plan });
		expect(none.limit_rel).toBe(0.05);
		expect(none.remarks!.join(' ')).toMatch(/±5%/);
	});

	it('nothing weighed, no reference: stated is what is known of any scale', () => {
		const nothing = { book: bookOf([]), plan };
		const found = scaleReference(nothing);
		expect(found).toMatchObject({ source: 'none', u_rel: 0 });
		expect(statedReference(found, nothing)).toMatchObject({ ratio: 1, interval: [0.9525, 1.0475] });
	});

	it.each([
		[1 / 0.45359237, /2\.2\d? times.*pounds read as kilograms in the tickets.*unit.*net_kg/],
		[0.45359237, /0\.45\d? times.*kilograms read as pounds in the tickets.*unit/],
		[1000, /1\.?0?\de?\+?3? times.*metric tons.*unit/],
	])('tickets at %f of the cart are in another unit, and it is said', (ratio, says) => {
		const found = scaleReference({ book: loads([ratio, ratio * 1.002]), plan });
		expect(found).toMatchObject({ ratio: 1, source: 'limit', n: 0 });
		expect(found.remarks!.join(' ')).toMatch(says);
		expect(found.remarks!.join(' ')).not.toMatch(/No ticket checks/);
	});
});

describe('tickets without a load number', () => {
	it('are joined to offloads in order, by time and weight, at one ratio', () => {
		const book = loads([1.03, 1.031, 1.029, 1.03, 1.0305]);
		for (const o of book.offloads) o.truckLoad = null;
		// Only some trucks have a ticket.
		book.tickets = [book.tickets[0]!, book.tickets[2]!, book.tickets[4]!].map((t) => ({ ...t, truckLoad: null }));
		const joined = joinTickets(book);
		expect(joined.offloads.map((o) => o.truckLoad)).toEqual(['ticket 0', null, 'ticket 2', null, 'ticket 4']);
		expect(scaleReference({ book, plan }).ratio).toBeCloseTo(1.03, 2);
		// The book itself is left alone.
		expect(book.offloads.every((o) => o.truckLoad === null)).toBe(true);
	});

	it('where the times leave several trucks open the one ratio decides', () => {
		const weights = [13_000, 13_600, 12_500, 13_300, 12_900];
		const offloads = weights.map((kg, i) => offload(`L${i}`, i, 600 * i, kg));
		const tickets = [0, 1, 4].map((load, i) => ticket(String(i), 6000 + 300 * i, 1.04 * weights[load]!));
		const joined = joinTickets(bookOf([], offloads, tickets));
		expect(joined.offloads.map((o) => o.truckLoad)).toEqual(['ticket 0', 'ticket 1', null, null, 'ticket 2']);
	});

	it('are left alone where no ratio makes them agree', () => {
		const book = loads([1.03, 1.09, 0.97]);
		for (const o of book.offloads) o.truckLoad = null;
		book.tickets = book.tickets.map((t, i) => ({ ...t, truckLoad: null, net_kg: t.net_kg * [0.8, 1.4, 0.6][i]! }));
		expect(joinTickets(book).offloads.every((o) => o.truckLoad === null)).toBe(true);
	});
});

describe('class III L maintenance tolerance (NIST Handbook 44, 2.20, Table 6)', () => {
	it.each([
		[400, 1],
		[500, 1],
		[501, 2],
		[1000, 2],
		[1001, 3],
		// 80,000 lb on a scale of 20 lb divisions: 160 lb.
		[4000, 8],
	])('%i divisions: %i', (load, tolerance) => {
		expect(toleranceDivisions(load)).toBe(tolerance);
	});
});

describe('tickets that contradict what is stated of the scale', () => {
	const within1 = { ...plan, scales: { cart: { ...plan.scales.cart!, limit_pct: 1 } } };
	const withMoisture = (book: LoadBook, moisture_pct: number) => {
		for (const t of book.tickets) t.moisture_pct = moisture_pct;
		return book;
	};
	// 18.5 % brought to 15.5 %: 81.5 / 84.5, 3.55 % less.
	const dry = [0.9645, 0.965, 0.9646, 0.9648];

	it('may be dry weights: both remain, and the truth is inside', () => {
		const found = scaleReference({ book: withMoisture(loads(dry), 18.5), plan: within1 });
		const weight = (kind: number) => found.either!.find((e) => Math.abs(e.reference.ratio - kind) < 0.003)!.weight;
		expect(weight(1)).toBeGreaterThan(0.6);
		expect(weight(0.9648)).toBeGreaterThan(0.05);
		expect(found.either!.reduce((sum, e) => sum + e.weight, 0)).toBeCloseTo(1, 12);
		expect(found.interval[0]).toBeLessThan(0.966);
		expect(found.interval[1]).toBeGreaterThan(1);
		expect(found.remarks!.join(' ')).toMatch(/3\.5% less.*dry weights at 15\.5%/s);
	});

	it('may be of other grain, or the scale is beyond its limits', () => {
		const found = scaleReference({ book: loads([0.955, 0.9552, 0.9549, 0.9551]), plan: within1 });
		expect(found.interval[0]).toBeLessThan(0.956);
		expect(found.interval[1]).toBeGreaterThan(0.995);
		expect(found.remarks!.join(' ')).toMatch(/4\.5% less.*other grain.*cart scale that is off/s);
	});

	it('are right where they agree with it, dry grain or not', () => {
		for (const pct of [15.6, 16.5, 18.5])
			expect(
				scaleReference({ book: withMoisture(loads([1.003, 1.004, 1.003]), pct), plan: within1 }).either,
			).toBeUndefined();
	});
});
