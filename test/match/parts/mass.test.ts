import { describe, expect, it } from 'vitest';
import { accountMass } from '../../../lib/account/account.ts';
import { lnPhi, normalCost, restCost, restMoments } from '../../../lib/match/beam/normal.ts';
import { Belief, flowIn, learnLevel, learnRatio, poolIn, takeOut } from '../../../lib/match/beam/update-belief.ts';
import type { Deduced } from '../../../lib/match/problem/deduced.ts';
import {
	type Flowing,
	flowing,
	massAt,
	recordsUntil,
	stoodShare,
	timeOfMass,
} from '../../../lib/match/problem/mass.ts';
import type { Observation } from '../../../lib/match/problem/observations.ts';
import { otherFields } from '../../../lib/match/problem/otherfield.ts';
import { weighedShare } from '../../../lib/match/problem/problem.ts';
import { normalCdf } from '../../../lib/stats/index.ts';
import { durationText, massInBoth } from '../../../lib/units/index.ts';
import { dump, NOON, recordsOf } from '../hand.ts';

describe('mass against time', () => {
	const records = recordsOf([
		{ name: 'A', from_s: 0, to_s: 100, flow: (t) => (t <= 50 ? 4 : 8), standing: (t) => t > 80 },
	]);
	const f = flowing(records, accountMass(records), 0);

	it('grows evenly within a record', () => {
		expect(massAt(f, NOON + 10)).toBeCloseTo(40, 9);
		expect(massAt(f, NOON + 10.25)).toBeCloseTo(41, 9);
		expect(massAt(f, NOON + 60)).toBeCloseTo(200 + 80, 9);
		expect(massAt(f, NOON - 5)).toBe(0);
		expect(massAt(f, NOON + 500)).toBeCloseTo(600, 9);
	});

	it('is undone by timeOfMass', () => {
		for (const t of [3, 17.5, 50, 71.2, 99]) expect(timeOfMass(f, massAt(f, NOON + t))).toBeCloseTo(NOON + t, 6);
	});

	it('counts records that end by a time, and the share of it spent standing', () => {
		expect(recordsUntil(f, NOON + 10)).toBe(10);
		expect(recordsUntil(f, NOON + 10.5)).toBe(10);
		expect(stoodShare(f, NOON + 20, NOON + 60)).toBeCloseTo(0, 9);
		expect(stoodShare(f, NOON + 85, NOON + 95)).toBeCloseTo(1, 9);
		// After its log ends a combine stands for all that is known.
		expect(stoodShare(f, NOON + 200, NOON + 260)).toBe(1);
	});
});

describe('the share of the grain that was weighed', () => {
	const weights = (kg: number[]) => kg.map((w) => ({ kg: w }) as Observation);
	const cut = (total_kg: number) => [{ total_kg } as Flowing];
	const missing = (kg: number) => ({ kg }) as Deduced;

	it('is at most what was weighed over what was cut, with the factors two standard uncertainties less', () => {
		const problem = { observations: weights([3000, 3000]), flows: cut(10_000), deduced: [] };
		expect(weighedShare(problem, [1.2], [0.1])).toBeCloseTo(0.6 / (1.2 * 0.8), 9);
		expect(weighedShare(problem, [0.7], [0.1])).toBe(1);
		expect(weighedShare({ ...problem, flows: [] }, [], [])).toBe(1);
		expect(weighedShare({ ...problem, observations: [], flows: [] }, [], [])).toBe(1);
	});

	it('is less where cart or tickets show grain that no dump has, whatever the factors', () => {
		const problem = {
			observations: weights([4000, 4000]),
			flows: cut(10_000),
			deduced: [missing(2000), missing(-500)],
		};
		expect(weighedShare(problem, [1], [0.1])).toBeCloseTo(0.8, 9);
		expect(weighedShare(problem, [1.25], [0])).toBeCloseTo(0.64, 9);
	});
});

