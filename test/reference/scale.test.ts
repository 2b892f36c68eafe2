import { describe, expect, it } from 'vitest';
import { CART, type LoadBook } from '../../lib/model/index.ts';
import { joinTickets, scaleReference, statedReference } from '../../lib/reference/index.ts';
import { bookOf, dump, offload, planOf, ticket } from '../match/hand.ts';

const plan = planOf(['A']);
const withTank = (tank_kg: number | null) => ({ ...plan, combines: { A: { ...plan.combines.A!, tank_kg } } });

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
		expect(found).toMatchObject({ n: 4, source: 'tickets', limit_rel: 0 });
		// Welch and Satterthwaite: only the scatter between loads has few degrees of freedom.
		expect(found.df).toBeCloseTo((3 * found.u_rel ** 4) / (u / R) ** 4, 6);
		// The certified scale's tolerance, rectangular, is added.
		expect(found.u_rel).toBeCloseTo(Math.hypot(u / R, CART.certified_rel / Math.sqrt(3)), 12);
		expect((found.interval[1] - found.interval[0]) / 2 / R).toBeGreaterThan(2 * found.u_rel);
		expect(found.remarks).toEqual([]);
	});

	it('says so and goes by the dumps where dumps and offloads differ by more than chance', () => {
		const found = scaleReference({ book: loads([1.03, 1.0302, 1.0299, 1.0301], 1.006), plan });
		expect(found.ratio).toBeCloseTo(1.03 / 1.006, 3);
		expect(found.remarks!.join(' ')).toMatch(/weighs dumps and offloads of the same grain differently/);
	});

	it('a difference of several percent at nearly every load is one of weighing, not of dumps without an entry', () => {
		const tickets = [1.003, 1.0032, 1.0029, 1.0031];
		const light = scaleReference({ book: loads(tickets, 0.95), plan });
		expect(light.ratio).toBeCloseTo(1.003 / 0.95, 3);
		// Tickets that agree with the offloads are not wrong for being 5 % over the dumps.
		expect(light.either).toBeUndefined();
		expect(light.remarks!.join(' ')).toMatch(/differently \(-5\.\d+%\)/);
		// A dump of one load was not entered: the others tell nothing of it.
		const unsaved = loads(tickets);
		unsaved.dumps.pop();
		expect(scaleReference({ book: unsaved, plan }).ratio).toBeCloseTo(1.003, 3);
		// Beyond a tenth it is none of weighing.
		expect(scaleReference({ book: loads(tickets, 0.85), plan }).ratio).toBeCloseTo(1.003, 3);
	});

	it('without tickets a scale that weighs dumps and offloads differently may be right in either', () => {
		const light = scaleReference({ book: { ...loads([1, 1, 1, 1], 0.95), tickets: [] }, plan });
		expect(light.interval[0]).toBeLessThan(1);
		expect(light.interval[1]).toBeGreaterThan(1 / 0.95);
		expect(light.remarks!.join(' ')).toMatch(/no ticket shows which is right/);
		const alike = scaleReference({ book: { ...loads([1, 1, 1, 1]), tickets: [] }, plan });
		expect(alike).toMatchObject({ ratio: 1 });
		expect(alike.remarks).toHaveLength(1);
	});

	it('dumps and offloads in two units: the side that agrees with the tickets counts', () => {
		const POUND_KG = 0.453_592_37;
		const offloadsInPounds = loads(
			[1.003, 1.0032, 1.0029, 1.0031].map((r) => r * POUND_KG),
			POUND_KG,
		);
		const byDumps = scaleReference({ book: offloadsInPounds, plan });
		expect(byDumps.ratio).toBeCloseTo(1.003, 3);
		expect(byDumps.remarks).toEqual([
			'The dumps come to 0.454 times the offloads of the same grain. Possible cause: they are in different units (check the unit of column weight_kg). The dumps are compared with the tickets here.',
		]);
		const byOffloads = scaleReference({ book: loads([1.003, 1.0032, 1.0029, 1.0031], 1 / POUND_KG), plan });
		expect(byOffloads.ratio).toBeCloseTo(1.003, 3);
		expect(byOffloads.remarks!.join()).toMatch(/^The dumps come to 2\.20 times .* The offloads are compared/);
		// Without tickets neither is averaged with the other.
		const none = scaleReference({ book: { ...offloadsInPounds, tickets: [] }, plan });
		expect(none.ratio).toBe(1);
		expect(none.remarks!.join()).toMatch(/different units/);
	});

	it('tickets that would make dumps heavier than any tank holds are in pounds; where the dumps are, the cart is', () => {
		const POUND_KG = 0.453_592_37;
		const pounds = [1.003, 1.0032, 1.0029, 1.0031].map((r) => r / POUND_KG);
		const found = scaleReference({ book: loads(pounds), plan: withTank(8000) });
		expect(found.ratio).toBeCloseTo(1.003, 3);
		expect(found.remarks).toEqual([
			"The tickets come to 2.21 times the cart's weights of the same grain, and no tank holds dumps that heavy: they are taken for pounds read as kilograms. Check the unit of column net_kg.",
		]);
		// Tanks that hold as much, or dumps that exceed them already, leave the tickets as they are.
		for (const tank_kg of [16_000, 4000])
			expect(scaleReference({ book: loads(pounds), plan: withTank(tank_kg) }).ratio).toBeCloseTo(1.003 / POUND_KG, 2);
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

	it('several at the ratio of a unit make up for it, and it is said', () => {
		const found = scaleReference({ book: loads([2.27, 2.272, 2.269, 2.271]), plan: withTank(null) });
		expect(found.ratio).toBeCloseTo(2.27, 2);
		expect(found.remarks!.join(' ')).toMatch(
			/2\.27 times.*pounds read as kilograms.*unit of columns net_kg and weight_kg/,
		);
	});

	it('weights copied from the tickets into the cart log check nothing', () => {
		const book = loads([1, 1, 1]);
		const found = scaleReference({ book, plan });
		expect(found).toMatchObject({ source: 'limit', n: 0 });
		expect(found.remarks!.join(' ')).toMatch(/offload is the weight on the ticket to the last digit/);
		expect(found.loads.every((l) => /last digit/.test(l.reason!))).toBe(true);
		// Two may be equal by chance.
		expect(scaleReference({ book: loads([1, 1, 1.002]), plan }).n).toBe(3);
	});

	it('none that belongs to an offload is said to be none', () => {
		const book = loads([1.03, 1.031, 1.029]);
		for (const t of book.tickets) t.net_kg /= 3;
		for (const t of book.tickets) t.truckLoad = null;
		expect(scaleReference({ book, plan }).remarks!.join(' ')).toMatch(/^No ticket belongs to an offload/);
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

describe('the reference in figures', () => {
	const scale = { size_kg: null, reading_a_kg: null, reading_b_rel: null };
	const exact = loads([1.03, 1.034, 1.031, 1.029]);

	it('shows both sides of each load, and each load against the ratio', () => {
		// Dumps 0.3 % over offloads by turns, so that the two sides agree on the whole.
		for (const [i, d] of exact.dumps.entries()) d.weight_kg *= i % 4 < 2 ? 1.003 : 0.997;
		const found = scaleReference({ book: exact, plan });
		const offload_kg = [0, 1, 2, 3].map((i) => 13_000 + 50 * i);
		const dumps_kg = offload_kg.map((kg, i) => kg * (i % 2 === 0 ? 1.003 : 0.997));
		const ticket_kg = [1.03, 1.034, 1.031, 1.029].map((r, i) => r * offload_kg[i]!);
		const sum = (list: number[]) => list.reduce((a, b) => a + b);
		const u_of = (x: number[]) => {
			const R = sum(ticket_kg) / sum(x);
			const squares = sum(ticket_kg.map((y, i) => (y - R * x[i]!) ** 2));
			return Math.sqrt(squares / 12) / (sum(x) / 4) / R;
		};
		const side_kg = offload_kg.map((kg, i) => (kg + dumps_kg[i]!) / 2);
		const ratio = sum(ticket_kg) / sum(side_kg);
		expect(found.ratio).toBeCloseTo(ratio, 12);
		expect(found.u_certified_rel).toBeCloseTo(CART.certified_rel / Math.sqrt(3), 14);
		expect(found.sides!.offloads).toBeCloseTo(sum(ticket_kg) / sum(offload_kg), 12);
		expect(found.sides!.dumps).toBeCloseTo(sum(ticket_kg) / sum(dumps_kg), 12);
		expect(found.sides!.u_offloads).toBeCloseTo(u_of(offload_kg), 12);
		expect(found.sides!.u_dumps).toBeCloseTo(u_of(dumps_kg), 12);
		found.loads.forEach((l, i) => {
			expect(l.side_kg).toBeCloseTo(side_kg[i]!, 8);
			expect(l.rel).toBeCloseTo(ticket_kg[i]! / (side_kg[i]! * ratio) - 1, 12);
		});
	});

	it('where some dumps are not known takes their offload to differ as the others do', () => {
		const some = loads([1.03, 1.0302, 1.0299, 1.0301], 1.006);
		// One dump of the last load was not entered.
		some.dumps.pop();
		const found = scaleReference({ book: some, plan });
		expect(found.ratio).toBeCloseTo(1.03005 / 1.006, 4);
		expect(found.loads[3]!.side_kg).toBeCloseTo(13_150 * 1.006, 6);
		expect(found.remarks!.join(' ')).toMatch(/differently \(0\.60%\)/);
		const bare: LoadBook = { ...loads([1.03, 1.0302, 1.0299]), dumps: [] };
		bare.offloads.push(offload('L9', 99, 99_000, 500));
		bare.dumps.push(dump('D9', 98, 98_000, 100));
		const none = scaleReference({ book: bare, plan });
		expect(none.sides).toMatchObject({ dumps: Number.NaN, u_dumps: Number.NaN });
		const one = loads([1.03, 1.0302, 1.0299]);
		one.dumps = one.dumps.slice(0, 2);
		expect(scaleReference({ book: one, plan }).sides!.u_dumps).toBeNaN();
	});

	it('a difference of dumps and offloads within what a certified scale may be off is not said, and two loads tell none', () => {
		const slight = scaleReference({ book: loads([1.03, 1.03, 1.03, 1.03], 1.0019), plan });
		expect(slight.remarks).toEqual([]);
		expect(slight.ratio).toBeCloseTo(1.03 / 1.0019, 6);
		expect(scaleReference({ book: loads([1.03, 1.03, 1.03, 1.03], 1.0021), plan }).remarks).toEqual([
			'The cart weighs dumps and offloads of the same grain differently (0.21%). The dumps are compared with the tickets here, since the factors use dumps. Weigh with the cart stopped and level.',
		]);
		expect(scaleReference({ book: loads([1.03, 1.03], 1.006), plan }).remarks).toEqual([
			'Only 2 truckloads check the cart scale. Get tickets for three to five, early in the season.',
		]);
		const two = scaleReference({ book: loads([1.03, 1.031]), plan });
		expect(two.df).toBeCloseTo(two.u_rel ** 4 / (two.u_rel ** 2 - CART.certified_rel ** 2 / 3) ** 2, 6);
		expect(scaleReference({ book: loads([1.03]), plan })).toMatchObject({
			df: Infinity,
			remarks: ['Only 1 truckload checks the cart scale. Get tickets for three to five, early in the season.'],
		});
		expect(scaleReference({ book: loads([1.03, 1.031, 1.03]), plan }).remarks).toEqual([]);
	});

	it('of several explanations is their mixture: mean, spread and cautions', () => {
		const book = loads([0.9645, 0.965, 0.9646, 0.9648]);
		for (const t of book.tickets) t.moisture_pct = 18.5;
		const limited = { ...plan, scales: { cart: { ...scale, limit_pct: 1 } } };
		const found = scaleReference({ book, plan: limited });
		const either = found.either!;
		const mean = either.reduce((s, e) => s + e.weight * e.reference.ratio, 0);
		const square = either.reduce(
			(s, { weight, reference: r }) => s + weight * ((r.u_rel * r.ratio) ** 2 + (r.ratio - mean) ** 2),
			0,
		);
		expect(found.ratio).toBeCloseTo(mean, 14);
		expect(found.u_rel).toBeCloseTo(Math.sqrt(square) / mean, 14);
		expect(found.remarks).toHaveLength(1);
		// Dry weights brought back to wet ones: 84.5 / 81.5, their drying known to 0.2 %.
		const wet = either.find((e) => Math.abs(e.reference.ratio - 1) < 0.003)!.reference;
		const right = either.find((e) => Math.abs(e.reference.ratio - 0.9647) < 0.001)!.reference;
		expect(wet.ratio).toBeCloseTo((right.ratio * 84.5) / 81.5, 12);
		expect(wet.u_rel).toBeCloseTo(Math.hypot(right.u_rel, 0.002), 14);
		const halves = [wet, right].map((r) => (r.interval[1] - r.interval[0]) / 2 / r.ratio / r.u_rel);
		expect(halves[0]).toBeCloseTo(halves[1]!, 10);
		expect((wet.interval[0] + wet.interval[1]) / 2).toBeCloseTo(wet.ratio, 12);
	});

	it('certified weights alone need no cart: their own tolerance', () => {
		const book = bookOf([], [], [ticket('1', 0, 9000), ticket('2', 100, 9100)]);
		const u = CART.certified_rel / Math.sqrt(3);
		expect(scaleReference({ book, plan })).toEqual({
			ratio: 1,
			u_rel: u,
			interval: [1 - 0.95 * CART.certified_rel, 1 + 0.95 * CART.certified_rel],
			n: 2,
			source: 'tickets',
			limit_rel: CART.certified_rel,
			df: Infinity,
			loads: [],
			remarks: [],
		});
		expect(scaleReference({ book: bookOf([]), plan })).toMatchObject({
			interval: [1, 1],
			n: 0,
			limit_rel: 0,
			remarks: [],
		});
	});

	it('without tickets the widest limit of the scales that weighed counts', () => {
		const scales = {
			east: { ...scale, limit_pct: 0.5 },
			west: { ...scale, limit_pct: 1.5 },
			spare: { ...scale, limit_pct: 4 },
			unsaid: { ...scale, limit_pct: null },
		};
		const by = (...names: (string | null)[]) => {
			const book = bookOf(names.map((name, i) => ({ ...dump(`D${i}`, i, 1000 * i, 6000), scale: name })));
			return scaleReference({ book, plan: { ...plan, scales } });
		};
		expect(by('east', null).limit_rel).toBe(0.005);
		expect(by('east', 'west', 'lost').limit_rel).toBe(0.015);
		expect(by('lost').limit_rel).toBe(0.04);
		expect(by('unsaid').limit_rel).toBe(0.05);
		expect(by('east').remarks).toEqual([
			"No ticket checks the cart scale: it is assumed good to ±0.5%. The field's total is uncertain by the same ±0.5%. Get tickets for three to five truckloads.",
		]);
		expect(by('unsaid').remarks![0]).toMatch(
			/^No ticket checks the cart scale, and no limit is given for it: it is assumed/,
		);
		const found = by('east');
		expect(statedReference(found, { book: bookOf([]), plan })).toBe(found);
	});

	it('tickets that are not used say by how much, with a unit where it looks like one', () => {
		const apart = loads([1.3, 1.31]);
		apart.offloads.push(offload('L8', 97, 97_000, 800, 'T8'));
		apart.tickets.push(ticket('9', 98_000, 9000, { truckLoad: 'T9' }));
		expect(scaleReference({ book: apart, plan }).remarks).toEqual([
			"The tickets come to 1.31 times the cart's weights of the same truckloads, and are not used. Check both. The cart scale is assumed good to ±5%; the field's total is uncertain by the same ±5%.",
		]);
		expect(scaleReference({ book: apart, plan }).loads.map((l) => l.used)).toEqual([false, false, false, false]);
	});
});
