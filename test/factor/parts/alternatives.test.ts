import { describe, expect, it } from 'vitest';
import type { CartForm } from '../../../lib/factor/chain/cart-form.ts';
import { CONSTANT, type Shape } from '../../../lib/factor/form/shape.ts';
import type { FactorInput } from '../../../lib/factor/input.ts';
import { alternativeCautions } from '../../../lib/factor/report/alternative-cautions.ts';
import type { Solved } from '../../../lib/factor/solve-weights.ts';
import { dump } from '../../match/hand.ts';
import { plainMatch, plainPlan } from '../../plain.ts';
import { unloadingsOf, weighing } from './hand.ts';

/** 2026-10-03, noon in Chicago. */
const NOON_S = Date.UTC(2026, 9, 3, 17) / 1000;

/** Eight dumps of A and B by turns. */
const input = (combines = ['A', 'B']): FactorInput => {
	const unloadings = unloadingsOf(Array.from({ length: 8 }, (_, i) => i % combines.length));
	return {
		records: { combines },
		match: plainMatch({ unloadings, weighings: unloadings.map((_, i) => weighing([i])) }),
		book: { dumps: unloadings.map((_, i) => dump(`D${i + 1}`, i, 0, 6000)), offloads: [], tickets: [] },
		plan: plainPlan({ timeZone: 'America/Chicago' }),
	} as unknown as FactorInput;
};

interface Told {
	cart?: Partial<CartForm>;
	weight?: number;
	shapes?: Shape[];
	/** Whether a truckload checks the scale, with its shares by scale. */
	loads?: { used: boolean; shares: number[] }[];
	others?: { name: string | null; u: number }[];
	of?: number[];
	/** Factors of A, what they add by a step, and so on; then the cart's coefficients. */
	x?: number[];
	own?: number[];
	bySeams?: { combine: number; shape: Shape; log: number } | null;
	chosen?: Shape[];
}

/** A hypothesis: coefficients of A at 0 and 1, of B at 2 and 3, of the cart from 4 on. */
function hypothesis(told: Told = {}): Solved {
	const { loads = [], others = [], shapes = [CONSTANT, CONSTANT], chosen = shapes } = told;
	return {
		cart: { kind: 'none', at: -1, right: 'first', ...told.cart },
		weight: told.weight ?? 1,
		shapes,
		interpretation: { choices: chosen.map((shape) => ({ shape })) },
		bySeams: told.bySeams ?? null,
		coverage: { own: told.own ?? [4, 4] },
		at: { factor: [0, 2], cart: [4, 5, 6, 7, 8] },
		tape: { x: told.x ?? [1, 0, 1, 0, 0, 0, 0, 0, 0] },
		chain: {
			order: [0, 1, 2, 3, 4, 5, 6, 7],
			steps: [{ do: 'in' }, { do: 'weigh', time_s: NOON_S }, { do: 'check', time_s: NOON_S + 60 }],
			scales: { loads, others, of: told.of ?? Array<number>(8).fill(0) },
		},
	} as unknown as Solved;
}

const step = (time_s: number): Shape => ({ ...CONSTANT, form: 'step', changes_s: [time_s] });
const TREND: Shape = { ...CONSTANT, form: 'trend', half_s: 3600 };
const checks = [{ used: true, shares: [1] }];

