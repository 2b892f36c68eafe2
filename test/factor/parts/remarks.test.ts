import { describe, expect, it } from 'vitest';
import { CONSTANT } from '../../../lib/factor/form/shape.ts';
import type { FactorInput } from '../../../lib/factor/input.ts';
import { covarianceOf, levelOf } from '../../../lib/factor/report/per-record.ts';
import { remarks } from '../../../lib/factor/report/remarks.ts';
import type { Solved } from '../../../lib/factor/solve-weights.ts';
import type { Factor, FieldPlan, SeamJump } from '../../../lib/model/index.ts';
import { plainMatch, plainPlan } from '../../plain.ts';
import { factorOf, jump, unloadingsOf, weighing } from './hand.ts';

interface Given {
	plan?: Partial<FieldPlan>;
	jumps?: SeamJump[];
	/** Combines of the unloadings, 500 s and 6 t each, and which of them were weighed on their own. */
	of?: number[];
	weighed?: number[];
	own?: number[];
	/** Factors of A and B. */
	k?: [number, number];
	/** The forms chosen, whether at an event that was entered. */
	noted?: (boolean | null)[];
	under?: boolean;
	covariance?: number[];
}

/** What is remarked on two combines, by default two tank loads of A and then two of B. */
function told(factors: Factor[], given: Given = {}) {
	const of = given.of ?? [0, 0, 1, 1];
	const unloadings = unloadingsOf(of);
	const order = given.weighed ?? unloadings.map((_, i) => i);
	const match = plainMatch({ unloadings, weighings: unloadings.map((_, i) => weighing([i])) });
	if (given.under) match.under = {} as never;
	const input = {
		records: { combines: ['A', 'B'], time_s: new Float64Array(0) },
		plan: plainPlan({ timeZone: 'UTC', ...given.plan }),
		match,
		jumps: given.jumps ?? [],
	} as unknown as FactorInput;
	const solved = {
		interpretation: { choices: (given.noted ?? [null, null]).map((noted) => (noted === null ? null : { noted })) },
		flows: {},
		chain: { order, match },
		time: {
			segments: unloadings.map((u, unloading) => ({
				combine: u.combine,
				unloading,
				pieces: [{ kg: 6000, time_s: u.end_s - 250, start_s: u.end_s - 500, end_s: u.end_s }],
			})),
			ofUnloading: unloadings.map((_, i) => i),
			account_kg: [0, 1].map((c) => 6000 * of.filter((x) => x === c).length),
		},
		coverage: { own: given.own ?? [1, 1] },
		scatter: { rests: 1 },
		shapes: [CONSTANT, CONSTANT],
		at: { factor: [0, 1] },
		tape: { x: given.k ?? [1, 1] },
	} as unknown as Solved;
	return remarks(input, solved, factors, Float64Array.from(given.covariance ?? [1e-4, 0, 0, 1e-4]));
}
const [A, B] = [factorOf(0, 1), factorOf(1, 1)];
const NOTHING = { notes: [], cautions: [] };

