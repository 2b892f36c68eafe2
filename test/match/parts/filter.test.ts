import { describe, expect, it } from 'vitest';
import { advance } from '../../../lib/match/beam/advance.ts';
import { align } from '../../../lib/match/beam/align.ts';
import { finish } from '../../../lib/match/beam/finish.ts';
import {
	type Assignment,
	assignmentsOf,
	costsOf,
	type Hypothesis,
	type Insert,
	type Part,
} from '../../../lib/match/beam/hypothesis.ts';
import { COSTS } from '../../../lib/match/problem/costs.ts';
import { MONITOR } from '../../../lib/model/index.ts';
import { normalCdf } from '../../../lib/stats/index.ts';
import { Dense } from '../../tank/dense.ts';
import { bookOf, dump, hypothesisOf, NOON, problemOf, recordsOf } from '../hand.ts';
import { cart, works } from '../two.ts';

const FLOW = [8, 9];
const RUNS = [
	[800, 1600, 2400, 3600],
	[900, 2400, 3700],
];
/** Two combines that cut steadily for 4000 s; their augers run for 80 s until these seconds. */
const records = recordsOf(
	FLOW.map((flow, c) => ({
		name: 'AB'[c]!,
		from_s: 0,
		to_s: 4000,
		flow: () => flow,
		auger: (t: number) => RUNS[c]!.some((end) => t > end - 80 && t <= end),
	})),
);
const KG = [6500, 8000, 11_900];
const problem = problemOf(
	records,
	bookOf(KG.map((kg, i) => dump(`D${i}`, i, [800, 900, 2400][i]!, kg, i === 2 ? { combines: ['A', 'B'] } : {}))),
);
problem.wholeLoads = false;
Object.assign(problem.priors, { unweighed: 5, unweighedSeen: 4 });
const SLACK = 900;

/** Combine c's tank at one of its runs of the auger. */
const part = (c: number, run: number, rests = false): Part => {
	const t = RUNS[c]![run]!;
	const place = {
		end_s: NOON + t,
		mass_kg: FLOW[c]! * t,
		slack: SLACK,
		run,
		nextRun: run + 1,
		cost: 0,
		skippedTo: run,
	};
	return { combine: c, place, rests };
};
const take = (
	h: Hypothesis,
	observation: number,
	parts: Part[],
	more: Partial<Assignment> = {},
	inserts: Insert[] = [],
): Hypothesis => {
	const kind = parts.length > 1 ? 'mixed' : 'normal';
	return advance(problem, {
		cost: h.cost + 1,
		parent: h,
		assignment: { observation, kind, parts, inserts, of: -1, ...more },
	});
};
const start = (p = problem) =>
	hypothesisOf(
		p,
		[0, 1].map(() => ({ u: 0.12, u_kg: 40 })),
	);
const levels = (h: Hypothesis) => [2, 3].map((l) => [h.belief.x[l]!, h.belief.P[5 * l]!]);

