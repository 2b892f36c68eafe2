import { describe, expect, it } from 'vitest';
import { basisAt } from '../../../lib/factor/form/shape.ts';
import type { FactorInput } from '../../../lib/factor/input.ts';
import { fillShare, sharesOf, spreadOf } from '../../../lib/factor/report/interval.ts';
import { levelOf } from '../../../lib/factor/report/per-record.ts';
import { factorOf } from '../../../lib/factor/report/writeup.ts';
import { solveWeights } from '../../../lib/factor/solve-weights.ts';
import { CART, MASS_FAULT, MONITOR, silent } from '../../../lib/model/index.ts';
import { repeatsNeeded } from '../../../lib/stats/index.ts';
import { meanVariance } from '../../../lib/tank/index.ts';
import { type Made, make } from '../make.ts';

/** The factor of the first combine of a made field, with what it was written from. */
function written(made: Made, more: Partial<FactorInput> = {}) {
	const input: FactorInput = { ...made, seams: [], jumps: [], ...more };
	const solved = solveWeights(input, silent, new Map())[0]!;
	const to = { factor: new Float64Array(made.records.n), u_rel: new Float64Array(made.records.n) };
	const level = levelOf(input, solved, 0, to);
	return { factor: factorOf(input, solved, 0, level), solved, level, of: to.factor, u_rel: to.u_rel, made };
}

/** Made anew for each test: mutation testing counts what a test itself runs. */
const constant = () => written(make({ seed: 1, factor: () => 0.95 }));
const middle = ([low, high]: readonly [number, number]) => (low + high) / 2;
const width = ([low, high]: readonly [number, number]) => high - low;