describe('remarks on the factors', () => {
	it('none where all is as usual', () => {
		expect(told([A, B])).toEqual(NOTHING);
		expect(told([A, B], { noted: [false, true] })).toEqual(NOTHING);
	});

	it('nothing weighed, or a combine without weights', () => {
		const none = (c: number) => factorOf(c, Number.NaN, { source: null });
		expect(told([none(0), none(1)]).cautions).toEqual([
			'Weigh a few dumps, or get tickets for a few truckloads, to find how far the monitors are off.',
		]);
		expect(told([A, none(1)]).cautions).toEqual([
			'Combine B has no weights and no seam with a weighed combine. Its yields are as recorded.',
		]);
		expect(told([A, factorOf(1, 1, { source: 'seams' })]).cautions).toEqual([
			'Combine B has no usable weight. Its factor comes from the seams with its neighbors, as if all left equally little grain on the ground.',
		]);
	});

	it('set by hand: against what was weighed', () => {
		const pinned = (value: number, weighed: [number, number] | null) =>
			told([
				factorOf(0, value, {
					source: 'pinned',
					weighed: weighed && { value: (weighed[0] + weighed[1]) / 2, interval: weighed, n: 5, source: 'dumps' },
				}),
				B,
			]).cautions;
		expect(pinned(0.9, null)).toEqual([
			'The factor of combine A, 0.9, was set by hand. Nothing that was weighed supports or contradicts it.',
		]);
		const against = (verdict: string) =>
			`The factor of combine A, 0.9, was set by hand. The weights give 0.950 (95% interval 0.900 to 1.000); ${verdict}`;
		expect(pinned(0.9, [0.9, 1])).toEqual([against('no difference shown.')]);
		expect(pinned(0.9, [0.901, 1])[0]).toContain('difference shown: check the entry.');
		expect(pinned(0.9, [0.8, 0.9])[0]).toContain('no difference shown.');
		expect(pinned(0.9, [0.8, 0.899])[0]).toContain('; difference shown');
	});

	it('a pattern set by hand, or a change at an event that was entered', () => {
		const plan = { pins: { factors: { A: { form: 'trend' as const }, B: { value: 1 } } } };
		expect(told([A, B], { plan }).notes).toEqual(['The pattern of combine A’s factor was set by hand.']);
		const step = factorOf(1, 1, { form: 'step' });
		expect(told([A, step], { noted: [null, true] }).notes).toEqual([
			'The factor of combine B changes at the event that was entered.',
		]);
		expect(told([A, step], { noted: [null, false] }).notes).toEqual([]);
	});

	it('a factor of another unit, unless the match assumes one', () => {
		const odd = factorOf(0, 0.4536);
		expect(told([odd, B]).cautions).toHaveLength(1);
		expect(told([odd, B], { under: true })).toEqual(NOTHING);
	});

	it('grain far from any weight, by its share', () => {
		// Six tank loads of A, 500 s each.
		const of = [0, 0, 0, 0, 0, 0, 1];
		const far = (weighed: number[]) => told([A, B], { of, weighed }).cautions;
		expect(far([1, 4, 6])).toEqual([]);
		const missed = (when: string) => [
			`No dump of combine A was weighed ${when}. Had the monitor been recalibrated then, no weight would show it. Weigh dumps ` +
				'through the whole day.',
		];
		expect(far([2, 4, 6])).toEqual(missed('before Jan 1, 12:16 AM (33% of its grain)'));
		expect(far([1, 3, 6])).toEqual(missed('after Jan 1, 12:33 AM (33% of its grain)'));
		expect(far([3, 2, 6])).toEqual(
			missed('before Jan 1, 12:16 AM (33% of its grain) or after Jan 1, 12:33 AM (33% of its grain)'),
		);
		expect(far([6])).toEqual([]);
	});

	it('weights and seams that differ', () => {
		const differ = (log_jump: number, more: Given = {}) =>
			told([A, B], { jumps: [jump(0, 1, { log_jump, u_log: 0.003, df: 8 })], covariance: [0, 0, 0, 0], ...more }).notes;
		expect(differ(0.05)).toEqual([
			'The weights and the seams of combines A and B differ by 5.0%: by the weights, B brought in less from the same ground. ' +
				'Possible causes: grain left on the ground behind it, a header narrower than set, two carts whose scales differ, a ' +
				'monitor that changed within the field, or a crop that differed from pass to pass. The difference is shown, not removed.',
		]);
		expect(differ(-0.05)[0]).toContain('by the weights, A brought in less');
		// More than grain left on the ground.
		const far = { jumps: [jump(0, 1, { log_jump: 0.15, u_log: 0.003, df: 8 })], covariance: [0, 0, 0, 0] };
		expect(told([A, B], far).notes).toEqual([]);
		expect(told([A, B], far).cautions[0]).toContain('differ by 15.0%');
		const ticketed = [A, B].map((f) => ({ ...f, source: 'tickets' as const }));
		expect(told(ticketed, far).cautions[0]).toContain('a ticket that is missing, wrong or of another field');
		// t(0.9975; 8) = 3.833: 3.833 × 0.003 = 0.0115.
		expect(differ(0.0116)).toHaveLength(1);
		expect(differ(0.0114)).toEqual([]);
		// Less than 1 % is not worth a note, however sure.
		const sure = [jump(0, 1, { log_jump: 0.0099, u_log: 1e-4, df: 8 })];
		expect(differ(0, { jumps: sure })).toEqual([]);
		// What the factors themselves are uncertain by, less what they share.
		expect(differ(0.05, { covariance: [1e-4, 0, 0, 1e-4] })).toEqual([]);
		expect(differ(0.05, { covariance: [1e-4, 1e-4, 1e-4, 1e-4] })).toHaveLength(1);
		// The weights' own ratio.
		expect(differ(Math.log(1.05), { k: [1, 1.05] })).toEqual([]);
		// Factors that are not of own weights, one combine against itself, no jump.
		expect(differ(0.05, { own: [1, 0] })).toEqual([]);
		expect(differ(0.05, { own: [0, 1] })).toEqual([]);
		expect(differ(0, { jumps: [jump(0, 0)] })).toEqual([]);
		expect(differ(Number.NaN)).toEqual([]);
	});
});

