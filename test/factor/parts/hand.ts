/** Hand-made matches and factors, in which every number can be followed by eye. */
import type { DumpFate, Factor, Factors, SeamJump, Unloading, Weighing } from '../../../lib/model/index.ts';

/** Unloadings one after the other, each of 6 t taken in over 500 s, by combine. */
export const unloadingsOf = (combines: readonly number[]): Unloading[] =>
	combines.map((combine, i) => ({
		combine,
		fill: `${'ABC'[combine]}${i + 1}`,
		start_s: 500 * i + 440,
		end_s: 500 * i + 500,
		u_s: 2,
		from: 0,
		to: 0,
		account_kg: 6000,
		u_account_kg: 0,
		rest_kg: 300,
		u_rest_kg: 250,
		dump: i,
		ticket: -1,
		unweighed: null,
		deduced_kg: Number.NaN,
	}));

/** A weight of these unloadings, 6 t each. */
export const weighing = (unloadings: number[], more: Partial<Weighing> = {}): Weighing => ({
	kind: unloadings.length > 1 ? 'mixed' : 'dump',
	dumps: unloadings.slice(0, 1),
	ticket: -1,
	weight_kg: 6000 * unloadings.length,
	reference_kg: 6000 * unloadings.length,
	u_reading_kg: 17,
	readings: [-1, -1],
	u_gross_kg: [Number.NaN, Number.NaN],
	byCart: true,
	unloadings,
	used: true,
	...more,
});

export const fate = (dump: number, more: Partial<DumpFate> = {}): DumpFate => ({
	dump,
	combines: [0],
	combineSource: 'noted',
	status: 'used',
	reason: null,
	fill: `A${dump + 1}`,
	unloadings: [dump],
	start_s: 0,
	end_s: 0,
	inDoubt: false,
	...more,
});

export const jump = (combineA: number, combineB: number, more: Partial<SeamJump> = {}): SeamJump =>
	({ combineA, combineB, log_jump: 0.05, u_log: 0.01, df: 8, ...more }) as SeamJump;

/** A constant factor; its 95 % interval is two standard uncertainties to either side. */
export const factorOf = (combine: number, value: number, more: Partial<Factor> = {}): Factor => {
	const u_rel = more.u_rel ?? 0.01;
	return {
		combine,
		form: 'constant',
		value,
		u_rel,
		interval: [value * (1 - 2 * u_rel), value * (1 + 2 * u_rel)],
		next_interval: [value * (1 - 4 * u_rel), value * (1 + 4 * u_rel)],
		n: 5,
		source: 'dumps',
		changes: [],
		knots: [],
		curve: [],
		budget: [],
		scatter_rel: 0.02,
		moreDumps: 3,
		advice: [],
		tried: [],
		...more,
	};
};

/** Factors of combines that each have so many records. */
export const factorsOf = (factors: Factor[], records = 2, covariance?: number[]): Factors => ({
	factors,
	factor: Float64Array.from(factors.flatMap((f) => Array<number>(records).fill(f.value))),
	u_rel: Float64Array.from(factors.flatMap((f) => Array<number>(records).fill(f.u_rel))),
	covariance: Float64Array.from(
		covariance ?? factors.flatMap((f, a) => factors.map((_, b) => (a === b ? f.u_rel ** 2 : 0))),
	),
});