describe('a hypothesis with one more dump', () => {
	it('knows factors as dense least squares over all weights does', () => {
		const dense = new Dense();
		const of = (name: string) => dense.rows.get(name)!;
		for (const c of [0, 1]) {
			dense.put(`k${c}`, 1, [[dense.noise(0.12 ** 2), 1]]);
			dense.put(`l${c}`, 0, [[dense.noise(40 ** 2), 1]]);
		}
		/** Grain flows in, with the monitor's error: proportional over a fill, averaging out over several. */
		const flow = (c: number, dM: number, k: number) => {
			const v = (MONITOR.fill * k) ** 2 * dM * Math.min(dM, problem.fill_kg);
			const [l, f] = [of(`l${c}`), of(`k${c}`)];
			dense.put(`l${c}`, l.mean + dM * f.mean, [
				[l.of, 1],
				[f.of, dM],
				[dense.noise(v), 1],
			]);
		};
		const weigh = (i: number, cs: number[]) =>
			dense.observe(
				cs.map((c) => [`l${c}`, 1]),
				KG[i]!,
				problem.observations[i]!.u2 + cs.length * SLACK,
			);
		/** What clings after the dump was observed with it, so it is of the weight's error and begins the next fill anew. */
		const first = take(start(), 0, [part(0, 0)]);
		flow(0, 8 * 800, 1);
		weigh(0, [0]);
		const second = take(first, 1, [part(1, 0)]);
		flow(1, 9 * 900, 1);
		weigh(1, [1]);
		for (const [h, c] of [
			[first, 0],
			[second, 1],
		] as const) {
			const { mean, variance } = dense.given(of(`k${c}`));
			expect(h.belief.x[c]).toBeCloseTo(mean, 9);
			expect(h.belief.P[c * 5]! / variance).toBeCloseTo(1, 9);
		}
	});

	it('shares one weight of both tanks as dense least squares does', () => {
		const h = take(start(), 2, [part(0, 2), part(1, 1)]);
		const dense = new Dense();
		const kg = FLOW.map((flow) => flow * 2400);
		FLOW.forEach((_, c) => {
			dense.put(`k${c}`, 1, [[dense.noise(0.12 ** 2), 1]]);
		});
		const noise = kg.map((dM) => MONITOR.fill ** 2 * dM * problem.fill_kg);
		dense.observe(
			kg.map((dM, c) => [`k${c}`, dM]),
			KG[2]!,
			problem.observations[2]!.u2 + 2 * SLACK + 2 * 40 ** 2 + noise[0]! + noise[1]!,
		);
		FLOW.forEach((_, c) => {
			const { mean, variance } = dense.given(dense.rows.get(`k${c}`)!);
			expect(h.belief.x[c]).toBeCloseTo(mean, 9);
			expect(h.belief.P[c * 5]! / variance).toBeCloseTo(1, 9);
		});
	});

	it('has the tank where the dump left it', () => {
		const h = take(start(), 0, [part(0, 0)]);
		expect(h).toMatchObject({ mass_kg: [6400, 0], nextRun: [1, 0], last_s: NOON + 800 });
		expect(h.time_s[0]).toBe(NOON + 800);
		expect(h.parent!.mass_kg).toEqual([0, 0]);
		// Empty within the slack, as far as the weight did not tell already.
		expect(Math.abs(levels(h)[0]![0]!)).toBeLessThan(3 * Math.sqrt(SLACK));
		expect(levels(h)[0]![1]!).toBeLessThan(SLACK);
	});

	it('has in the tanks what a weight of both left: in one, or shared by tanks alike', () => {
		const sure = hypothesisOf(problem);
		const left = 8 * 800 + 9 * 900 - KG[2]!;
		const both = levels(take(sure, 2, [part(0, 0, true), part(1, 0, true)]));
		// Small rests are the more common, so not quite half each.
		for (const [kg] of both) expect(Math.abs(kg! / left - 0.5)).toBeLessThan(0.15);
		expect((both[0]![0]! + both[1]![0]!) / left).toBeCloseTo(1, 2);
		const one = levels(take(sure, 2, [part(0, 0, true), part(1, 0)]));
		expect(one[0]![0]! / left).toBeCloseTo(1, 2);
		expect(one[1]![0]).toBeCloseTo(0, -1);
	});

	it('learns nothing from a second entry or another field’s row', () => {
		for (const kind of ['repeat', 'foreign'] as const) {
			const before = start();
			const h = take(before, 0, kind === 'repeat' ? [part(0, 0)] : [], { kind });
			expect(h.belief).toBe(before.belief);
			expect(h).toMatchObject({ cost: 1, mass_kg: [0, 0], nextRun: [0, 0] });
		}
	});

	it('learns nothing of the factor from an outlier, and what its truckload tells from one that has it', () => {
		const odd = take(start(), 0, [part(0, 0)], { kind: 'outlier', right: null });
		expect(odd.belief.x[0]).toBe(1);
		expect(odd.belief.P[0]).toBeCloseTo(0.12 ** 2, 12);
		expect(levels(odd)[0]).toEqual([0, SLACK]);
		const right = take(start(), 0, [part(0, 0)], { kind: 'outlier', right: { kg: 7040, u2: 100 } });
		expect(right.belief.x[0]).toBeCloseTo(1.1, 2);
	});

	it('counts what came in since an unloading that was not weighed, by its run; nothing where its time is not known', () => {
		const since = take(start(), 0, [part(0, 1)], {}, [{ run: 0, rests: false }]);
		// 6,500 kg of 8 × (1,600 − 800).
		expect(since.belief.x[0]).toBeCloseTo(6500 / 6400, 2);
		const unknown = take(start(), 0, [part(0, 1)], {}, [{ run: -1, rests: false }]);
		expect(unknown.belief.x[0]).toBe(1);
		expect(levels(unknown)[0]).toEqual([0, SLACK]);
		// Where grain was left, a quarter of the tank is in the weight as well.
		const some = take(start(), 0, [part(0, 1)], {}, [{ run: 0, rests: true }]);
		expect(some.belief.x[0]).toBeLessThan(since.belief.x[0]!);
		expect(some.belief.P[0]).toBeGreaterThan(since.belief.P[0]!);
	});
});

