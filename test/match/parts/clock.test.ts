import { describe, expect, it } from 'vitest';
import { clockByDay, findClock, offsetCost } from '../../../lib/match/clock/find-clock.ts';
import { clockAt, clockNotes, setClock } from '../../../lib/match/clock/offset.ts';
import type { Problem } from '../../../lib/match/problem/problem.ts';
import { CLOCK, type Dump, type Pins } from '../../../lib/model/index.ts';
import { bookOf, dump, planOf, problemOf, recordsOf, type Work } from '../hand.ts';
import { cart, twoDays, works } from '../two.ts';

const HOUR = 3600;
const DAY = 86_400;
const silent = () => {};

describe('the prior of a clock’s offset', () => {
	it('is a probability: over a day it adds up to 1', () => {
		let sum = 0;
		for (let o = -12 * HOUR + 5; o < 12 * HOUR; o += 10) sum += 10 * Math.exp(-offsetCost(o));
		expect(sum / (CLOCK.drift_s * Math.sqrt(2 * Math.PI))).toBeCloseTo(1, 1);
	});

	it('prefers a right clock, then whole and half hours, then any other; fast and slow alike', () => {
		const costs = [0, 300, HOUR, HOUR + 800].map(offsetCost);
		expect(costs).toEqual(costs.toSorted((a, b) => a - b));
		expect(offsetCost(HOUR)).toBeCloseTo(offsetCost(4.5 * HOUR), 6);
		expect(offsetCost(-1234)).toBeCloseTo(offsetCost(1234), 9);
	});

	it('of another date is that of the time of day, at one price', () => {
		for (const days of [-3, -1, 1, 20]) expect(offsetCost(days * DAY + 200)).toBeCloseTo(5 + offsetCost(200), 9);
	});
});

const records = recordsOf(works(true));
const rows = (off: number, named = true) => cart(records, off, named).map((r) => r.dump);
const field = (dumps: Dump[], r = records) => problemOf(r, bookOf(dumps));

describe('the clock’s offset by the weights', () => {
	const [right, slow] = [0, 500].map((off) => findClock(field(rows(off)), silent));

	it('is found, and known to some seconds', () => {
		for (const [fit, off] of [
			[right!, 0],
			[slow!, 500],
		] as const) {
			expect(Math.abs(fit.offset_s - off)).toBeLessThan(2 * fit.u_s);
			expect(fit.u_s).toBeLessThan(20);
			expect(fit.others).toEqual([]);
		}
	});

	it('moves with the cart’s clock', () => {
		expect(slow!.offset_s - right!.offset_s).toBeCloseTo(500, -1);
	});

	it('is tried over half a day to either side; the plot’s lowest point is it', () => {
		const { tried } = slow!;
		expect(tried.map((t) => t.offset_s)).toEqual(Array.from({ length: 961 }, (_, i) => 90 * (i - 480)));
		const best = tried.reduce((a, b) => (b.cost < a.cost ? b : a));
		expect(Math.abs(best.offset_s - 500)).toBeLessThan(90);
	});

	it('is found where the date is wrong, and then only', () => {
		expect(findClock(field(rows(DAY)), silent).offset_s).toBeCloseTo(DAY + right!.offset_s, -1);
		expect(Math.abs(findClock(field(rows(-DAY + 300)), silent).offset_s + DAY - 300)).toBeLessThan(10);
	});

	it('remains open between fills that fit alike', () => {
		const steady: Work = {
			name: 'A',
			from_s: 0,
			to_s: 7200,
			flow: () => 8,
			auger: (t) => t % 900 > 820 || t % 900 === 0,
		};
		const fit = findClock(field([dump('D1', 0, 3450, 7200)], recordsOf([steady])), silent);
		// The fills end at 2,700, 3,600 and 4,500 s.
		expect([fit.offset_s, ...fit.others].map((o) => Math.round(o / 150))).toEqual(expect.arrayContaining([1, -5]));
	});
});

