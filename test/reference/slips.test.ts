import { describe, expect, it } from 'vitest';
import { CART, type LoadBook, MOISTURE, type MoistureOffset, type Reference, TICKETS } from '../../lib/model/index.ts';
import { moistureSlips } from '../../lib/reference/index.ts';
import { dryBasis, ticketCaution, ticketExplanations } from '../../lib/reference/slips.ts';
import { unitSlip } from '../../lib/reference/units.ts';
import { normalCdf, type TicketSlip } from '../../lib/stats/index.ts';
import { bookOf, dump, exactReference, planOf, ticket } from '../match/hand.ts';

const bell = (x: number, u: number) => Math.exp(-(x * x) / (2 * u * u)) / (u * Math.sqrt(2 * Math.PI));
const limited = (limit_pct: number | null, other: number | null = null) => {
	const scale = { size_kg: null, reading_a_kg: null, reading_b_rel: null };
	return planOf(['A'], { scales: { cart: { ...scale, limit_pct }, spare: { ...scale, limit_pct: other } } });
};
const found = (ratio: number, rels: number[] = [0, 0.001]): Reference => ({
	...exactReference,
	ratio,
	u_rel: 0.002,
	loads: rels.map((rel, i) => ({
		truckLoad: `T${i}`,
		cart_kg: 1,
		ticket_kg: 1,
		used: true,
		reason: null,
		time_s: 0,
		scale: null,
		rel,
		side_kg: 1,
	})),
});
/** Density of loads that agree where no ticket is of its load. */
const byChance = ({ loads }: Reference) => (CART.apart_rel / CART.oddLoad_rel) ** (loads.length - 1);
const weighed = (moisture_pct: number[]): LoadBook =>
	bookOf(
		[dump('D0', 0, 0, 6000)],
		[],
		moisture_pct.map((m, i) => ticket(String(i), 0, 10_000 * (i + 1), { moisture_pct: m })),
	);

describe('explanations of a ratio', () => {
	const right = [{ weight: 1, kind: 'right', by: 0 }];

	it('no cart: the tickets stand; loads that differ among themselves may all be wrong', () => {
		expect(ticketExplanations(bookOf([]), limited(1), found(0.9))).toEqual(right);
		expect(ticketExplanations(weighed([]), limited(1), found(1.77, [0, 0.03, -0.03])).at(-1)).toMatchObject({
			kind: 'other',
			weight: expect.closeTo(1, 3),
		});
		const aside = found(0.9, [0, 0.5]);
		aside.loads[1]!.used = false;
		expect(ticketExplanations(weighed([]), limited(1), aside)).not.toEqual(right);
	});

	it('are weighed by Bayes’ rule against the widest stated limit', () => {
		const slips = ticketExplanations(weighed([18.5, 20]), limited(1, 0.5), found(0.965));
		// Within ±1 %, blurred by 0.2 %; beyond, one scale in twenty with 5 %.
		const usual = (x: number) => (normalCdf((x + 0.01) / 0.002) - normalCdf((x - 0.01) / 0.002)) / 0.02;
		const drying = (10_000 * 81.5 + 20_000 * 80) / (30_000 * 84.5) - 1;
		const odds = {
			right: (1 - CART.beyond) * usual(-0.035) + CART.beyond * bell(0.035, TICKETS.slip_rel),
			dry: TICKETS.dry * usual(-0.035 - drying),
			other: TICKETS.other * (bell(0.035, TICKETS.slip_rel) + byChance(found(0.965))),
		};
		const kept = Object.entries(odds).filter(
			([kind, w]) => kind === 'right' || w > 0.05 * (odds.right + odds.dry + odds.other),
		);
		const sum = kept.reduce((s, [, w]) => s + w, 0);
		expect(slips.map((s) => s.kind)).toEqual(kept.map(([kind]) => kind));
		for (const s of slips) expect(s.weight).toBeCloseTo(odds[s.kind] / sum, 10);
		expect(slips.find((s) => s.kind === 'dry')?.by ?? drying).toBeCloseTo(drying, 12);
	});

	it('tickets of which few agree with each other are more likely of other grain; by a unit’s ratio they are not', () => {
		const apart = (rels: number[], ratio: number) => {
			const { loads } = found(ratio);
			const list = rels.map((rel) => ({ ...loads[0]!, rel, used: Math.abs(rel) < 0.01 }));
			const slips = ticketExplanations(weighed([18.5, 20]), limited(1), { ...found(ratio), loads: list });
			return slips.find((s) => s.kind === 'right')!.weight;
		};
		expect(apart([0, 0.001, 0.002, 0.003], 1.02)).toBeGreaterThan(0.5);
		expect(apart([0, 0.001, 0.1, 0.2, -0.1], 1.02)).toBeLessThan(0.05);
		// A scale that failed once makes two groups.
		expect(apart([0, 0.001, 0.33, 0.331], 1.002)).toBeGreaterThan(0.95);
		expect(apart([0, 0.001, 1.2], 0.4536)).toBeGreaterThan(0.5);
	});

	it('without a stated limit a scale is within 5 %, normal', () => {
		const slips = ticketExplanations(weighed([Number.NaN, 0]), limited(null), found(0.9));
		const right_ = 0.95 * bell(0.1, CART.unchecked_rel / Math.sqrt(3)) + CART.beyond * bell(0.1, TICKETS.slip_rel);
		const other = TICKETS.other * (bell(0.1, TICKETS.slip_rel) + byChance(found(0.9)));
		expect(slips.map((s) => s.kind)).toEqual(['right', 'other']);
		expect(slips[0]!.weight).toBeCloseTo(right_ / (right_ + other), 10);
		expect(slips[1]!.by).toBeNaN();
	});

	it('grain drier than the market is no slip of drying', () => {
		const slips = ticketExplanations(weighed([14]), limited(1), found(1.0175));
		expect(slips.some((s) => s.kind === 'dry')).toBe(false);
	});
});

