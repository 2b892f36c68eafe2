import { describe, expect, test } from 'vitest';
import { compareCombines } from '../../lib/compare/index.ts';
import { paired, welch } from '../../lib/compare/verdict-rows.ts';
import { dayOf } from '../../lib/compare/workday.ts';
import type { Factor, Factors } from '../../lib/model/index.ts';
import { emptyRecords } from '../../lib/model/index.ts';
import { findSeams, sampleSeams, seamJumps } from '../../lib/seams/index.ts';
import { plainMatch } from '../plain.ts';
import { makeGround } from '../seams/make.ts';

const noMatch = plainMatch({ clock: { offset_s: 0, u_s: 1, source: 'none', byDay: [] } });

function factors(values: number[], combine: Uint8Array): Factors {
	const one = (value: number, c: number): Factor => ({
		combine: c,
		form: 'constant',
		value,
		u_rel: 0.002,
		interval: [value * 0.996, value * 1.004],
		next_interval: [value * 0.98, value * 1.02],
		n: 12,
		source: 'dumps',
		changes: [],
		knots: [],
		curve: [],
		budget: [],
		scatter_rel: 0.005,
		moreDumps: 0,
		advice: [],
		tried: [],
	});
	return {
		factors: values.map(one),
		factor: Float64Array.from(combine, (c) => values[c]!),
		u_rel: new Float64Array(combine.length).fill(0.005),
		covariance: Float64Array.from([4e-6, 0, 0, 4e-6]),
	};
}