describe('a clock that was set anew between two days', () => {
	const days = twoDays();
	/** The same day twice, the second by a clock that is so much slow. */
	const problem = (slow_s: number) =>
		field(
			[
				...rows(0),
				...rows(slow_s).map((d) => ({ ...d, id: `${d.id}b`, order: d.order + 100, time_s: d.time_s + DAY })),
			],
			days,
		);

	it('has an offset for each day', () => {
		const found = clockByDay(problem(HOUR), 0);
		expect(found.map((d) => d.observations.length)).toEqual([19, 19]);
		expect(found.map((d) => Math.round(d.offset_s / 60))).toEqual([0, 60]);
	});

	it('has one where it was not', () => {
		const [one, ...more] = clockByDay(problem(0), 0);
		expect(more).toEqual([]);
		expect(one).toEqual({ observations: Array.from({ length: 38 }, (_, i) => i), offset_s: 0 });
	});

	it('is put in order: each day’s times by the clock of the day with most dumps, and it is said', () => {
		const p = problem(HOUR);
		const before = p.observations.map((o) => o.time_s);
		const cautions: string[] = [];
		const { main, others } = setClock(p, planOf(['A', 'B']), cautions, silent, (_, make) => make());
		expect(main.clock.byDay.map((d) => d.day)).toEqual(['2026-10-01', '2026-10-02']);
		const [one, two] = main.clock.byDay.map((d) => d.offset_s);
		p.observations.forEach((o, i) => {
			expect(o.time_s - before[i]!).toBeCloseTo(i < 19 ? 0 : two! - one!, 6);
		});
		expect(others).toEqual([]);
		expect(cautions).toEqual(['The cart clock was reset between two days; each day has its own offset.']);
	});
});

describe('the clock in use', () => {
	const set = (p: Problem, pins: Pins = {}) => {
		const cautions: string[] = [];
		return { ...setClock(p, planOf(['A', 'B'], { pins }), cautions, silent, (_, make) => make()), cautions };
	};

	it('is none without times', () => {
		const untimed = rows(0).map((d) => ({ ...d, time_s: Number.NaN, timeGrain: 'none' as const }));
		const { main, others } = set(field(untimed));
		expect(main).toMatchObject({ at_s: 0, tried: [], clock: { source: 'none', offset_s: Number.NaN } });
		expect(others).toEqual([]);
	});

	it('is the one that the user set; a minute and three sigmas away from the logs’ it is said', () => {
		const near = set(field(rows(500)), { clock_offset_s: 550 });
		expect(near.main.clock).toEqual({ offset_s: 550, u_s: 0, source: 'pinned', byDay: [] });
		expect(near.cautions).toEqual([]);
		const far = set(field(rows(500)), { clock_offset_s: -100 });
		expect(far.main.at_s).toBe(-100);
		expect(far.cautions).toHaveLength(1);
		expect(far.cautions[0]).toMatch(/set by hand to −1 min 40 s; the logs fit best at 8 min \d+ s, give or take/);
	});

	it('is as unsure as the search, and as the usual delay in taking a weight, twice; more so to the minute', () => {
		const p = field(rows(500));
		const { u_s } = findClock(p, silent);
		expect(set(p).main.clock.u_s).toBeCloseTo(Math.hypot(u_s, 12), 9);
		const minutes = field(
			rows(500).map((d) => ({ ...d, time_s: 60 * Math.floor(d.time_s / 60), timeGrain: 'minute' as const })),
		);
		const fit = findClock(minutes, silent);
		expect(set(minutes).main.clock.u_s).toBeCloseTo(Math.hypot(fit.u_s, 30), 9);
		// Times to the minute are cut off, not rounded.
		expect(Math.abs(fit.offset_s - 500)).toBeLessThan(30);
	});

	it('at another offset is as unsure as the search’s grid', () => {
		const { main } = set(field(rows(500)));
		const other = clockAt(main, 1400);
		expect(other).toEqual({ ...main, at_s: 1400, clock: { ...main.clock, offset_s: 1400, u_s: 30 } });
	});
});

describe('what is said of the clock', () => {
	const notes = (offset_s: number, u_s = 10) => clockNotes({ offset_s, u_s, source: 'estimated', byDay: [] });

	it('is how far it is off, above five minutes, and which way', () => {
		expect(notes(300)).toEqual([]);
		expect(notes(301)).toHaveLength(1);
		expect(notes(420)).toEqual(['The cart’s clock is 7 min behind the logs. Set it before the next field.']);
		expect(notes(-3600)).toEqual(['The cart’s clock is 1 h ahead of the logs. Set it before the next field.']);
	});

	it('is how well it is known, where that is more than a minute', () => {
		expect(notes(0, 60)).toEqual([]);
		expect(notes(0, 90)).toEqual([
			'The cart clock offset is known only to about ±3 min; a steady day reveals little about it.',
		]);
	});

	it('is that no dump has a time', () => {
		const none = { offset_s: Number.NaN, u_s: Number.NaN, source: 'none' as const, byDay: [] };
		expect(clockNotes(none)).toHaveLength(1);
		expect(clockNotes(none)[0]).toMatch(/No dump has a time/);
	});
});
