import { appliedFactor, type ComparedPair, type Comparison } from '../model/index.ts';
import { columnOf } from '../stats/index.ts';
import { combineOf } from './combine.ts';
import type { CompareInput } from './input.ts';
import { pairOf } from './pair.ts';
import { dayOf } from './workday.ts';

export type { CompareInput } from './input.ts';

/**
 * Compares the combines of one field: what each did, how its time was spent, and where they differ. Every difference has
 * a 95 % interval and one of three verdicts: difference shown, no difference shown, not enough data.
 */
export function compareCombines(input: CompareInput): Comparison {
	const { records, account, factors } = input;
	const mass = columnOf(account.account_kg, (m, i) => m * appliedFactor(factors.factor[i]!));
	const days = records.combines.map((name, c) =>
		dayOf({ ...input, mass_kg: mass, tank_kg: input.plan.combines[name]?.tank_kg ?? null }, c),
	);
	const all = records.combines.map((_, c) => combineOf(input, mass, days[c]!, c));
	const live = all.filter((c) => c.worked_s > 0);
	const pairs: ComparedPair[] = [];
	for (let i = 0; i < live.length; i++) {
		for (let j = i + 1; j < live.length; j++) pairs.push(pairOf(input, live[i]!, live[j]!, days));
	}
	return { combines: live, pairs, advice: fairTest(pairs) };
}

function fairTest(pairs: readonly ComparedPair[]): string[] {
	if (pairs.length === 0) return ['Only one combine cut this field, so there is nothing to compare.'];
	return [
		'For a fair test, let both cut side by side, pass by pass, at your usual speeds.',
		'Swap sides after every few rounds, so that neither has the better side of the field.',
		'Empty both tanks fully before the first and after the last pass of the test.',
		'Weigh at least six dumps of each on the same cart, stopped and level.',
		'Check behind both for grain on the ground; no scale weighs it.',
	];
}