describe('factors by record', () => {
	const records = { time_s: Float64Array.of(0, 10, 20, 30), combine: Uint8Array.of(0, 0, 0, 1), combines: ['A', 'B'] };
	const account_kg = Float64Array.of(1, 3, 5, 7);
	const account = { account_kg, monitor_kg: account_kg, fault: new Uint8Array(4) };
	const input = { records, account } as unknown as FactorInput;
	/** A trend about 10 s: 2 + 0.1 × (t − 10)/10, over records 0, 1 and 2; the mass brought in is the third quantity. */
	const solved = {
		shapes: [{ ...CONSTANT, form: 'trend', middle_s: 10, half_s: 10 }],
		at: { factor: [0], brought: [2] },
		tape: { n: 3, x: [2, 0.1, 19], P: [0.04, 0.01, 0, 0.01, 0.02, 0, 0, 0, 0.81] },
		time: { orders: [Int32Array.of(0, 1, 2)], account_kg: [9] },
		scatter: { sigma: 0.01 },
		unrecorded: [0],
		flows: { flow: new Float64Array(4) },
	} as unknown as Solved;
	const blank = () => ({ factor: new Float64Array(4).fill(-1), u_rel: new Float64Array(4).fill(-1) });

	it('follow the form and add up to the mass brought in', () => {
		const to = blank();
		const { value, shift } = levelOf(input, solved, 0, to);
		expect(value).toBeCloseTo(19 / 9, 12);
		// The records' own: 1.9 + 3·2 + 5·2.1 = 18.4 of the 19 t.
		expect(shift).toBeCloseTo((19 - 18.4) / 9, 12);
		[1.9, 2, 2.1].forEach((v, i) => {
			expect(to.factor[i]).toBeCloseTo(v + shift, 12);
		});
		expect([to.factor[3], to.u_rel[3]]).toEqual([-1, -1]);
		// Variances by hand: 0.04 ∓ 2·0.01 + 0.02, and 0.04 in the middle.
		[0.04, 0.04, 0.08].forEach((variance, i) => {
			expect(to.u_rel[i]).toBeCloseTo(Math.sqrt(variance / [1.9, 2, 2.1][i]! ** 2 + 1e-4), 12);
		});
	});

	it('add up to a factor set by hand', () => {
		const to = blank();
		const { value, shift } = levelOf(input, solved, 0, to, 2.5);
		expect(value).toBe(2.5);
		expect(shift).toBeCloseTo(2.5 - 18.4 / 9, 12);
		expect((to.factor[0]! + 3 * to.factor[1]! + 5 * to.factor[2]!) / 9).toBeCloseTo(2.5, 12);
	});

	it('are the level’s where nothing came in', () => {
		const none = { ...solved, time: { orders: [new Int32Array(0)], account_kg: [0] } } as unknown as Solved;
		expect(levelOf(input, none, 0, blank())).toEqual({ value: 2, shift: 0, u_unrecorded_rel: 0 });
	});

	it('covary by the mass brought in, relative to their values', () => {
		const two = {
			at: { brought: [0, 1, 2] },
			tape: { n: 3, P: [9, 4, 0, 4, 9, 0, 0, 0, 0] },
			time: { account_kg: [10, 20, 0] },
		} as unknown as Solved;
		const factors = [factorOf(0, 2, { u_rel: 0.1 }), factorOf(1, 4, { u_rel: 0.2 }), factorOf(2, 1)];
		const found = covarianceOf(two, factors);
		const expected = [0.01, 4 / (200 * 8), 0, 4 / (200 * 8), 0.04, 0, 0, 0, 1e-4];
		expected.forEach((v, i) => {
			expect(found[i]).toBeCloseTo(v, 15);
		});
		const unknown = covarianceOf(two, [factors[0]!, factorOf(1, Number.NaN, { source: null }), factors[2]!]);
		expect(unknown[0]).toBeCloseTo(0.01, 15);
		for (const i of [1, 3, 4, 5, 7]) expect(unknown[i]).toBeNaN();
	});
});
