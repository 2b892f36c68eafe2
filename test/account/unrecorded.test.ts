import { describe, expect, it } from 'vitest';
import { withUnrecorded } from '../../lib/account/index.ts';
import { emptyRecords, MASS_FAULT, type Track } from '../../lib/model/index.ts';
import { plainAccount } from '../plain.ts';

const upTo = (n: number) => Array.from({ length: n }, (_, k) => k);

/**
 * A pass of a minute at 10 kg/s and 20 m² a second, a gap, and another one. The grain takes 12 s, so that 240 m² are on their
 * way at the end of a pass.
 */
function twoPasses(gap_s: number, after_kg_s: number) {
	const records = { ...emptyRecords(120), combines: ['A'] };
	records.time_s.set(upTo(120).map((k) => k + (k < 60 ? 0 : gap_s)));
	records.interval_s.fill(1);
	records.flow_kg_s.fill(10, 0, 60);
	records.flow_kg_s.fill(after_kg_s, 60);
	const account = plainAccount(records);
	const track = { lags: [{ lag_s: 12 }], area_m2: new Float64Array(120).fill(20) } as unknown as Track;
	const underway = [{ path: { index: Int32Array.from(upTo(120)) }, underway_m2: new Float64Array(120).fill(240) }];
	return { records, account, whole: withUnrecorded(records, account, track, underway), track, underway };
}

describe('grain that came through while nothing was written', () => {
	it('is that of the ground on its way, at the last record before the gap, where the header was up', () => {
		const { account, whole } = twoPasses(25, 0);
		// 240 m² at half a kilogram each.
		expect(whole.account_kg[59]! - account.account_kg[59]!).toBeCloseTo(120, 9);
		expect(whole.fault[59]).toBe(MASS_FAULT.unrecorded);
		expect(whole.fault.filter((f) => f > 0).length).toBe(1);
		expect(whole.monitor_kg).toBe(account.monitor_kg);
		// What was given stands.
		expect(account.account_kg[59]).toBe(10);
	});

	it('is only what had come by then where the gap is shorter, and goes on where grain still flows after it', () => {
		expect(twoPasses(6, 0).whole.account_kg[59]).toBeCloseTo(10 + 60, 9);
		expect(twoPasses(40, 10).whole.account_kg[59]).toBeCloseTo(10 + 120 + 28 * 10, 9);
		// Overnight only what was on its way.
		expect(twoPasses(40_000, 10).whole.account_kg[59]).toBeCloseTo(10 + 120, 9);
	});

	it('is nothing where the log goes on, or where the delay is taken out of it already', () => {
		const { records, account, track, underway } = twoPasses(0, 10);
		expect(withUnrecorded(records, account, track, underway)).toBe(account);
		// Then the grain right after a gap was cut there, not in the gap.
		const gap = twoPasses(25, 10);
		const none = [{ ...underway[0]!, underway_m2: new Float64Array(120) }];
		const lags = [{ lag_s: 0 }] as Track['lags'];
		expect(withUnrecorded(gap.records, gap.account, { ...track, lags }, none)).toBe(gap.account);
	});

	it('is missed in rows without a flow as in rows that are not there', () => {
		const { records, track, underway } = twoPasses(0, 10);
		records.flow_kg_s.fill(Number.NaN, 60, 90);
		const whole = withUnrecorded(records, plainAccount(records), track, underway);
		expect(whole.account_kg[59]).toBeCloseTo(10 + 120 + 18 * 10, 9);
		expect(whole.account_kg.subarray(60, 90).every((kg) => kg === 0)).toBe(true);
	});
});
