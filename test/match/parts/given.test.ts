import { describe, expect, it } from 'vitest';
import { inGivenUnits, restatedBy } from '../../../lib/match/suppose/given.ts';
import { type Account, type Factor, type Factors, type Match, unsaturated } from '../../../lib/model/index.ts';
import { POUND_KG } from '../../../lib/units/index.ts';
import { factorOf } from '../../factor/parts/hand.ts';
import { plainAccount, plainMatch } from '../../plain.ts';
import { bookOf, NOON, recordsOf } from '../hand.ts';

/** Two combines of 1,000 records each; A cuts 8 kg/s, B 5 kg/s. */
const records = recordsOf([8, 5].map((flow, c) => ({ name: 'AB'[c]!, from_s: 0, to_s: 1000, flow: () => flow })));
const account = plainAccount(records);
const TRUE = [1.05, 0.94];
/** The match under another unit: half of each log is one unloading. */
function solved(weight_kg: number, supposed: Account, scale: Float64Array | null, more: Partial<Match> = {}): Match {
	const half = (c: number, from: number) => {
		let kg = 0;
		for (let i = from; i < from + 500; i++) kg += supposed.account_kg[1000 * c + i]!;
		return kg;
	};
	return plainMatch({
		under: { weight_kg, account: supposed, scale, seams: [], book: bookOf([]) },
		factors: TRUE,
		unloadings: [0, 1].flatMap((combine) =>
			[0, 500].map((from) => ({
				...({} as Match['unloadings'][0]),
				combine,
				from,
				to: from + 500,
				account_kg: half(combine, from),
				rest_kg: 200,
				u_rest_kg: 150,
				deduced_kg: 900,
			})),
		),
		weighings: [
			{ ...({} as Match['weighings'][0]), weight_kg: 4000, reference_kg: 4200, u_reading_kg: 20, u_gross_kg: [10, 30] },
		],
		start_kg: [0, 1].map(() => ({ kg: 50, u_kg: 40 })),
		...more,
	});
}
const factorsOf = (more: Partial<Factor> = {}): Factors => ({
	factors: TRUE.map((k, c) =>
		factorOf(c, k, {
			interval: [k - 0.01, k + 0.01],
			next_interval: [k - 0.03, k + 0.03],
			...structuredClone(more),
		}),
	),
	factor: Float64Array.from({ length: records.n }, (_, i) => TRUE[records.combine[i]!]!),
	u_rel: new Float64Array(records.n),
	covariance: new Float64Array(4),
});
const corrected = (factors: Factors, kg: Float64Array) => kg.reduce((sum, x, i) => sum + x * factors.factor[i]!, 0);

describe('a match under pounds in place of kilograms', () => {
	const factors = factorsOf();
	const match = inGivenUnits(solved(POUND_KG, account, null), factors, records, account);

	it('has its masses in the weights’ own unit', () => {
		const lb = (kg: number) => kg / POUND_KG;
		for (const u of match.unloadings) {
			expect([u.rest_kg, u.u_rest_kg, u.deduced_kg]).toEqual([200, 150, 900].map(lb));
			// What the monitors recorded is not in that unit.
			expect(u.account_kg).toBe(u.combine === 0 ? 4000 : 2500);
		}
		expect(match.weighings[0]).toMatchObject({
			weight_kg: lb(4000),
			reference_kg: lb(4200),
			u_reading_kg: lb(20),
			u_gross_kg: [lb(10), lb(30)],
		});
		expect(match.start_kg[0]).toEqual({ kg: lb(50), u_kg: lb(40) });
		expect(match.under).toBeUndefined();
	});

	it('has factors that take records to it, with their intervals', () => {
		TRUE.forEach((k, c) => {
			const f = factors.factors[c]!;
			expect(f.value).toBeCloseTo(k / POUND_KG, 9);
			expect(f.interval[0]).toBeCloseTo((k - 0.01) / POUND_KG, 9);
			expect(f.next_interval[1]).toBeCloseTo((k + 0.03) / POUND_KG, 9);
			expect(f.form).toBe('constant');
			expect(match.factors[c]).toBeCloseTo(k / POUND_KG, 9);
		});
		expect(corrected(factors, account.account_kg)).toBeCloseTo((8000 * TRUE[0]! + 5000 * TRUE[1]!) / POUND_KG, 6);
	});

	it('leaves the one that was solved as it was', () => {
		const before = solved(POUND_KG, account, null);
		inGivenUnits(before, factorsOf(), records, account);
		expect(before).toEqual(solved(POUND_KG, account, null));
	});
});

