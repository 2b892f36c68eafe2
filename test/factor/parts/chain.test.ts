import { describe, expect, it } from 'vitest';
import type { Scales } from '../../../lib/factor/chain/cart-form.ts';
import { type Chain, chainOf } from '../../../lib/factor/chain/chain.ts';
import type { Segment, Timeline } from '../../../lib/factor/chain/timeline.ts';
import { MONITOR, type Weighing } from '../../../lib/model/index.ts';
import { courseOf } from '../../../lib/tank/index.ts';
import { plainMatch } from '../../plain.ts';
import { unloadingsOf, weighing } from './hand.ts';

/** A segment of pieces [start, end], each of 3 t. */
const segment = (combine: number, unloading: number, ...times: [number, number][]): Segment => ({
	combine,
	unloading,
	from: 0,
	to: 0,
	account_kg: 3000 * times.length,
	pieces: times.map(([start_s, end_s]) => ({ kg: 3000, kg_flow: 0, time_s: (start_s + end_s) / 2, start_s, end_s })),
});

/** A unloads at 210 and 420 and goes on; B unloads at 160 and 360. Unloadings 0 and 1 are A's, 2 and 3 B's. */
const time: Timeline = {
	orders: [],
	segments: [
		segment(0, 0, [0, 100], [100, 200]),
		segment(0, 1, [300, 400]),
		segment(0, -1, [500, 600]),
		segment(1, 2, [0, 150]),
		segment(1, 3, [250, 350]),
	],
	ofUnloading: Int32Array.of(0, 1, 3, 4),
	account_kg: [12_000, 6000],
};
const ends = [210, 420, 160, 360];
const unloadings = unloadingsOf([0, 0, 1, 1]).map((u, i) => ({ ...u, end_s: ends[i]! }));

const chain = (weighings: Weighing[], more: { loads?: number[]; use?: number[]; time?: Timeline } = {}): Chain =>
	chainOf({
		match: plainMatch({ unloadings, weighings }),
		time: more.time ?? time,
		scales: { loads: (more.loads ?? []).map((time_s) => ({ time_s })) } as unknown as Scales,
		scaleRatio: 1,
		use: more.use ?? weighings.map((_, w) => w),
		rough: [1, 1],
	});

/** What is done, in words: `in 0.1` = piece 1 of segment 0. */
const told = ({ steps }: Chain) =>
	steps.map((s) => {
		if (s.do === 'in') return `in ${s.segment}.${s.piece}`;
		if (s.do === 'unload')
			return `unload ${s.unloading} onto ${s.onto}${s.opened.length > 0 ? `, new ${s.opened}` : ''}`;
		if (s.do === 'check') return `check ${s.load} at ${s.time_s}, ${s.since_s} later`;
		return `weigh ${s.weighing} on ${s.on} at ${s.time_s}, ${s.since_s} later`;
	});

/** A dump of A, one of B, both together, and everything on one ticket. */
const four = [weighing([0]), weighing([2]), weighing([1, 3]), weighing([], { kind: 'total' })];