describe('two combines side by side', () => {
	const made = makeGround({ seed: 3, combineOf: (p) => (p >> 1) % 2, factors: [0.98, 1.06] });
	const known = factors([0.98, 1.06], made.records.combine);
	const moisture = [0, 1].map((combine) => ({ combine, offset_pct: 0, u_pct: 0.15, n: 3, source: 'tickets' as const }));
	const seams = findSeams({ ...made, varieties: null });
	const sampled = sampleSeams({ ...made, seams });
	const asRecorded = { level_log: null, covariance: null, moistureOffset_pct: [0, 0] };
	const before = seamJumps(sampled, asRecorded);
	const level_log = [Math.log(0.98), Math.log(1.06)];
	const after = seamJumps(sampled, { ...asRecorded, level_log, covariance: known.covariance });
	const jumps = before.map((j, i) => ({
		...j,
		after_pct: after[i]!.after_pct,
		after_interval: after[i]!.after_interval,
	}));
	const plan = { ...made.plan, crop: { name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5 } };
	const found = compareCombines({ ...made, plan, match: noMatch, factors: known, moisture, seams, jumps });
	const row = (what: string) => found.pairs[0]!.rows.find((r) => r.what === what)!;

	test('area, mass and rates are those of the records', () => {
		for (const c of found.combines) {
			let area = 0;
			let mass = 0;
			let seconds = 0;
			for (let i = 0; i < made.records.n; i++) {
				if (made.records.combine[i] !== c.combine) continue;
				area += made.track.area_m2[i]!;
				mass += made.account.account_kg[i]! * known.factor[i]!;
				seconds += made.records.interval_s[i]!;
			}
			expect(c.area_ha).toBeCloseTo(area / 1e4, 8);
			expect(c.mass_kg).toBeCloseTo(mass, 4);
			// A minute between passes, in which the log is silent.
			expect(c.worked_s).toBe(seconds + 23 * 60);
			expect(c.area_ha_h).toBeCloseTo(c.area_ha / (c.worked_s / 3600), 8);
			const { cutting_s, turning_s, dumping_s, waiting_s, standing_s } = c.time;
			expect(cutting_s + turning_s + dumping_s + waiting_s + standing_s).toBeCloseTo(c.worked_s, 6);
			expect(cutting_s).toBe(seconds);
		}
	});

	test('what differs is told apart from what does not', () => {
		expect(row('factor').certain).toBe(true);
		expect(row('seam_before').certain).toBe(true);
		expect(row('seam_before').difference).toBeCloseTo(before[0]!.before_pct, 10);
		expect(row('seam_after').certain).toBe(false);
		expect(row('scale_weight').verdict).toBe('no difference shown');
		expect(row('yield').shared).toBe(true);
		expect(Math.abs(row('speed').difference)).toBeLessThan(1e-9);
		expect(Math.abs(row('moisture').difference)).toBeLessThan(0.2);
	});

	test('no difference shown is told with its interval, never as sameness; a fair test is described', () => {
		expect(found.pairs[0]!.remarks.join(' ')).toMatch(/No difference shown after correction \(.*95% interval/);
		expect(found.advice.join(' ')).toMatch(/Swap sides.*Empty both tanks.*six dumps/s);
	});

	test('too wide an interval is told as too little data, as in the verdict', () => {
		const wide = jumps.map((j) => ({ ...j, after_interval: [-7.7, 5.6] as [number, number] }));
		const [pair] = compareCombines({
			...made,
			plan,
			match: noMatch,
			factors: known,
			moisture,
			seams,
			jumps: wide,
		}).pairs;
		expect(pair!.remarks.join(' ')).toMatch(/After correction: not enough data \(.*95% interval −7.7 to \+5.6%\)/);
	});

	test('a factor from the seams makes them agree: nothing is shown, whatever the interval', () => {
		const bySeams = {
			...known,
			factors: known.factors.map((f, c) => (c === 1 ? { ...f, source: 'seams' as const } : f)),
		};
		const other = compareCombines({ ...made, plan, match: noMatch, factors: bySeams, moisture, seams, jumps })
			.pairs[0]!;
		for (const what of ['seam_after', 'scale_weight', 'yield']) {
			const found = other.rows.find((r) => r.what === what)!;
			expect([found.certain, found.verdict]).toEqual([null, expect.stringMatching(/^not enough data: no weight of B/)]);
		}
		expect(other.rows.find((r) => r.what === 'seam_before')!.certain).toBe(true);
		expect(other.remarks.join(' ')).toMatch(/cannot be told: no weight of B/);
		expect(other.remarks.join(' ')).not.toMatch(/No difference shown/);
	});

	test('a jump that remains with both monitors right by the scale may be grain on the ground', () => {
		const left = jumps.map((j) => ({ ...j, after_pct: 3, after_interval: [1.5, 4.5] as [number, number] }));
		const other = compareCombines({ ...made, plan, match: noMatch, factors: known, moisture, seams, jumps: left });
		expect(other.pairs[0]!.remarks.join(' ')).toMatch(/A difference of 3\.0% remains.*B brought in less.*grain left/s);
	});
});

test('every second is sorted: cutting, on the go, turning, dumping, waiting with a full tank, standing', () => {
	// One record a minute: six cutting (the last with the auger running), one turning, two waiting, one dumping, one standing.
	const what = ['c', 'c', 'c', 'c', 'c', 'g', 't', 'c', 'c', 'w', 'w', 'd', 's'];
	const n = what.length;
	const records = emptyRecords(n);
	records.combines = ['A'];
	const track = {
		speed_m_s: Float64Array.from(what, (w) => ('cgt'.includes(w) ? 1.7 : 0)),
		pass: Int32Array.from(what, (w) => ('cg'.includes(w) ? 0 : -1)),
		area_m2: new Float64Array(n).fill(100),
	};
	const mass = Float64Array.from(what, (w) => ('cg'.includes(w) ? 1000 : 0));
	what.forEach((w, i) => {
		records.time_s[i] = 1000 + 60 * (i + 1);
		records.interval_s[i] = 60;
		records.augerOn[i] = w === 'g' || w === 'd' ? 1 : 0;
		records.headerDown[i] = 'cg'.includes(w) ? 1 : 0;
	});
	const day = dayOf({ records, track: track as never, match: noMatch, mass_kg: mass, tank_kg: 9000 }, 0);
	expect(day.time).toEqual({
		cutting_s: 480,
		turning_s: 60,
		dumping_s: 60,
		waiting_s: 180,
		standing_s: 0,
		onTheGo_s: 60,
	});
	// With a tank that holds far more, nobody waits.
	const roomy = dayOf({ records, track: track as never, match: noMatch, mass_kg: mass, tank_kg: 20000 }, 0);
	expect([roomy.time.waiting_s, roomy.time.standing_s]).toEqual([0, 180]);
});

test('a silence of the log is standing when short and a break when long', () => {
	const records = emptyRecords(3);
	records.combines = ['A'];
	[60, 360, 7260].forEach((t, i) => {
		records.time_s[i] = t;
		records.interval_s[i] = 60;
	});
	const track = { speed_m_s: [1.7, 1.7, 1.7], pass: [0, 0, 0], area_m2: [1, 1, 1] };
	const day = dayOf({ records, track: track as never, match: noMatch, mass_kg: new Float64Array(3), tank_kg: null }, 0);
	expect(day.time.standing_s).toBe(240);
	expect(day.worked_s).toBe(180 + 240);
});

test('Welch and paired differences, worked by hand', () => {
	// Means 2 and 5, each of variance 1 over three values, each value counted by half: u² = 2 × 1 / 1.5.
	const w = welch([1, 2, 3], [4, 5, 6]);
	expect(w.difference).toBe(-3);
	// t(0.975; 4) = 2.776, any t table.
	expect((w.interval[1] - w.interval[0]) / 2).toBeCloseTo(2.776 * Math.sqrt(2 / 1.5), 2);
	const p = paired([1, 2, 3], [1, 1, 1]);
	expect(p.difference).toBe(2);
	// t(0.975; 2) = 4.303, standard error 1/√3.
	expect((p.interval[1] - p.interval[0]) / 2).toBeCloseTo(4.303 / Math.sqrt(3), 3);
});
