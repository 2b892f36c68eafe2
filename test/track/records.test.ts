import { describe, expect, it } from 'vitest';
import { emptyRecords, FLAGS } from '../../lib/model/index.ts';
import type { Described } from '../../lib/track/records/describe-records.ts';
import { limits } from '../../lib/track/records/flag-limits.ts';
import { flagRecords } from '../../lib/track/records/flags.ts';
import { findRecordOutliers } from '../../lib/track/records/record-outliers.ts';
import { plainAccount, plainPlan } from '../plain.ts';

const N = 12;
const upTo = (n: number) => Array.from({ length: n }, (_, k) => k);
const column = (value: number) => new Float64Array(N).fill(value);

describe('a record beside its neighbors', () => {
	const kg = Float64Array.from(upTo(60), (k) => 5 * Math.exp(0.01 * Math.sin(k * k)));
	const area = new Float64Array(60).fill(10);
	const usable = new Uint8Array(60).fill(1);
	const pass = new Int32Array(60);

	it('is compared by the log of its yield over the median of six on either side', () => {
		const { log, noise } = findRecordOutliers(kg, area, usable, pass);
		const near = upTo(13)
			.flatMap((q) => (q === 6 ? [] : [Math.log(kg[24 + q]! / 10)]))
			.sort((a, b) => a - b);
		expect(log[30]).toBeCloseTo(Math.log(kg[30]! / 10) - (near[5]! + near[6]!) / 2, 12);
		// As a normal sample's standard deviation from its median size.
		const sizes = [...log].map(Math.abs).sort((p, q) => p - q);
		expect(noise).toBeCloseTo((1.4826 * (sizes[29]! + sizes[30]!)) / 2, 6);
	});

	it('is the same whatever the flow is counted in, and does not look into other passes or at records that fail', () => {
		const plain = findRecordOutliers(kg, area, usable, pass).log;
		const pounds = findRecordOutliers(
			kg.map((v) => v * 2.2),
			area,
			usable,
			pass,
		).log;
		for (const k of upTo(60)) expect(pounds[k]).toBeCloseTo(plain[k]!, 12);
		const other = kg.map((v, k) => (k < 30 ? v : 3 * v));
		const halves = findRecordOutliers(
			other,
			area,
			usable,
			Int32Array.from(pass, (_, k) => (k < 30 ? 0 : 1)),
		).log;
		expect(Math.max(...halves.map(Math.abs))).toBeLessThan(0.05);
		const failing = kg.map((v, k) => (k % 2 ? v : 9 * v));
		const sound = Uint8Array.from(usable, (_, k) => k % 2);
		expect(findRecordOutliers(failing, area, sound, pass).log[30]).toBeCloseTo(Math.log(9), 1);
		const none = findRecordOutliers(kg, area, new Uint8Array(60), pass);
		expect(none.log.every(Number.isNaN)).toBe(true);
		expect(none.noise).toBe(0.05);
	});
});

describe('the limits of flags', () => {
	it('follow from the field’s noise, and are what the plan sets where it does', () => {
		const found = limits(plainPlan(), 20, 0.06, 0.05, Number.NaN);
		expect(found).toMatchObject({ filling: 0.06, jolt: 0.075, flowless: 1, standing: 0.25 });
		expect(found.surge).toBeCloseTo(0.3, 12);
		// Edges are known to 0.15 m, and a width to 7 %.
		expect(found.narrow).toBeCloseTo(0.15 / 0.07, 12);
		expect(limits(plainPlan(), 20, 0.06, 0.3, 0.76).narrow).toBeCloseTo(0.3 / 0.07, 12);
		expect(limits(plainPlan(), 20, 0.06, 0.05, 0.76).narrow).toBeCloseTo(4.5 * 0.76, 12);
		// Noise hardly narrows or widens what a start may be off.
		expect([limits(plainPlan(), 20, 0.001, 0, 0).filling, limits(plainPlan(), 20, 0.9, 0, 0).filling]).toEqual([
			0.03, 0.1,
		]);
		expect(limits(plainPlan({ flags: { surge: 9, narrow: 1 } }), 20, 0.06, 0.05, 0.76)).toMatchObject({
			surge: 9,
			narrow: 1,
		});
	});
});