describe('a factor as it is written', () => {
	it('one level, the middle of its intervals', () => {
		const { factor, level, solved } = constant();
		expect(factor).toMatchObject({ combine: 0, form: 'constant', source: 'dumps', n: 12, value: level.value });
		expect([factor.changes, factor.knots, factor.curve]).toEqual([[], [], []]);
		expect(middle(factor.interval)).toBeCloseTo(factor.value, 12);
		expect(middle(factor.next_interval)).toBeCloseTo(level.shift + solved.tape.x[solved.at.factor[0]!]!, 12);
		expect(factor.tried).toBe(solved.interpretation.choices[0]!.tried);
	});

	it('is no better known than the grain that came through unrecorded', () => {
		const [plain, made] = [make({ seed: 1, factor: () => 0.95 }), make({ seed: 1, factor: () => 0.95 })];
		// A tenth of the grain of all records that are marked: a tenth of all.
		made.account = { ...made.account, fault: made.account.fault.slice().fill(MASS_FAULT.unrecorded) };
		made.account.monitor_kg = made.account.account_kg.map((kg) => 0.9 * kg);
		const [before, after] = [written(plain), written(made)];
		const u = 0.1 * MONITOR.unrecorded;
		expect(after.factor.value).toBeCloseTo(before.factor.value, 4);
		expect(after.factor.u_rel).toBeCloseTo(Math.hypot(before.factor.u_rel, u), 4);
		expect(width(after.factor.next_interval)).toBeGreaterThan(width(before.factor.next_interval));
		expect(after.u_rel[0]).toBeCloseTo(Math.hypot(before.u_rel[0]!, u), 4);
		expect(after.factor.budget.find((l) => l.name === 'grain not recorded')?.u_rel).toBeCloseTo(u, 9);
		expect(before.factor.budget.some((l) => l.name === 'grain not recorded')).toBe(false);
	});

	it('is within ±1 % or wants as many dumps as their scatter makes it', () => {
		const { factor } = constant();
		expect(width(factor.interval) / 2 / factor.value).toBeLessThan(0.01);
		expect(factor.moreDumps).toBe(0);
		const few = make({ seed: 31, combines: ['A'], fills: 12 });
		few.match.weighings = few.match.weighings.slice(4, 7);
		const found = written(few);
		// Of one dump: two readings of 12 kg, the cart's own error and the monitor's over eight minutes.
		const w = few.match.weighings[0]!;
		const slow = found.solved.scatter.sigma ** 2 * meanVariance(476, MONITOR.slow_s);
		const s = Math.sqrt((2 * 12 ** 2 + CART.rounding_kg ** 2) / w.reference_kg ** 2 + CART.stand_rel ** 2 + slow);
		// What all dumps share: the ratio's t(0.975; 3) = 3.182 times 0.1 %.
		expect(found.factor.moreDumps).toBe(Math.max(1, repeatsNeeded(s, 0.01, 3.182 * 0.001) - 3));
	});

	it('counts the dumps of its own combine alone, against what all share', () => {
		const made = make({ seed: 31, fills: 12 });
		const ofB = made.match.weighings.filter((w) => made.match.unloadings[w.unloadings[0]!]!.combine === 1);
		made.match.weighings = [...made.match.weighings.slice(4, 7), ...ofB];
		const alone = make({ seed: 31, combines: ['A'], fills: 12 });
		alone.match.weighings = alone.match.weighings.slice(4, 7);
		const [both, one] = [written(made).factor, written(alone).factor];
		expect([both.n, one.n]).toEqual([3, 3]);
		expect(both.moreDumps).toBeGreaterThan(0);
		expect(Math.abs(both.moreDumps - one.moreDumps)).toBeLessThanOrEqual(2);
	});

	it('wants more by how a dump of its own scatters: its two readings, the cart, the monitor over its time', () => {
		const weights = (more: object, change: (made: Made) => void = () => {}) => {
			const made = make({ seed: 31, fills: 12 });
			const ofB = made.match.weighings.filter((w) => made.match.unloadings[w.unloadings[0]!]!.combine === 1);
			made.match.weighings = [...made.match.weighings.slice(4, 7).map((w) => ({ ...w, ...more })), ...ofB];
			change(made);
			const { factor, solved } = written(made);
			const own = made.match.weighings[1]!;
			const slow = solved.scatter.sigma ** 2 * meanVariance(476, MONITOR.slow_s);
			const needs = (reading: number) => {
				const s = Math.sqrt((reading ** 2 + 25) / own.reference_kg ** 2 + 0.001 ** 2 + slow);
				return Math.max(1, repeatsNeeded(s, 0.01, 3.182 * 0.001) - 3);
			};
			return { more: factor.moreDumps, needs };
		};
		const gross = weights({ readings: [1, 2], u_gross_kg: [150, 200] });
		expect(gross.more).toBe(gross.needs(250));
		expect(gross.more).toBeGreaterThan(gross.needs(17));
		const zeroth = weights({ readings: [0, 2], u_gross_kg: [150, 200] });
		expect(zeroth.more).toBe(zeroth.needs(250));
		const single = weights({ u_reading_kg: 250 });
		expect(single.more).toBe(single.needs(250));
		const unread = weights({ u_reading_kg: Number.NaN });
		expect(unread.more).toBe(unread.needs(0));
		// Weights of both combines are of neither alone.
		const mixed = weights({}, ({ match }) => {
			match.weighings.push({
				...match.weighings[3]!,
				kind: 'mixed',
				unloadings: [8, 20],
				reference_kg: 12_000,
				dumps: [8],
			});
		});
		expect(mixed.more).toBe(mixed.needs(17));
	});

	it('counts all weights that it has a part in, but those by a truckload for a dump that is set aside', () => {
		const count = (change: (made: Made) => void) => {
			const made = make({ seed: 31, fills: 12 });
			change(made);
			return written(made).factor.n;
		};
		expect(count(() => {})).toBe(12);
		expect(
			count(({ match }) => {
				match.weighings[3] = { ...match.weighings[3]!, kind: 'mixed', unloadings: [3, 15], reference_kg: 12_000 };
				match.weighings.splice(15, 1);
			}),
		).toBe(12);
		expect(
			count(({ match }) => {
				match.fates = match.unloadings.map((_, i) => ({ dump: i, byTruck: i === 5 })) as never;
			}),
		).toBe(11);
	});

	it('from seams alone: no dump of its own, and the cart’s scale is in it too', () => {
		const seamed = (reference: object) => {
			const made = make({ seed: 31, fills: 12, reference });
			made.match.weighings = made.match.weighings.filter((w) => made.match.unloadings[w.unloadings[0]!]!.combine === 1);
			const jump = { combineA: 0, combineB: 1, log_jump: 0.01, u_log: 0.02, df: 12, blocks: [] } as never;
			return written(made, { jumps: [jump] }).factor;
		};
		const found = seamed({});
		expect(found).toMatchObject({ source: 'seams', n: 0 });
		// A first dump is taken to scatter one and a half times as a monitor does slowly.
		expect(found.moreDumps).toBe(repeatsNeeded(1.5 * MONITOR.slow, 0.01, 3.182 * 0.001));
		const limit = { u_rel: 0.05 / Math.sqrt(3), limit_rel: 0.05, df: Infinity, source: 'limit', n: 0 };
		expect(seamed(limit).moreDumps).toBe(Infinity);
	});

	it('no number of dumps makes up for a cart’s scale, but tickets are not of it', () => {
		const reference = { ratio: 1, u_rel: 0.05 / Math.sqrt(3), limit_rel: 0.05, df: Infinity, source: 'limit' as const };
		const three = (more: object) => {
			const made = make({ seed: 31, combines: ['A'], fills: 12, reference: { ...reference, n: 0 } });
			made.match.weighings = made.match.weighings.slice(4, 7).map((w) => ({ ...w, ...more }));
			return written(made).factor;
		};
		expect(three({}).moreDumps).toBe(Infinity);
		expect(three({ kind: 'ticket', byCart: false }).moreDumps).toBeLessThan(20);
		// Some by the cart are enough for its scale to matter.
		const made = make({ seed: 31, combines: ['A'], fills: 12, reference: { ...reference, n: 0 } });
		made.match.weighings = made.match.weighings
			.slice(4, 7)
			.map((w, i) => ({ ...w, kind: i ? 'ticket' : 'dump', byCart: i === 0 }));
		expect(written(made).factor).toMatchObject({ source: 'dumps', moreDumps: Infinity });
	});

	it('scatters from dump to dump, which the next one does in full', () => {
		const { factor, solved, made, level } = constant();
		const { scatter, scatterDf, at, tape } = solved;
		const share = fillShare(solved, 0);
		expect(factor.scatter_rel).toBeCloseTo(Math.sqrt(scatter.sigma ** 2 * share + scatter.white ** 2), 12);
		const f = new Float64Array(tape.n);
		f[at.factor[0]!] = 1;
		const value = level.shift + tape.x[at.factor[0]!]!;
		const own = value ** 2 * (scatter.sigmaMean ** 2 * share + scatter.whiteMean ** 2);
		const { half } = spreadOf(sharesOf(solved, f, 0), own, scatterDf, made.reference, 101);
		expect(width(factor.next_interval) / 2).toBeCloseTo(half, 12);
		expect(Math.hypot(...factor.budget.map((l) => l.u_rel))).toBeCloseTo(factor.u_rel, 7);
	});

	it('from tickets, a total, or nothing', () => {
		const tickets = make({ seed: 2, combines: ['A'] });
		for (const w of tickets.match.weighings) Object.assign(w, { kind: 'ticket', byCart: false });
		expect(written(tickets).factor.source).toBe('tickets');
		const mixed = make({ seed: 2, combines: ['A'] });
		for (const w of mixed.match.weighings) Object.assign(w, { kind: 'mixed' });
		expect(written(mixed).factor.source).toBe('dumps');
		const total = make({ seed: 2, combines: ['A'] });
		const sum = total.match.weighings.reduce((kg, w) => kg + w.reference_kg, 0);
		Object.assign(total.match.weighings[0]!, { kind: 'total', weight_kg: sum, reference_kg: sum, dumps: [] });
		Object.assign(total.match.weighings[0]!, { byCart: false, unloadings: [] });
		total.match.weighings.length = 1;
		expect(written(total).factor).toMatchObject({ source: 'total', n: 1 });
		const none = make({ seed: 2, combines: ['A'] });
		none.match.weighings = [];
		const { factor } = written(none);
		expect(factor).toMatchObject({ source: null, n: 0, budget: [], moreDumps: Infinity });
		for (const v of [factor.value, factor.u_rel, ...factor.interval, ...factor.next_interval, factor.scatter_rel])
			expect(v).toBeNaN();
		expect([factor.interval, factor.next_interval].map((i) => i.length)).toEqual([2, 2]);
		expect(factor.tried).toEqual([]);
		expect(factor.advice).toHaveLength(1);
	});

	it('a step: from when on, and what it is then', () => {
		const { factor, of, made } = written(
			make({ seed: 6, fills: 18, combines: ['A'], factor: (_, h) => (h < 1.13 ? 1.02 : 0.918) }),
		);
		expect(factor.form).toBe('step');
		const last = made.records.n - 1;
		expect(factor.changes.map((k) => k.value)).toEqual([expect.closeTo(of[0]!, 12), expect.closeTo(of[last]!, 12)]);
		expect(factor.changes[0]!.time_s).toBe(made.records.time_s[0]);
		expect([factor.knots, factor.curve]).toEqual([[], []]);
	});

	it('a drift: from the first record to the last', () => {
		const { factor, of, made, solved } = written(
			make({ seed: 5, fills: 20, combines: ['A'], factor: (_, h) => 1.03 * Math.exp(-0.035 * h) }),
		);
		expect(factor.form).toBe('trend');
		const { middle_s, half_s } = solved.shapes[0]!;
		const last = made.records.n - 1;
		const times = [made.records.time_s[0]!, middle_s - half_s, middle_s + half_s, made.records.time_s[last]!];
		expect(factor.knots.map((k) => k.time_s)).toEqual([...new Set(times)].sort((a, b) => a - b));
		expect(factor.knots[0]!.value).toBeCloseTo(of[0]!, 3);
		expect(factor.knots.at(-1)!.value).toBeCloseTo(of[last]!, 3);
		expect([factor.changes, factor.curve]).toEqual([[], []]);
	});

	it('a curve: nine points over the flows', () => {
		const made = make({ seed: 3, fills: 20, combines: ['A'] });
		made.plan.pins = { factors: { A: { form: 'flow' } } };
		const { factor, solved, level } = written(made);
		expect(factor.form).toBe('flow');
		const [low, high] = solved.shapes[0]!.flowRange_kg_s;
		expect(factor.curve).toHaveLength(9);
		factor.curve.forEach((point, i) => {
			expect(point.flow_kg_s).toBeCloseTo(low + ((high - low) * i) / 8, 12);
			const [one, slope] = basisAt(solved.shapes[0]!, 0, point.flow_kg_s);
			const at = solved.at.factor[0]!;
			const value = one! * solved.tape.x[at]! + slope! * solved.tape.x[at + 1]! + level.shift;
			expect(point.value).toBeCloseTo(value, 12);
		});
	});

	it('what moisture adds, at the mean of what the sensor read', () => {
		const made = make({ seed: 1, combines: ['A'] });
		const offset = { combine: 0, offset_pct: 0, u_pct: 0.5, n: 3, source: 'tickets' as const };
		const line = (m: Made) =>
			written(m, { moisture: [offset] }).factor.budget.find((l) => l.name.startsWith('moisture'))!.u_rel;
		expect(line(made)).toBeCloseTo(0.5 / (100 - 18), 12);
		made.records.moisture_pct.fill(Number.NaN);
		expect(line(made)).toBeCloseTo(0.5 / (100 - 15.5), 12);
		// Of its own records, by the median: those of another combine are wetter.
		const two = make({ seed: 1, fills: 6 });
		two.records.combine.forEach((c, i) => {
			if (c === 1) two.records.moisture_pct[i] = 40;
		});
		expect(line(two)).toBeCloseTo(0.5 / (100 - 18), 12);
	});

	it('why there is no curve, where there is none', () => {
		const advice = (form?: 'flow') => {
			const made = make({ seed: 3, fills: 20, combines: ['A'] });
			if (form) made.plan.pins = { factors: { A: { form } } };
			return written(made).factor.advice.join(' ');
		};
		expect(advice()).toMatch(/whether A reads differently at low flow: too few of its passes/);
		expect(advice('flow')).not.toMatch(/reads differently at low flow/);
	});

	it('how moisture ran over nine tenths of the records that count', () => {
		const ran = (flag: number) => {
			const made = make({ seed: 1, combines: ['A'] });
			const { n, moisture_pct } = made.records;
			moisture_pct.fill(24, 0, n / 2).fill(40, 0, 0.08 * n);
			made.track.flag.fill(flag, 0, n / 2);
			return written(made).factor.advice.filter((a) => a.startsWith('Moisture ran'));
		};
		expect(ran(0)).toEqual([expect.stringContaining('Moisture ran from 18 to 24%.')]);
		expect(ran(1)).toEqual([]);
	});
});