describe('a hypothesis after the last dump', () => {
	/** A ends its work with this much in the tank, B is empty; no signal but what a test asks for. */
	function finished(left_kg: number, { whole = false, nextRun = 4, u_kg = 0 } = {}) {
		const hypothesis = hypothesisOf(problem, [{ u_kg }], {
			mass_kg: [8 * 4000 - left_kg, 9 * 4000],
			nextRun: [nextRun, 3],
		});
		const priors = { ...problem.priors, fill: 0 };
		return finish({ ...problem, priors, tank_kg: [9000, 9000] }, hypothesis, whole);
	}
	const EMPTY = -Math.log(normalCdf(1));

	it('has empty tanks at little cost, or grain in one at the price of that', () => {
		expect(finished(0).cost).toBeCloseTo(2 * EMPTY, 2);
		expect(finished(0).endings.map((e) => e.level_kg)).toEqual([0, 0]);
		const most = 0.3 * problem.fill_kg;
		expect(finished(most - 10).cost).toBeCloseTo(EMPTY, 2);
		expect(finished(most + 10).cost).toBeCloseTo(EMPTY + 2, 2);
		expect(finished(most + 10).endings[0]).toEqual({ combine: 0, level_kg: most + 10, inserts: [] });
	});

	it('had an unloading that nobody weighed where a tank would hold more than it can', () => {
		const h = finished(16_000);
		expect(h.cost).toBeCloseTo(EMPTY + problem.priors.unweighed, 2);
		expect(h.endings[0]!.inserts).toEqual([{ run: -1, rests: false }]);
	});

	it('has it at a run of the auger where there is one, and what came in since is in the tank', () => {
		// The last run ends 400 s before the log does, at 8 kg/s; 8 × 1,200 kg are in the tank by then. How much
		// there was before does not matter any more.
		const h = finished(8 * 1600, { whole: true, nextRun: 3, u_kg: 2000 });
		expect(h.endings[0]).toEqual({ combine: 0, level_kg: 8 * 400, inserts: [{ run: 3, rests: false }] });
		expect(h.cost).toBeCloseTo(EMPTY + problem.priors.unweighedSeen + 2, 2);
	});

	it('pays for a run of the auger that unloaded nothing', () => {
		const [some, none] = [3, 4].map((nextRun) => finished(8 * 400, { whole: true, nextRun }));
		expect(some!.cost - none!.cost).toBeCloseTo(COSTS.augerFalse, 9);
		expect(some!.endings[0]!.inserts).toEqual([]);
	});
});

describe('the search', () => {
	const field = recordsOf(works(true));
	const rows = (off = 0) => bookOf(cart(field, off, true).map((r) => r.dump));
	const search = (off = 0, effort = {}) =>
		align(problemOf(field, rows(off)), off, { width: 24, whole: true, clock_s: 10, ...effort });

	it('assigns each dump to its own tank, cheapest first', () => {
		const all = search();
		const names = cart(field, 0, true).map((r) => 'AB'.indexOf(r.c));
		expect(assignmentsOf(all[0]!).map((a) => a.parts.map((p) => p.combine))).toEqual(names.map((c) => [c]));
		expect(all.map((h) => h.cost)).toEqual(all.map((h) => h.cost).sort((a, b) => a - b));
	});

	it('costs the same where cart clock and offset move together', () => {
		expect(search(137)[0]!.cost).toBeCloseTo(search()[0]!.cost, 6);
	});

	it('finds nothing worse with more hypotheses', () => {
		const costs = [1, 4, 24, 96].map((width) => search(0, { width })[0]!.cost);
		costs.slice(1).forEach((cost, i) => {
			expect(cost).toBeLessThanOrEqual(costs[i]! + 1e-9);
		});
	});

	it('stops at the dump up to which the best costs more than the limit', () => {
		const course = costsOf(search(0, { limit: () => Infinity })[0], 19);
		const [stopped] = search(0, { limit: (i: number) => (i < 7 ? Infinity : course[7]! - 1) });
		expect(stopped!.assignment!.observation).toBe(7);
	});
});