describe('what is said of it', () => {
	const other: TicketSlip[] = [
		{ kind: 'right', by: 0, weight: 0.7 },
		{ kind: 'other', by: Number.NaN, weight: 0.3 },
	];
	const dry: TicketSlip[] = [...other, { kind: 'dry', by: -0.0355, weight: 0.1 }];
	it.each<[number, number | null, TicketSlip[], string]>([
		[
			0.955,
			1,
			other,
			"The tickets come to 4.5% less than the cart's weights of the same grain, beyond the cart scale's stated limit of ±1%. Possible causes: tickets for other grain, net and gross weights confused, or a cart scale that is off. The factors allow for each, so their intervals are wide. Check the tickets.",
		],
		[
			1.008,
			1,
			other,
			"The tickets come to 0.8% more than the cart's weights of the same grain. Possible causes: tickets for other grain, net and gross weights confused, or a cart scale that is off. The factors allow for each, so their intervals are wide. Check the tickets.",
		],
		[
			0.965,
			null,
			dry,
			"The tickets come to 3.5% less than the cart's weights of the same grain. Possible cause: the tickets are dry weights at 15.5% moisture, which would come to 3.5% less; or the cart scale is off. The factors allow for each, so their intervals are wide. Check the tickets.",
		],
		[
			1.1,
			0.25,
			dry,
			"The tickets come to 10.0% more than the cart's weights of the same grain, beyond the cart scale's stated limit of ±0.25%. Possible cause: short tons read as metric tons in the tickets (check the unit of columns net_kg and weight_kg), or the cart scale is off. The factors allow for each, so their intervals are wide. Check the tickets.",
		],
	])('a ratio of %f with a limit of %s', (ratio, limit, slips, says) => {
		expect(ticketCaution(weighed([]), limited(limit), found(ratio), slips)).toBe(says);
	});

	it('a unit is told by a ratio within 3 % of what it makes, with the columns that are mapped', () => {
		const plan = limited(null);
		plan.tickets = { file: 't.csv', columns: { net: { column: 'Net' } } } as unknown as typeof plan.tickets;
		plan.cartLog = { file: 'c.csv', columns: { weight: { column: 'Scale' } } } as unknown as typeof plan.cartLog;
		expect(unitSlip(2.2046, plan)).toBe(
			'pounds read as kilograms in the tickets, or kilograms as pounds in the cart log (check the unit of columns Net and Scale)',
		);
		expect(unitSlip(0.4536, plan)).toMatch(
			/^kilograms read as pounds in the tickets, or pounds as kilograms in the cart/,
		);
		expect(unitSlip(1000, plan)).toMatch(/^kilograms read as metric tons/);
		expect(unitSlip(0.001, plan)).toMatch(/^metric tons read as kilograms/);
		expect(unitSlip(1.1023, plan)).toMatch(/^short tons read as metric tons/);
		expect(unitSlip(2.2046 * Math.exp(0.029), plan)).not.toBeNull();
		expect(unitSlip(2.2046 * Math.exp(-0.031), plan)).toBeNull();
		expect(unitSlip(1, plan)).toBeNull();
	});
});

