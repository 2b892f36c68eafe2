import type { Explained } from '../explained.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of tank sizes that are wrong as entered, nats. */
const WRONG = 5;

/** The field without the sizes given for tanks, where the weights seem to be of several tank loads each. */
export function otherTanks({ input, problem }: Explained): Supposition[] {
	const { plan, records } = input;
	if (!problem.wholeLoads || records.combines.every((name) => !plan.combines[name]?.tank_kg)) return [];
	const combines = Object.fromEntries(
		Object.entries(plan.combines).map(([name, given]) => [name, { ...given, tank_kg: null }]),
	);
	return [
		{
			input: { ...input, plan: { ...plan, combines } },
			price: WRONG,
			caution:
				'The weights fit the logs only as dumps of larger tanks than field.json gives. The sizes given are not used: check tank_kg.',
			undo() {},
		},
	];
}