describe('a match with half of one log in another unit', () => {
	const scale = Float64Array.from({ length: records.n }, (_, i) => (i >= 500 && i < 1000 ? POUND_KG : 1));
	const supposed = { ...account, account_kg: account.account_kg.map((kg, i) => kg * scale[i]!) };
	const whole = (1 + POUND_KG) / 2;

	it('has that log’s masses as written, and a factor that steps with the unit', () => {
		const factors = factorsOf();
		const match = inGivenUnits(solved(1, supposed, scale), factors, records, account);
		expect(match.unloadings.map((u) => u.account_kg)).toEqual([4000, 4000, 2500, 2500]);
		const [a, b] = factors.factors;
		expect(a).toMatchObject({ form: 'step' });
		expect(a!.changes.map((k) => k.time_s - NOON)).toEqual([1, 501]);
		expect(a!.changes[0]!.value).toBeCloseTo(1.05, 9);
		expect(a!.changes[1]!.value).toBeCloseTo(1.05 * POUND_KG, 9);
		// Corrected over account mass of the whole field, whatever the form.
		expect(a!.value).toBeCloseTo(1.05 * whole, 9);
		expect(b).toMatchObject({ form: 'constant', value: 0.94 });
		expect(corrected(factors, account.account_kg)).toBeCloseTo(8000 * whole * 1.05 + 5000 * 0.94, 6);
	});

	it('has steps and knots of its own in the unit of their time', () => {
		const at = (t: number, value: number) => ({ time_s: NOON + t, value });
		const step = factorsOf({ form: 'step', changes: [at(0, 1.1), at(200.5, 1)] });
		inGivenUnits(solved(1, supposed, scale), step, records, account);
		expect(step.factors[0]!.changes).toEqual([at(0, 1.1), at(200.5, 1), at(501, POUND_KG)]);
		expect(step.factors[1]!.changes).toEqual([at(0, 1.1), at(200.5, 1)]);
		const trend = factorsOf({ form: 'trend', knots: [at(100, 1.1), at(900, 1)] });
		inGivenUnits(solved(1, supposed, scale), trend, records, account);
		expect(trend.factors[0]).toMatchObject({ form: 'trend', knots: [at(100, 1.1), at(900, POUND_KG)] });
		const flow = factorsOf({ form: 'flow', curve: [{ flow_kg_s: 8, value: 1 }] });
		inGivenUnits(solved(1, supposed, scale), flow, records, account);
		expect(flow.factors[0]!.curve[0]!.value).toBeCloseTo(whole, 9);
	});

	it('has what the evidence gives beside a factor set by hand', () => {
		const weighed = { value: 1.04, interval: [1.02, 1.06] as [number, number], n: 5, source: 'dumps' as const };
		const factors = factorsOf({ source: 'pinned', weighed });
		inGivenUnits(solved(1, supposed, scale), factors, records, account);
		expect(factors.factors[0]!.weighed!.value).toBeCloseTo(1.04 * whole, 9);
		expect(factors.factors[0]!.weighed!.interval[1]).toBeCloseTo(1.06 * whole, 9);
		expect(factors.factors[1]!.weighed).toEqual(weighed);
		expect(weighed.value).toBe(1.04);
	});
});

it('a match as written stays, and factors set by hand are as they are', () => {
	const plain = plainMatch();
	const factors = factorsOf();
	expect(inGivenUnits(plain, factors, records, account)).toBe(plain);
	expect(factors).toEqual(factorsOf());
	expect(restatedBy(plain, records, account)).toBeUndefined();
});

it('a combine that recorded nothing has no other factor', () => {
	const none = { ...account, account_kg: account.account_kg.map((kg, i) => (records.combine[i] === 1 ? 0 : kg)) };
	expect(restatedBy(solved(POUND_KG, none, null), records, none)).toEqual([1 / POUND_KG, 1]);
	const factors = factorsOf();
	inGivenUnits(solved(POUND_KG, none, null), factors, records, none);
	expect(factors.factors[1]!.value).toBe(0.94);
});

it('a match with a sensor that saturates has a factor that rises with flow', () => {
	const rising = recordsOf([4, 12].map((flow) => ({ name: 'A', from_s: 0, to_s: 1000, flow: () => flow })));
	rising.combine.fill(0);
	rising.combines = ['A'];
	const recorded = plainAccount(rising);
	// Above 6 kg/s a third of the flow is recorded: what was recorded as 12 kg/s is 24.
	const saturation = { combine: 0, from_kg_s: 6, lacking: 2, flows_kg_s: [4, 12] as [number, number] };
	const scale = rising.flow_kg_s.map((q) => unsaturated(saturation, q));
	const supposed = { ...recorded, account_kg: recorded.account_kg.map((kg, i) => kg * scale[i]!) };
	const factors = { ...factorsOf(), factor: new Float64Array(rising.n).fill(1.05) };
	factors.factors.pop();
	const under = { weight_kg: 1, account: supposed, scale, seams: [], book: bookOf([]), saturation };
	inGivenUnits(plainMatch({ under, factors: [1.05] }), factors, rising, recorded);
	const [a] = factors.factors;
	expect(a).toMatchObject({ form: 'flow', changes: [] });
	expect(a!.curve[0]).toEqual({ flow_kg_s: 4, value: 1.05 });
	expect(a!.curve.at(-1)).toEqual({ flow_kg_s: 12, value: 2 * 1.05 });
	expect(a!.value).toBeCloseTo((1.05 * (4 + 24)) / 16, 9);
	expect(corrected(factors, recorded.account_kg)).toBeCloseTo(1.05 * 28_000, 6);
});