describe('costs of what is normally distributed', () => {
	it('lnPhi is ln of the normal distribution function', () => {
		for (const z of [-4.5, -2, -0.3, 0, 0.7, 3]) expect(lnPhi(z)).toBeCloseTo(Math.log(normalCdf(z)), 2);
		expect(lnPhi(-8)).toBeCloseTo(Math.log(normalCdf(-8)), 2);
	});

	it('restCost and restMoments are the integrals they stand for', () => {
		for (const [m, s, scale] of [
			[500, 200, 2000],
			[-100, 150, 2000],
			[3000, 400, 1500],
		] as const) {
			let mass = 0;
			let mean = 0;
			let square = 0;
			for (let r = 0.5; r < 12_000; r += 1) {
				const p = (Math.exp(-r / scale) / scale) * Math.exp(-normalCost(r - m, s * s));
				mass += p;
				mean += p * r;
				square += p * r * r;
			}
			expect(restCost(m, s * s, scale)).toBeCloseTo(-Math.log(mass), 2);
			const found = restMoments(m, s * s, scale);
			expect(found.mean / (mean / mass)).toBeCloseTo(1, 2);
			expect(found.variance / (square / mass - (mean / mass) ** 2)).toBeCloseTo(1, 1);
		}
	});
});

describe('the belief about factors and tanks', () => {
	const fresh = (): Belief => new Belief(4, [1, 1, 0, 0], [0.01, 0, 0, 0, 0, 0.01, 0, 0, 0, 0, 100, 0, 0, 0, 0, 100]);

	it('learns a factor from one emptied tank as regression does', () => {
		const b = fresh();
		flowIn(b, 0, 5000, 0);
		takeOut(b, 0, 5250, 400);
		learnLevel(b, 0, 0, 900);
		// One observation y = k·5000 with variance 100 + 400 + 900 and prior k = 1 ± 0.1.
		const w = 5000 ** 2 / 1400;
		expect(b.x[0]).toBeCloseTo((1 / 0.01 + (w * 5250) / 5000) / (1 / 0.01 + w), 6);
		expect(b.P[0]).toBeCloseTo(1 / (1 / 0.01 + w), 9);
	});

	it('keeps what stays in the tank: two dumps of one fill tell as much as one', () => {
		const b = fresh();
		flowIn(b, 0, 3000, 0);
		takeOut(b, 0, 2000, 0);
		flowIn(b, 0, 2000, 0);
		takeOut(b, 0, 3250, 400);
		learnLevel(b, 0, 0, 900);
		const w = 5000 ** 2 / 1400;
		expect(b.x[0]).toBeCloseTo((1 / 0.01 + (w * 5250) / 5000) / (1 / 0.01 + w), 6);
	});

	it('shares one weight of two tanks: it tells their sum, and seams tell them apart', () => {
		const b = fresh();
		learnRatio(b, 0, 1, 1.1, 1e-10);
		flowIn(b, 0, 4000, 0);
		flowIn(b, 1, 4000, 0);
		// True factors 1 and 1.1.
		takeOut(b, 1, 8400, 1);
		poolIn(b, 0, 1, 0, 1);
		learnLevel(b, 1, 0, 1);
		expect(b.x[0]).toBeCloseTo(1, 3);
		expect(b.x[1]).toBeCloseTo(1.1, 3);
	});
});

describe('rows of other fields', () => {
	const rows = (fields: (string | null)[]) => fields.map((field, i) => dump(`D${i}`, i, i * 600, 5000, { field }));

	it('are those that name another field, however it is written', () => {
		const remarks: string[] = [];
		const found = otherFields(rows(['North 80', 'north-80', 'Creek', null]), 'North 80', remarks);
		expect([...found]).toEqual([2]);
		expect(remarks).toEqual([]);
	});

	it('where none names this field the commonest name is taken for it, and that is said', () => {
		const remarks: string[] = [];
		const found = otherFields(rows(['N80', 'N80', 'Creek']), 'North 80', remarks);
		expect([...found]).toEqual([2]);
		expect(remarks).toHaveLength(1);
	});
});

describe('words', () => {
	it('weights come in pounds and kilograms, times in what is read at a glance', () => {
		// 4,100 lb = 1,859.7 kg (the pound by NIST HB44).
		expect(massInBoth(1859.7)).toBe('4,100 lb (1,850 kg)');
		expect(massInBoth(120)).toBe('260 lb (120 kg)');
		expect(durationText(35)).toBe('35 s');
		expect(durationText(-3600)).toBe('1 h');
		expect(durationText(129)).toBe('2 min 9 s');
		expect(durationText(25_200)).toBe('7 h');
		expect(durationText(7199)).toBe('2 h');
	});
});
