import { describe, expect, it } from 'vitest';
import { accountMass } from '../../lib/account/account.ts';
import { recordsOf, type Work } from '../match/hand.ts';

const steady: Work = { name: 'A', from_s: 0, to_s: 600, flow: (t) => 8 + Math.sin(t / 9) };
const sum = (a: Float64Array): number => a.reduce((x, y) => x + y, 0);

describe('accountMass', () => {
	it('is flow × interval where the sensor is well', () => {
		const records = recordsOf([steady]);
		const { monitor_kg, account_kg, fault } = accountMass(records);
		expect(sum(monitor_kg)).toBeCloseTo(sum(records.flow_kg_s), 9);
		expect(sum(account_kg)).toBe(sum(monitor_kg));
		expect(fault.every((f) => f === 0)).toBe(true);
	});

	it('puts the neighbors’ value in place of a spike, and leaves the monitor’s mass as recorded', () => {
		const records = recordsOf([steady]);
		records.flow_kg_s[300] = 90;
		const { monitor_kg, account_kg, fault } = accountMass(records);
		expect(monitor_kg[300]).toBe(90);
		expect(account_kg[300]).toBeGreaterThan(6);
		expect(account_kg[300]).toBeLessThan(10);
		expect(fault[300]).toBe(2);
	});

	it('mends a flow that is lost and comes back at once with the header down, not one that runs out at a turn', () => {
		const lost = recordsOf([steady]);
		for (let i = 200; i < 204; i++) lost.flow_kg_s[i] = 0;
		expect(accountMass(lost).fault[202]).toBe(3);
		expect(accountMass(lost).account_kg[202]).toBeGreaterThan(6);

		const turn = recordsOf([steady]);
		for (let i = 200; i < 204; i++) turn.flow_kg_s[i] = 0;
		for (let i = 190; i < 196; i++) turn.headerDown[i] = 0;
		expect(accountMass(turn).fault[202]).toBe(0);
		expect(accountMass(turn).account_kg[202]).toBe(0);
	});

	it('mends a single lost record of a slow log', () => {
		const slow = recordsOf([steady]);
		// One record in five, each standing for five seconds.
		const keep = Int32Array.from({ length: 120 }, (_, k) => 5 * k + 4);
		for (const name of ['time_s', 'flow_kg_s', 'interval_s', 'distance_m', 'lat_deg', 'lon_deg'] as const) {
			slow[name] = Float64Array.from(keep, (i) => slow[name][i] as number);
		}
		slow.n = keep.length;
		for (const name of ['headerDown', 'augerOn'] as const) slow[name] = slow[name].slice(0, slow.n);
		slow.combine = slow.combine.slice(0, slow.n);
		slow.interval_s.fill(5);
		slow.distance_m.fill(10);
		slow.flow_kg_s[60] = 0;
		expect(accountMass(slow).fault[60]).toBe(3);
	});

	it('does not count flow long after anything was cut', () => {
		const records = recordsOf([steady]);
		for (let i = 400; i < 600; i++) {
			records.headerDown[i] = 0;
			records.flow_kg_s[i] = 0.4;
		}
		const { account_kg, fault } = accountMass(records);
		// Grain is still on its way for a while.
		expect(account_kg[420]).toBe(0.4);
		expect(account_kg[550]).toBe(0);
		expect(fault[550]).toBe(4);
	});

	it('counts flow where the log has no distances', () => {
		const records = recordsOf([steady]);
		records.distance_m.fill(Number.NaN);
		const { monitor_kg, account_kg } = accountMass(records);
		expect(sum(account_kg)).toBe(sum(monitor_kg));
	});

	it('gives a record without flow or interval no mass', () => {
		const records = recordsOf([steady]);
		records.flow_kg_s[100] = Number.NaN;
		records.interval_s[101] = Number.NaN;
		const { monitor_kg, account_kg } = accountMass(records);
		expect([monitor_kg[100], monitor_kg[101], account_kg[100], account_kg[101]]).toEqual([0, 0, 0, 0]);
	});
});
