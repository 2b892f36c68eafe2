import { describe, expect, it } from 'vitest';
import { mixedPlace, placesFor } from '../../../lib/match/beam/places.ts';
import { COSTS } from '../../../lib/match/problem/costs.ts';
import { evidence } from '../../../lib/match/problem/problem.ts';
import { bookOf, density, dump, hypothesisOf, NOON, problemOf, recordsOf, stepOf } from '../hand.ts';

/** One combine at 8 kg/s whose auger runs for 80 s until each of these seconds. */
const ENDS = [800, 1600, 2400];
const works = (auger: boolean, from_s = 0) => [
	{
		name: 'A',
		from_s,
		to_s: from_s + 4000,
		flow: () => 8,
		...(auger && { auger: (t: number) => ENDS.some((end) => t > from_s + end - 80 && t <= from_s + end) }),
	},
];
const untimed = (id: string, order: number, kg: number) => ({
	...dump(id, order, Number.NaN, kg),
	timeGrain: 'none' as const,
});

describe('places of a dump with a time', () => {
	const problem = problemOf(recordsOf(works(true)), bookOf([dump('D', 0, 1615, 6400)]));
	const step = stepOf(problem, 0, hypothesisOf(problem), { clock_s: 10 });
	// Delay in taking a weight 20 s (CLOCK), clock 10 s.
	const v = 20 ** 2 + 10 ** 2;
	const other = evidence(problem, 0, step.observation, NOON + 1615);

	it('are the clock’s time, where the auger’s signal is then missing, and runs within four sigmas and half a minute', () => {
		const [clock, run, ...more] = placesFor(step, 0);
		expect(more).toEqual([]);
		expect(clock).toMatchObject({ end_s: NOON + 1615, mass_kg: 8 * 1615, run: -1, nextRun: 2, skippedTo: 2 });
		expect(clock!.cost - other).toBeCloseTo(COSTS.augerMissed, 9);
		// 40 kg cling, and grain comes in at 8 kg/s for as long as the time is uncertain.
		expect(clock!.slack).toBeCloseTo(40 ** 2 + 8 ** 2 * v, 6);
		expect(run).toMatchObject({ end_s: NOON + 1600, mass_kg: 8 * 1600, run: 1, nextRun: 2, skippedTo: 1 });
		// Relative to a dump at any time in a quarter of an hour; three times in a hundred the weight is not of this run.
		expect(run!.cost - other).toBeCloseTo(-Math.log(900 * 0.97 * density(15, v) + 0.03), 9);
		expect(run!.slack).toBeCloseTo(40 ** 2 + (8 * 4) ** 2, 6);
	});

	it.each([
		[119, 2],
		[120, 1],
	])('reach %d s back: %d', (late, places) => {
		const one = problemOf(recordsOf(works(true)), bookOf([dump('D', 0, 1600 + late, 6400)]));
		expect(placesFor(stepOf(one, 0, hypothesisOf(one), { clock_s: 10 }), 0)).toHaveLength(places);
	});

	it('in the quick search are the clock’s alone, and a missing signal costs nothing', () => {
		const list = placesFor({ ...step, effort: { ...step.effort, whole: false } }, 0);
		expect(list).toHaveLength(1);
		expect(list[0]!.cost).toBeCloseTo(other, 9);
	});

	it('come after the unloading before', () => {
		const after = hypothesisOf(problem, [], { nextRun: [2], time_s: [NOON + 1610], last_s: NOON + 1610 });
		expect(placesFor({ ...step, hypothesis: after }, 0)).toEqual([]);
		// Of another combine too, since there is one cart.
		const elsewhere = hypothesisOf(problem, [], { last_s: NOON + 1600 + 46 });
		expect(placesFor({ ...step, hypothesis: elsewhere }, 0).map((p) => p.run)).toEqual([-1]);
	});

	it('move with all clocks', () => {
		const day = 86_400;
		const later = problemOf(recordsOf(works(true, day)), bookOf([dump('D', 0, day + 1615, 6400)]));
		const moved = placesFor(stepOf(later, 0, hypothesisOf(later), { clock_s: 10 }), 0);
		const places = placesFor(step, 0);
		expect(moved.map((p) => p.end_s - day)).toEqual(places.map((p) => p.end_s));
		moved.forEach((p, n) => {
			expect(p.cost).toBeCloseTo(places[n]!.cost, 6);
			expect(p.mass_kg).toBeCloseTo(places[n]!.mass_kg, 6);
		});
	});
});

