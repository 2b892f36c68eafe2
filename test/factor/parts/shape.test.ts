import { describe, expect, it } from 'vitest';
import { basisAt, basisOf, CONSTANT, type Shape, size, smoothFlow } from '../../../lib/factor/form/shape.ts';
import { meanBasis, meanOf } from '../../../lib/factor/seamrelations.ts';
import { emptyRecords, type Track } from '../../../lib/model/index.ts';
import { plainAccount } from '../../plain.ts';
import { jump } from './hand.ts';

const step: Shape = { ...CONSTANT, form: 'step', changes_s: [100, 200] };
const trend: Shape = { ...CONSTANT, form: 'trend', middle_s: 100, half_s: 50 };
const curve: Shape = { ...CONSTANT, form: 'flow', flow_kg_s: 10, flowRange_kg_s: [6, 15] };

describe('bases of a factor', () => {
	it('one level; a level and what each change adds; a level and a slope', () => {
		expect([CONSTANT, step, trend, curve].map(size)).toEqual([1, 3, 2, 2]);
		expect(basisAt(CONSTANT, 0, 5)).toEqual([1]);
		expect([99, 100, 200].map((t) => basisAt(step, t, 5))).toEqual([
			[1, 0, 0],
			[1, 1, 0],
			[1, 1, 1],
		]);
		expect([0, 75, 100, 500].map((t) => basisAt(trend, t, 5)[1])).toEqual([-1, -0.5, 0, 1]);
		expect([8, 3, 99, 0, Number.NaN].map((f) => basisAt(curve, 0, f)[1])).toEqual([-2, -4, 5, 0, 0]);
	});

	it('summed over a piece by mass', () => {
		const piece = { kg: 20, kg_flow: 240, time_s: 125 } as never;
		expect(basisOf(CONSTANT, piece)).toEqual([20]);
		expect(basisOf(step, piece)).toEqual([20, 20, 0]);
		expect(basisOf(trend, piece)).toEqual([20, 10]);
		expect(basisOf(curve, piece)).toEqual([20, 40]);
	});

	it('averaged over a field by mass', () => {
		const pieces = (...list: [number, number][]) => list.map(([kg, time_s]) => ({ kg, kg_flow: 12 * kg, time_s }));
		const time = {
			segments: [
				{ combine: 0, pieces: pieces([10, 50], [30, 150]) },
				{ combine: 1, pieces: pieces([99, 99]) },
			],
			account_kg: [40, 0],
		} as never;
		expect(meanOf(time, step, 0)).toEqual([1, 0.75, 0]);
		expect(meanOf(time, curve, 0)).toEqual([1, 2]);
		// Without mass, the sums themselves.
		expect(meanOf(time, CONSTANT, 1)).toEqual([99]);
	});
});

describe('bases at the seams of a pair', () => {
	/** Two passes of combine 0 and one of combine 1; a record each 50 s, of 1 kg. */
	const track = {
		passes: [{ records: [0, 1] }, { records: [2, 3] }, { records: [4] }],
		flag: new Uint8Array(5),
	} as unknown as Track;
	const account = { account_kg: Float64Array.of(1, 1, 1, 1, 1) } as never;
	const time_s = Float64Array.of(50, 150, 150, 250, 150);
	const flow = new Float64Array(5).fill(10);
	const seam = (passA: number, passB: number, length_m: number, more = {}) => ({
		combineA: 0,
		combineB: 1,
		passA,
		passB,
		length_m,
		excluded: null,
		...more,
	});
	const mean = (seams: object[], combine = 0, shape = step, over: object = {}) =>
		meanBasis({ account, track, seams: seams as never, ...over }, { time_s, flow, shape, combine, jump: jump(0, 1) });

	it('by length of seam, whichever way round a seam has the two', () => {
		// Pass 0: half of its grain after the first change. Pass 1: all after the first, half after the second.
		expect(mean([seam(0, 2, 100)])).toEqual([1, 0.5, 0]);
		expect(mean([seam(0, 2, 100), seam(1, 2, 300)])).toEqual([1, 0.875, 0.375]);
		expect(mean([seam(2, 1, 100, { combineA: 1, combineB: 0 })])).toEqual([1, 1, 0.5]);
		expect(mean([seam(0, 2, 100)], 1)).toEqual([1, 1, 0]);
	});

	it('not of other pairs or seams left out, nor of records without grain or flagged', () => {
		expect(mean([seam(0, 2, 100), seam(1, 2, 300, { excluded: 'crossing' })])).toEqual([1, 0.5, 0]);
		expect(mean([seam(0, 2, 100), seam(1, 2, 300, { combineB: 2 })])).toEqual([1, 0.5, 0]);
		expect(mean([seam(0, 2, 100), seam(1, 2, 300, { combineA: 2 })])).toEqual([1, 0.5, 0]);
		const flag = Uint8Array.of(1, 0, 0, 0, 0);
		expect(mean([seam(0, 2, 100)], 0, step, { track: { ...track, flag } })).toEqual([1, 1, 0]);
		const empty = { account_kg: Float64Array.of(1, 0, 0, 0, 1) };
		expect(mean([seam(0, 2, 100), seam(1, 2, 300)], 0, step, { account: empty })).toEqual([1, 0, 0]);
	});

	it('the level alone where there is nothing else, or nothing to average', () => {
		expect(mean([seam(0, 2, 100)], 0, CONSTANT)).toEqual([1]);
		expect(mean([])).toEqual([1, 0, 0]);
	});
});

describe('smoothed flow', () => {
	const smooth = (flows: number[], times = flows.map((_, i) => i), interval = 1) => {
		const records = emptyRecords(flows.length);
		records.flow_kg_s.set(flows);
		records.interval_s.fill(interval);
		records.time_s.set(times);
		return [...smoothFlow(records, plainAccount(records), [Int32Array.from(flows, (_, i) => i)])];
	};
	it('is a mean over three records to either side', () => {
		expect(smooth([1, 2, 3, 4, 5, 6, 7, 8, 9])).toEqual([2.5, 3, 3.5, 4, 5, 6, 6.5, 7, 7.5]);
	});
	it('ends at a gap in time, and at a flow far below its own', () => {
		expect(smooth([4, 4, 8, 8], [0, 1, 12, 13])).toEqual([4, 4, 8, 8]);
		expect(smooth([4, 4, 8, 8], [0, 1, 11, 12])).toEqual([6, 6, 6, 6]);
		expect(smooth([10, 2, 10])).toEqual([10, 22 / 3, 10]);
		expect(smooth([10, 2.1, 10])).toEqual([22.1 / 3, 22.1 / 3, 22.1 / 3]);
	});
	it('is nothing where nothing flows or no time passes', () => {
		expect(smooth([5, 0, 7])).toEqual([5, 0, 7]);
		expect(smooth([5, 6], [0, 1], 0)).toEqual([0, 0]);
	});
});