describe('a chain of grain and weights', () => {
	it('has both combines in order of time, each unloading after its own grain', () => {
		const made = chain(four);
		expect(told(made)).toEqual([
			'in 0.0',
			'in 3.0',
			'unload 2 onto 1, new 1',
			'weigh 1 on 1 at 160, 0 later',
			'in 0.1',
			'unload 0 onto 1, new 1',
			'weigh 0 on 1 at 210, 50 later',
			'in 4.0',
			'unload 3 onto 1, new 1',
			'in 1.0',
			'unload 1 onto 1',
			'weigh 2 on 1 at 420, 210 later',
			'in 2.0',
			'weigh 3 on 0 at NaN, 0 later',
		]);
		expect(made).toMatchObject({ order: [1, 0, 2, 3], span_s: 260, places: 2, rough: [1, 1], scaleRatio: 1 });
	});

	it('has a slow error that goes on while a combine stands', () => {
		const ins = chain(four).steps.flatMap((s) => (s.do === 'in' ? [s] : []));
		expect(ins.map((s) => s.seconds)).toEqual([100, 150, 100, 200, 200, 200]);
		const of = (paused: number, seconds: number) => courseOf(paused, seconds, MONITOR.slow_s);
		expect(ins.map((s) => s.course)).toEqual(
			[
				[0, 100],
				[0, 150],
				[0, 100],
				[100, 100],
				[100, 100],
				[100, 100],
			].map(([p, s]) => of(p!, s!)),
		);
		expect(ins.map((s) => s.inTank)).toEqual([true, true, true, true, true, false]);
		expect(ins.every((s) => s.totals.length === 1 && s.totals[0] === 0)).toBe(true);
	});

	it('takes grain without a time where it is, and its error as it was', () => {
		const bare = {
			...time,
			segments: time.segments.map((s, i) => (i === 1 ? segment(0, 1, [Number.NaN, Number.NaN]) : s)),
		};
		const made = chain(four, { time: bare });
		expect(told(made).slice(5, 12)).toEqual([
			'unload 0 onto 1, new 1',
			'weigh 0 on 1 at 210, 50 later',
			'in 1.0',
			'unload 1 onto 1, new 1',
			'in 4.0',
			'unload 3 onto 1',
			'weigh 2 on 1 at 420, 210 later',
		]);
		const ins = made.steps.flatMap((s) => (s.do === 'in' ? [s] : []));
		expect(ins.find((s) => s.segment === 1)).toMatchObject({ seconds: 0, course: courseOf(0, 0, MONITOR.slow_s) });
		// The pause before the next piece is from the last one with a time: 200 to 500.
		expect(ins.find((s) => s.segment === 2)!.seconds).toBe(400);
	});

	it('has no time and no pause below zero', () => {
		const over = { ...time, segments: time.segments.map((s, i) => (i === 1 ? segment(0, 1, [150, 120]) : s)) };
		const ins = chain(four, { time: over }).steps.flatMap((s) => (s.do === 'in' ? [s] : []));
		expect(ins.find((s) => s.segment === 1)!.seconds).toBe(0);
	});

	it('has only the weights in use, and no scale for the others', () => {
		const made = chain(four, { use: [2, 0] });
		expect(made.order).toEqual([0, 2]);
		expect(told(made).filter((s) => s.startsWith('unload'))).toEqual([
			'unload 2 onto ',
			'unload 0 onto 0, new 0',
			'unload 3 onto 0, new 0',
			'unload 1 onto 0',
		]);
		expect([made.places, made.span_s]).toEqual([1, 210]);
		expect(chain([]).span_s).toBe(0);
		const ins = made.steps.flatMap((s) => (s.do === 'in' ? [s] : []));
		expect(ins.every((s) => s.totals.length === 0)).toBe(true);
	});

	it('weighs one unloading twice where two weights are of it', () => {
		expect(told(chain([weighing([2]), weighing([2], { kind: 'ticket' })])).slice(2, 5)).toEqual([
			'unload 2 onto 0,1, new 0,1',
			'weigh 0 on 0 at 160, 0 later',
			'weigh 1 on 1 at 160, 0 later',
		]);
	});

	it('has unloadings of no grain in the logs after what came before them', () => {
		const none = { ...time, ofUnloading: Int32Array.of(0, -1, 3, 4) };
		// Its segment is then grain of none, which comes in when its time comes.
		expect(told(chain(four, { time: none })).slice(6, 10)).toEqual([
			'weigh 0 on 1 at 210, 50 later',
			'unload 1 onto 1, new 1',
			'in 4.0',
			'unload 3 onto 1',
		]);
	});

	it('checks the scale by truckloads at their time, first where they have none', () => {
		const made = chain(four, { loads: [180, Number.NaN] });
		expect(told(made).filter((s) => s.startsWith('check') || s.startsWith('weigh'))).toEqual([
			'check 1 at NaN, 0 later',
			'weigh 1 on 1 at 160, 0 later',
			'check 0 at 180, 20 later',
			'weigh 0 on 1 at 210, 30 later',
			'weigh 2 on 1 at 420, 210 later',
			'weigh 3 on 0 at NaN, 0 later',
		]);
		expect(told(made)[0]).toBe('check 1 at NaN, 0 later');
		// Readings that are given late do not set the scale back.
		const late = chain([weighing([0]), weighing([2, 0])]);
		expect(late.steps.flatMap((s) => (s.do === 'weigh' ? [s.since_s] : []))).toEqual([0, 0]);
	});

	it('numbers gross readings, of which two weights share one', () => {
		const gross = (a: number, b: number, u: [number, number]) => ({
			readings: [a, b] as [number, number],
			u_gross_kg: u,
		});
		const made = chain([
			weighing([0], gross(8, 9, [11, 12])),
			weighing([2], gross(7, 8, [10, 11])),
			weighing([3], gross(9, 5, [12, Number.NaN])),
		]);
		const weighed = made.steps.flatMap((s) => (s.do === 'weigh' ? [s] : []));
		expect(weighed.map((s) => [s.before.u_kg, s.after.u_kg])).toEqual([
			[10, 11],
			[Number.NaN, 12],
			[Number.NaN, Number.NaN],
		]);
		// Reading 8, after B's first and before A's, keeps its place; a place that is free again is used for 9.
		const [b, a, unknown] = weighed;
		expect(a!.before.place).toBe(b!.after.place);
		expect([b!.on, b!.before.place]).toContain(a!.after.place);
		expect(new Set([b!.on, b!.before.place, b!.after.place]).size).toBe(3);
		expect([unknown!.before.place, unknown!.after.place]).toEqual([-1, -1]);
		expect(made.places).toBe(3);
	});

	it('takes readings of no known error as none', () => {
		for (const u_gross_kg of [
			[10, 0],
			[Number.NaN, 10],
			[10, Infinity],
			[-1, 10],
		] as [number, number][]) {
			const made = chain([weighing([0], { readings: [1, 2], u_gross_kg })]);
			expect(made.steps.find((s) => s.do === 'weigh')).toMatchObject({ before: { place: -1 }, after: { place: -1 } });
		}
	});
});