describe('cautions on what is not ruled out', () => {
	it('none where one hypothesis remains, with nothing unusual', () => {
		expect(alternativeCautions(input(), [hypothesis()])).toEqual([]);
	});

	it('a change of the cart’s scale, likelier than not', () => {
		expect(alternativeCautions(input(), [hypothesis({ cart: { kind: 'step', at: 1 }, weight: 0.8 })])).toEqual([
			"The weights of combines A and B changed together at Oct 3, 12:00 PM: the cart's scale changed, not the monitors. No " +
				'truckload shows when it was right, so the factors allow for either. Get tickets for truckloads through the day. ' +
				'Check the load cells and the zero of the cart scale.',
		]);
		const [checked] = alternativeCautions(input(), [
			hypothesis({ cart: { kind: 'step', at: 2 }, weight: 0.8, loads: checks, own: [4, 0] }),
			hypothesis({ weight: 0.2 }),
		]);
		expect(checked).toBe(
			"The weights of combine A changed together at Oct 3, 12:01 PM: the cart's scale changed, not the monitor. Truckloads show " +
				'by how much it was off. Not ruled out: nothing changed. The factors allow for both. Check the load cells and the ' +
				'zero of the cart scale.',
		);
		const steps = [step(NOON_S), CONSTANT];
		const [monitors] = alternativeCautions(input(), [
			hypothesis({ cart: { kind: 'step', at: 0 }, weight: 0.6 }),
			hypothesis({ weight: 0.4, shapes: steps, chosen: steps }),
		]);
		expect(monitors).toContain("at some time: the cart's scale changed, not the monitors.");
		expect(monitors).toContain('Not ruled out: the monitors changed instead. The factors allow for both.');
	});

	it('one that is less likely, with truckloads and without', () => {
		const either = (loads: Told['loads']) =>
			alternativeCautions(input(), [
				hypothesis({ weight: 0.5, loads }),
				hypothesis({ cart: { kind: 'drift' }, weight: 0.3, x: [1, 0, 1, 0, 0, 0, -0.0312] }),
				hypothesis({ cart: { kind: 'step', at: 1 }, weight: 0.2 }),
			])[0];
		const changed =
			"Not ruled out: the weights of combines A and B changed together by 3.1% over the field: the cart's scale drifted, not " +
			'the monitors. The factors allow for both. ';
		expect(either(checks)).toBe(
			`${changed}Tickets through the day would decide. Check the load cells and the zero of the cart scale.`,
		);
		expect(either([{ used: false, shares: [1] }])).toBe(
			`${changed}No truckload shows when it was right, so the factors allow for either. Get tickets for truckloads through ` +
				'the day. Check the load cells and the zero of the cart scale.',
		);
	});

	it('a change that only the seams show', () => {
		const shape = step(NOON_S);
		const seen = hypothesis({ bySeams: { combine: 1, shape, log: Math.log(1.05) } });
		expect(alternativeCautions(input(), [seen, seen])).toEqual([
			'The seams changed within the field: possibly a recalibration of combine B from Oct 3, 12:00 PM (by -4.8%). The factors ' +
				'allow for it. Weigh dumps through the whole day.',
		]);
		const found = hypothesis({ bySeams: { combine: 1, shape, log: 0.05 }, chosen: [CONSTANT, shape] });
		expect(alternativeCautions(input(), [found])).toEqual([]);
	});

	it('a factor that changed, or grain left in the tank', () => {
		const either = (shape: Shape) =>
			alternativeCautions(input(), [hypothesis(), hypothesis({ shapes: [CONSTANT, shape] })]);
		const fits = (how: string) => [
			`The weights of combine B fit ${how} and one that stayed the same, with grain left in the tank, nearly as well. The ` +
				'factor allows for both. More dumps would decide.',
		];
		expect(either(step(NOON_S))).toEqual(fits('a factor that changed at Oct 3, 12:00 PM'));
		expect(either(TREND)).toEqual(fits('a factor that drifted'));
		const both = hypothesis({ shapes: [CONSTANT, TREND] });
		expect(alternativeCautions(input(), [both, both])).toEqual([]);
	});

	it('two carts by turns', () => {
		const turns = (x: number[], loads: Told['loads'], of: number[]) =>
			alternativeCautions(input(), [
				hypothesis({ cart: { kind: 'two' }, x, loads, of, others: [{ name: null, u: 0.03 }] }),
			]);
		expect(turns([1, 0, 1, 0, 0.01, 0, 0.08], [], [0, 1, 0, 1, 0, 0, 0, -1])).toEqual([
			'Dumps D2, D4 weigh 7.0% more than the others, of whichever combine, as if two carts had taken turns. No truckload shows ' +
				'which is right, so the factors allow for either. Get tickets for truckloads of both. Note the cart with each weight.',
		]);
		expect(turns([1, 0, 1, 0, 0.01, 0, -0.05], checks, [1, 1, 1, 1, 1, 1, 1, 0])[0]).toBe(
			'Dumps D1, D2, D3, D4, D5 and 2 more weigh 6.0% less than the others, of whichever combine, as if two carts had taken ' +
				'turns. Truckloads show by how much each is off. Note the cart with each weight.',
		);
	});

	it('a scale that no ticket checks', () => {
		const of = [0, 1, 0, 1, 0, 0, 2, 2];
		const others = [
			{ name: 'red', u: 0.05 / Math.sqrt(3) },
			{ name: 'blue', u: 0.01 / Math.sqrt(3) },
			{ name: 'idle', u: 0.01 },
		];
		const loads = [
			{ used: true, shares: [0.5, 0, 0.5, 0] },
			{ used: false, shares: [0, 1, 0, 0] },
		];
		expect(alternativeCautions(input(), [hypothesis({ others, of, loads })])).toEqual([
			'No ticket checks scale red, which weighed dumps of B: it is assumed good to ±5%. Get tickets for truckloads of this cart ' +
				'too.',
		]);
		expect(alternativeCautions(input(), [hypothesis({ others, of })])[1]).toContain(
			'scale blue, which weighed dumps of A and B: it is assumed good to ±1%',
		);
	});
});
