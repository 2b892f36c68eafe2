import { describe, expect, test } from 'vitest';
import { emptyRecords, type RunSoFar } from '../../lib/model/index.ts';
import { fieldHalves } from '../../lib/pipeline/result/intervals.ts';

/** Two combines: A weighed to ±2 %, and B with or without a factor, on `cut_m2` of ground. */
const run = (b: { source: string | null; value: number; u_rel: number }, cut_m2: number, flow = 0): RunSoFar => {
	const factor = (combine: number, of: typeof b) => ({
		combine,
		...of,
		interval: [of.value * (1 - 2 * of.u_rel), of.value * (1 + 2 * of.u_rel)],
	});
	return {
		factors: {
			factors: [factor(0, { source: 'dumps', value: 1, u_rel: 0.01 }), factor(1, b)],
			covariance: Float64Array.from([1e-4, Number.NaN, Number.NaN, b.u_rel ** 2]),
		},
		moisture: [],
		track: { area_m2: Float64Array.from([5000, cut_m2]) },
		field: {
			records: {
				...emptyRecords(2),
				combines: ['A', 'B'],
				combine: Uint16Array.from([0, 1]),
				flow_kg_s: Float64Array.from([8, flow]),
				interval_s: Float64Array.from([1, 1]),
			},
		},
	} as unknown as RunSoFar;
};
const nothing = { source: null, value: Number.NaN, u_rel: Number.NaN };

describe('the interval of the field’s grain', () => {
	test('is that of the combines with grain, where the other cut nothing', () => {
		expect(fieldHalves(run(nothing, 0), [1000, 0], 15).wet).toEqual([expect.closeTo(0.02, 9), expect.closeTo(0.02, 9)]);
	});
	test('is not known where a combine cut ground and its grain is not counted', () => {
		expect(fieldHalves(run(nothing, 5000), [1000, 0], 15).wet).toEqual([Number.NaN, Number.NaN]);
	});
	test('reaches up where a log has no flow on ground that was cut', () => {
		const blank = run({ source: 'dumps', value: 1, u_rel: 0.01 }, 1000, Number.NaN);
		blank.field.records.combine[1] = 0;
		const { wet, dry } = fieldHalves(blank, [1000, 0], 15);
		expect(wet).toEqual([expect.closeTo(0.02, 9), expect.closeTo(0.22, 9)]);
		expect(dry[1]).toBeCloseTo(0.22, 9);
	});
	test('is not known where a combine with grain has no factor', () => {
		expect(fieldHalves(run(nothing, 5000), [1000, 500], 15).wet).toEqual([Number.NaN, Number.NaN]);
	});
});