describe('a flag', () => {
	/** Twelve records without anything unusual, of which the test changes the fifth. */
	function flagged(spoil: (d: ReturnType<typeof sound>, k: number) => void): string {
		const all = sound();
		spoil(all, 5);
		const flag = new Uint8Array(N);
		flagRecords(all.described, all.records, all.account, limits(plainPlan(), 10, 0.05, 0.05, Number.NaN), flag);
		expect(flag.filter((f) => f > 0).length).toBeLessThanOrEqual(1);
		return FLAGS[flag[5]!]!;
	}
	function sound() {
		const records = { ...emptyRecords(N), combines: ['A'] };
		records.flow_kg_s.fill(10);
		records.interval_s.fill(1);
		const described: Described = {
			path: {
				n: N,
				index: Int32Array.from(upTo(N)),
				end_s: Float64Array.from(upTo(N), (k) => k + 1),
				from_s: Float64Array.from(upTo(N)),
				pace_m_s: 2,
			},
			grain: {
				x_m: column(0),
				bad: new Uint8Array(N),
				way_m: column(2),
				cutting: column(1),
				width_m: column(9),
				header_m: column(9),
			},
			smeared: { u_rel: column(0), share: column(0), where: new Int8Array(N) },
			outliers: { log: column(0), noise: 0.05 },
			moisture_pct: column(18),
			outside: new Uint8Array(N),
			turnRate_rad_m: column(0),
			underway_m2: column(0),
		};
		return { records, described, account: plainAccount(records) };
	}

	it.each<[string, Parameters<typeof flagged>[0]]>([
		['', () => {}],
		['unplaced', ({ described: d }, k) => d.grain.x_m.fill(Number.NaN, k, k + 1)],
		['jump', ({ described: d }, k) => d.grain.bad.fill(1, k, k + 1)],
		['flowless', ({ records }, k) => records.flow_kg_s.fill(Number.NaN, k, k + 1)],
		['flowless', ({ records }, k) => records.interval_s.fill(0, k, k + 1)],
		// Less than a twentieth of the usual flow.
		['flowless', ({ records }, k) => records.flow_kg_s.fill(0.4, k, k + 1)],
		['', ({ records }, k) => records.flow_kg_s.fill(0.6, k, k + 1)],
		['raised', ({ described: d }, k) => d.grain.way_m.fill(0, k, k + 1)],
		['standing', ({ described: d }, k) => d.grain.way_m.fill(0.4, k, k + 1)],
		['', ({ described: d }, k) => d.grain.way_m.fill(0.6, k, k + 1)],
		['dropout', ({ account }, k) => account.fault.fill(3, k, k + 1)],
		['surge', ({ account }, k) => account.fault.fill(2, k, k + 1)],
		['surge', ({ described: d }, k) => d.outliers.log.fill(0.26, k, k + 1)],
		['dropout', ({ described: d }, k) => d.outliers.log.fill(-0.26, k, k + 1)],
		['', ({ described: d }, k) => d.outliers.log.fill(0.24, k, k + 1)],
		['turning', ({ described: d }, k) => d.turnRate_rad_m.fill(-0.11, k, k + 1)],
		[
			'filling',
			({ described: d }, k) => {
				d.smeared.u_rel[k] = 0.06;
				d.smeared.where[k] = -1;
			},
		],
		[
			'emptying',
			({ described: d }, k) => {
				// A fifth of the smear's correction may be off.
				d.smeared.share[k] = 0.3;
				d.smeared.where[k] = 1;
			},
		],
		['jolt', ({ described: d }, k) => d.smeared.u_rel.fill(0.07, k, k + 1)],
		['', ({ described: d }, k) => d.smeared.u_rel.fill(0.06, k, k + 1)],
		['jolt', ({ described: d }, k) => d.grain.cutting.fill(0.8, k, k + 1)],
		['outside', ({ described: d }, k) => d.outside.fill(1, k, k + 1)],
		['recut', ({ described: d }, k) => d.grain.width_m.fill(0.5, k, k + 1)],
		['narrow', ({ described: d }, k) => d.grain.width_m.fill(2, k, k + 1)],
		['', ({ described: d }, k) => d.grain.width_m.fill(2.3, k, k + 1)],
		['moisture', ({ described: d }, k) => d.moisture_pct.fill(Number.NaN, k, k + 1)],
		['moisture', ({ described: d }, k) => d.moisture_pct.fill(50, k, k + 1)],
	])('is “%s” (%#)', (word, spoil) => {
		expect(flagged(spoil)).toBe(word);
	});

	it('is the first reason that holds', () => {
		expect(
			flagged(({ described: d }, k) => {
				d.outside[k] = 1;
				d.grain.bad[k] = 1;
				d.outliers.log[k] = 3;
			}),
		).toBe('jump');
	});
});