describe('ticket moistures against sensors', () => {
	const offset = (offset_pct: number, more: Partial<MoistureOffset> = {}): MoistureOffset => ({
		combine: 0,
		offset_pct,
		u_pct: 0.1,
		n: 3,
		source: 'tickets',
		...more,
	});
	const book = weighed([24, 26, 0]);
	const points = 25 - 2500 / 125;

	it('on a dry basis by Bayes’ rule, from tickets alone and all combines alike', () => {
		const mean = 4.2;
		const right = (1 - MOISTURE.wrong) * bell(mean, 0.6) + MOISTURE.wrong * bell(mean, MOISTURE.wrong_u_pct);
		const dry = MOISTURE.dryBasis * bell(mean - points, 0.6);
		const told = dryBasis(book, [offset(4), offset(3, { given_pct: 4.4 }), offset(-9, { source: 'none' })]);
		expect(told.points).toBeCloseTo(points, 12);
		expect(told.weight).toBeCloseTo(dry / (right + dry), 10);
		const none = { weight: 0, points: 0 };
		expect(dryBasis(book, [])).toEqual(none);
		expect(dryBasis(book, [offset(4), offset(1.1)])).toEqual(none);
		expect(dryBasis(book, [offset(1.3)])).toEqual(none);
	});

	it.each<[number[], string | null]>([
		[[], null],
		[[1.9, 1.1], null],
		[[1.9], null],
		[[1.3, -1.3], null],
		[
			[-1.4, -1.6],
			"The tickets' moisture is 1.5 points below the sensors of all combines, more than the usual sensor error. Possible causes: moistures on another basis, tickets for other grain, or sensors set for the wrong crop. Dry weights depend on it. Check the moisture column.",
		],
		[
			[0.3, -2.1],
			'A moisture sensor is 2.1 points off the tickets, more than the usual sensor error. Possible causes: moistures on another basis, tickets for other grain, or sensors set for the wrong crop. Dry weights depend on it. Check the moisture column.',
		],
		[
			[4.9, 5.1],
			"The tickets' moisture is 5.0 points above the sensors of all combines, more than the usual sensor error. Possible cause: the ticket moistures are on a dry basis, which would make 5.0 points; the offsets allow for it. Dry weights depend on it. Check the moisture column.",
		],
		[
			[2.4, 0.2],
			'A moisture sensor is 2.4 points off the tickets, more than the usual sensor error. Possible causes: moistures on another basis, tickets for other grain, or sensors set for the wrong crop. Dry weights depend on it. Check the moisture column.',
		],
	])('offsets of %j', (offsets, says) => {
		expect(
			moistureSlips(
				book,
				offsets.map((o) => offset(o)),
			),
		).toEqual(says === null ? [] : [says]);
	});
});
