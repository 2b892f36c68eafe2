import { describe, expect, it } from 'vitest';
import { bestAtOffset } from '../../../lib/match/best-at-offset.ts';
import { runAfter, runsOf } from '../../../lib/match/problem/auger-runs.ts';
import { augerClock, learn } from '../../../lib/match/problem/learn-priors.ts';
import { flowing } from '../../../lib/match/problem/mass.ts';
import { signals } from '../../../lib/match/problem/signals.ts';
import { plainAccount } from '../../plain.ts';
import { assigned, bookOf, dump, NOON, problemOf, recordsOf, through, type Work } from '../hand.ts';
import { cart, TIMES_A, works } from '../two.ts';

describe('runs of the auger', () => {
	const records = (runs: [number, number][] | null) =>
		recordsOf([
			{
				name: 'A',
				from_s: 0,
				to_s: 1000,
				flow: (t) => (t <= 500 ? 4 : 8),
				...(runs && { auger: (t: number) => runs.some(([a, b]) => t > a && t <= b) }),
			},
		]);
	const runs = (list: [number, number][] | null) => {
		const r = records(list);
		const f = flowing(r, plainAccount(r), 0);
		return runsOf(f, signals(r, f));
	};

	it('have the mass that was cut by their end, and the flow around it', () => {
		const found = runs([
			[100, 180],
			[600, 700],
		])!;
		expect(found.list).toEqual([
			{ start_s: NOON + 100, end_s: NOON + 180, endMass_kg: 720, flow_kg_s: 4 },
			{ start_s: NOON + 600, end_s: NOON + 700, endMass_kg: 500 * 4 + 200 * 8, flow_kg_s: 8 },
		]);
	});

	it('are found by the first that ends after a time, from one of them on', () => {
		const found = runs([
			[100, 180],
			[300, 380],
			[600, 700],
		])!;
		const first = (t: number, from = 0) => runAfter(found, NOON + t, from);
		expect([first(0), first(179), first(180), first(379.5), first(700)]).toEqual([0, 0, 1, 1, 3]);
		expect(first(0, 2)).toBe(2);
	});

	it('are none without a signal', () => {
		expect(runs(null)).toBeNull();
	});
});

/** Two combines and their cart: three things happen that are not usual. */
const [a, b] = works(true) as [Work, Work];
const missed = TIMES_A[4]!;
const idle = 5000;
const records = recordsOf([
	{ ...a, auger: (t) => (a.auger!(t) && !(t > missed - 80 && t <= missed)) || (t > idle - 60 && t <= idle) },
	b,
]);
const rest = (i: number) => (i === 7 ? 2000 : 0);