describe('places of a dump without a time', () => {
	it('are the moment at which the tank held its weight', () => {
		const problem = problemOf(recordsOf(works(false)), bookOf([untimed('D', 0, 4400)]));
		// 400 kg are in the tank, and the factor is 1.25: (4,400 − 400) / (1.25 × 8) = 400 s after the last unloading.
		const before = hypothesisOf(problem, [{ factor: 1.25, level_kg: 400 }], {
			mass_kg: [8 * 1000],
			time_s: [NOON + 1000],
			last_s: NOON + 1000,
		});
		const [place, ...more] = placesFor(stepOf(problem, 0, before), 0);
		expect(more).toEqual([]);
		expect(place!.end_s).toBeCloseTo(NOON + 1400, 6);
		expect(place!.mass_kg).toBeCloseTo(8 * 1400, 6);
		expect(place!.slack).toBeCloseTo(40 ** 2 + 440 ** 2, 6);
	});

	it('lie between its neighbors in the cart log, a minute allowed for', () => {
		const book = bookOf([dump('D1', 0, 300, 2400), untimed('D2', 1, 6400), dump('D3', 2, 500, 800)]);
		const problem = problemOf(recordsOf(works(false)), book);
		const [place] = placesFor(stepOf(problem, 1), 0);
		expect(place!.end_s).toBe(NOON + 500 + 60);
		const [late] = placesFor(stepOf(problem, 1, hypothesisOf(problem, [{ level_kg: 6400 }])), 0);
		expect(late!.end_s).toBe(NOON + 300);
	});

	it('are also the next runs of the auger', () => {
		const problem = problemOf(recordsOf(works(true)), bookOf([untimed('D', 0, 6400)]));
		const after = hypothesisOf(problem, [], {
			nextRun: [1],
			mass_kg: [6400],
			time_s: [NOON + 800],
			last_s: NOON + 800,
		});
		expect(placesFor(stepOf(problem, 0, after), 0).map((p) => [p.end_s - NOON, p.run])).toEqual([
			[1600, 1],
			[2400, 2],
			[1600, -1],
		]);
	});
});

describe('the place of a tank in a mixed weight', () => {
	const book = bookOf([dump('D', 0, 1700, 12_000, { combines: ['A'] })]);

	it('is its last run of the auger before the weight; earlier ones are part of it', () => {
		const problem = problemOf(recordsOf(works(true)), book);
		const place = mixedPlace(stepOf(problem), 0, 2)!;
		expect(place).toMatchObject({ end_s: NOON + 1600, mass_kg: 8 * 1600, run: 1, nextRun: 2 });
		expect(place.cost).toBeCloseTo(0.3, 9);
		// Runs before the weight before are of none.
		const after = hypothesisOf(problem, [], { last_s: NOON + 1000 });
		expect(mixedPlace(stepOf(problem, 0, after), 0, 2)!.cost).toBeCloseTo(COSTS.augerFalse, 9);
	});

	it.each([
		['a minute before the weight', 8000, 60, 90],
		['some minutes before the weight of a whole cart load', 12_000, 150, 200],
	])('is %s without a signal, and there is none before the unloading before', (_, kg, before_s, spread_s) => {
		const problem = problemOf(recordsOf(works(false)), bookOf([dump('D', 0, 1700, kg, { combines: ['A'] })]));
		const end = 1700 - before_s;
		const place = mixedPlace(stepOf(problem), 0, 2)!;
		expect(place).toMatchObject({ end_s: NOON + end, mass_kg: 8 * end, run: -1 });
		expect(place.slack).toBeCloseTo(40 ** 2 + 8 ** 2 * (spread_s ** 2 + 20 ** 2), 3);
		const after = hypothesisOf(problem, [], { time_s: [NOON + end + 10] });
		expect(mixedPlace(stepOf(problem, 0, after), 0, 2)).toBeNull();
	});

	it('is where it had cut its equal share, without a time', () => {
		const problem = problemOf(recordsOf(works(false)), bookOf([untimed('D', 0, 12_000)]));
		// 12,000 / 3 tanks / (1.25 × 8 kg/s).
		expect(mixedPlace(stepOf(problem, 0, hypothesisOf(problem, [{ factor: 1.25 }])), 0, 3)!.end_s).toBeCloseTo(
			NOON + 400,
			6,
		);
	});
});
