import { describe, expect, it } from 'vitest';
import type { FactorInput } from '../../../lib/factor/input.ts';
import { unitCautions } from '../../../lib/factor/report/unit-cautions.ts';
import { emptyRecords, type FieldPlan } from '../../../lib/model/index.ts';
import { plainPlan } from '../../plain.ts';
import { factorOf } from './hand.ts';

/** Combine A's records are of log 1, B's of log 0. */
function input(more: Partial<FieldPlan> = {}): FactorInput {
	const records = emptyRecords(4);
	records.combines = ['A', 'B'];
	records.combine.set([1, 1, 0, 0]);
	records.log.set([0, 0, 1, 1]);
	return { records, plan: plainPlan(more) } as unknown as FactorInput;
}
const lb = 0.45359237;

describe('factors that no monitor has', () => {
	it('are none where all are plausible, or unknown', () => {
		const known = [factorOf(0, 0.6), factorOf(1, 1.6)];
		expect(unitCautions(input(), known)).toEqual([]);
		expect(unitCautions(input(), [factorOf(0, Number.NaN, { source: null })])).toEqual([]);
	});

	it('of one combine: its own flow, and the units whose ratio it is', () => {
		const [said, ...more] = unitCautions(input(), [factorOf(0, 1), factorOf(1, lb)]);
		expect(more).toEqual([]);
		expect(said).toBe(
			'The factor of combine B is 0.454: no monitor is that far off. A unit looks wrong in column flow_kg_s ' +
				'(pounds and kilograms). The factor compensates for it; correct the unit in field.json.',
		);
	});

	it('of the only combine: flow or weight', () => {
		const [said] = unitCautions(input(), [factorOf(0, 7.7)]);
		expect(said).toContain(
			'The factor of combine A is 7.70: no monitor is that far off. A unit looks wrong in column flow_kg_s or column weight_kg.',
		);
	});

	it('of all combines alike: the cart’s weights, said once', () => {
		const all = unitCautions(input(), [factorOf(0, 2.2), factorOf(1, 2.3)]);
		expect(all).toHaveLength(1);
		expect(all[0]).toContain('The factors of all combines are 2.20');
		expect(all[0]).toContain('in column weight_kg (pounds and kilograms)');
		// Weights are in no unit of area, and a total has no column.
		const total = [2.42, 2.4].map((value, c) => factorOf(c, value, { source: 'total' }));
		expect(unitCautions(input(), total)[0]).toContain('in column total.wet_kg of field.json (pounds and kilograms)');
		// Not alike, or not all of them: each of its own log.
		expect(unitCautions(input(), [factorOf(0, 2.2), factorOf(1, 2.6)])).toHaveLength(2);
		expect(unitCautions(input(), [factorOf(0, 2.2), factorOf(1, 1)])[0]).toContain('column flow_kg_s (');
		// A combine without a factor says nothing of the others.
		expect(unitCautions(input(), [factorOf(0, 2.2), factorOf(1, 1, { source: null })])[0]).toContain('or column');
	});

	it.each([
		[1 / lb, 'pounds and kilograms'],
		[1000, 'metric tons and kilograms'],
		[1 / 1000, 'metric tons and kilograms'],
		[1000 / lb, 'metric tons and pounds'],
		[25.401, 'bushels and kilograms'],
		[56, 'bushels and pounds'],
		[39.37, 'bushels and metric tons'],
		[0.3048, 'feet and meters'],
		[3600, 'hours and seconds'],
		[1 / 64, 'minutes and seconds'],
		[7, null],
	])('%f: %s', (value, words) => {
		const [said] = unitCautions(input(), [factorOf(0, value)]);
		if (words === null) expect(said).toContain('column weight_kg. The factor');
		else expect(said).toContain(`(${words})`);
	});

	it('also where one part of a step is off, and by the weights of a factor set by hand', () => {
		const stepped = factorOf(0, 1, {
			changes: [
				{ time_s: 0, value: 1 },
				{ time_s: 9, value: lb },
			],
		});
		expect(unitCautions(input(), [stepped])[0]).toContain('is 0.454');
		const pinned = (value: number) =>
			factorOf(0, lb, { source: 'pinned', weighed: { value, interval: [0, 9], n: 3, source: 'tickets' } });
		expect(unitCautions(input(), [pinned(1)])).toEqual([]);
		expect(unitCautions(input(), [pinned(lb)])[0]).toContain('or column net_kg (pounds');
		expect(unitCautions(input(), [factorOf(0, lb, { source: 'pinned', weighed: null })])).toEqual([]);
	});

	it('names the columns as the files have them', () => {
		const log = (combine: string, column: string) => ({
			file: `${combine}.csv`,
			combine,
			columns: { yield: { column } },
		});
		const plan = {
			logs: [log('B', 'Yield B'), log('A', 'Yield A')],
			cartLog: { file: 'cart.csv', columns: { weight: { column: 'Net' } } },
			tickets: { file: 'tickets.csv', columns: { net_lb: { column: 'Pounds' } } },
		} as unknown as Partial<FieldPlan>;
		expect(unitCautions(input(plan), [factorOf(0, lb)])[0]).toContain('in column Yield A or column Net (');
		expect(unitCautions(input(plan), [factorOf(0, lb, { source: 'tickets' })])[0]).toContain('or column Pounds (');
		expect(unitCautions(input(plan), [factorOf(0, 1), factorOf(1, lb)])[0]).toContain('in column Yield B (');
	});
});