describe('what one round of a match teaches the next', () => {
	const rows = cart(records, 0, true, rest).map((r) => r.dump);
	const problem = problemOf(records, bookOf(rows));
	const all = bestAtOffset(problem, records, 0, 10);
	const priors = learn(problem, all);

	it('counts tanks emptied, with as much as three usual dumps know', () => {
		expect(priors.emptied).toBeCloseTo((18 + 1.6) / (19 + 3), 9);
	});

	it('counts dumps at a stop', () => {
		const stood = rows.filter((d) => {
			const t = d.time_s - NOON;
			// The share of the minute before its end, in which the two stand alike.
			let s = 0;
			for (let x = t - 70; x < t - 10; x++) if ((x + 1) % 1700 > 1500) s++;
			return s > 30;
		}).length;
		expect(stood).toBeGreaterThan(0);
		expect(priors.standing).toBeCloseTo((stood + 1) / (19 + 3), 9);
	});

	it('counts signals of the auger that were missing, and those that unloaded nothing', () => {
		// The last dump of each combine is at its log's end, after which there is no signal to miss.
		expect(priors.augerMissed).toBeCloseTo(-Math.log((1 + 0.1) / (17 + 10)), 9);
		// 19 dumps, one without a signal, and one signal without a dump.
		expect(priors.augerFalse).toBeCloseTo(-Math.log((1 + 0.1) / (19 + 10)), 9);
	});

	it('keeps factors wider than they were found, within limits, and seams out of them', () => {
		const few = problemOf(records, bookOf(rows.slice(0, 3)));
		few.priors.ratios = [{ a: 0, b: 1, ratio: 0.9, u: 0.1 }];
		const best = bestAtOffset(few, records, 0, 10);
		const learned = learn(few, best);
		const { factor, u_factor } = best;
		expect(learned).toMatchObject({ factor, u_factor: u_factor.map((u) => 2.5 * u), ratios: [] });
		// Where many weights agree, no narrower than 1 %.
		expect(all.u_factor[0]).toBeLessThan(0.01 / 2.5);
		expect(priors.u_factor[0]).toBe(0.01);
	});

	it('prices an unloading without a weight by the share that was weighed', () => {
		// All was: rare, and rarer than its own limit.
		expect(priors.unweighed).toBe(5);
		const half = problemOf(records, bookOf(rows.filter((_, i) => i < 6)));
		const best = bestAtOffset(half, records, 0, 10);
		const learned = learn(half, best);
		const kg = rows.slice(0, 6).reduce((sum, d) => sum + d.weight_kg, 0);
		const cut = half.flows.reduce(
			(sum, f, c) => sum + f.total_kg * learned.factor[c]! * (1 - 2 * learned.u_factor[c]!),
			0,
		);
		expect(learned.unweighed).toBeCloseTo(-Math.log(1 - kg / cut), 9);
	});

	it('knows the monitors’ scatter from fills that began and ended empty; from few, no better than before', () => {
		// Weights are of these very records: the least that is taken.
		expect(priors.fill).toBe(0.008);
		/** Weights high and low in turn by such a share. */
		const by = (share: number) => {
			const off = rows.map((d, i) => ({ ...d, weight_kg: d.weight_kg * (i % 4 < 2 ? 1 + share : 1 - share) }));
			const scattered = problemOf(records, bookOf(off));
			const wide = bestAtOffset(scattered, records, 0, 10);
			return learn(scattered, wide).fill;
		};
		// × 1.4826 as of a normal distribution.
		const share = by(0.02) / (1.4826 * 0.02);
		expect(share).toBeGreaterThan(0.6);
		expect(share).toBeLessThan(1.1);
		expect(by(0.03) / by(0.015)).toBeCloseTo(2, 1);
		const few = problemOf(records, bookOf(rows.slice(0, 5)));
		const best = bestAtOffset(few, records, 0, 10);
		expect(learn(few, best).fill).toBe(few.priors.fill);
	});
});

describe('the clock by the auger', () => {
	const off = [3, 5, 9, 40];
	const times = [800, 1600, 2400, 3200];
	const problem = problemOf(records, bookOf(times.map((t, i) => dump(`D${i}`, i, t, 6000))));
	const chain = (n: number, parts = (i: number) => [{ c: 0, t: times[i]! + off[i]!, run: i }]) =>
		augerClock(
			problem,
			through(
				problem,
				times.slice(0, n).map((_, i) => assigned(i, parts(i))),
			),
		);

	it('is the median from dumps to the ends of their runs, as sure as these agree', () => {
		const found = chain(4)!;
		expect(found.offset_s).toBe(7);
		// Distances from 7: 4, 2, 2, 33; their median, 3, × 1.4826. A median is as good as 1.25 s / √n.
		expect(found.u_s).toBeCloseTo(Math.hypot((1.25 * 3 * 1.4826) / 2, 3), 9);
	});

	it('is of weights at the end of the last unloading', () => {
		const found = chain(3, (i) => [
			{ c: 0, t: times[i]! - 200, run: i },
			{ c: 1, t: times[i]! + off[i]!, run: i },
		])!;
		expect(found.offset_s).toBe(5);
	});

	it('is none from fewer than three, or where a run is missing', () => {
		expect(chain(2)).toBeNull();
		expect(chain(4, (i) => [{ c: 0, t: times[i]!, run: i < 2 ? i : -1 }])).toBeNull();
		expect(
			chain(4, (i) => [
				{ c: 0, t: times[i]!, run: i },
				{ c: 1, t: times[i]!, run: i < 2 ? i : -1 },
			]),
		).toBeNull();
	});
});
