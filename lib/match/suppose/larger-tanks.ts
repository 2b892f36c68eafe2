import type { Explained } from '../explained.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of tanks that hold more than is given for them, nats. */
const TOO_SMALL = 5;

/** The field with tanks as large as the weights, where many weigh more than a tank is said to hold. */
export function largerTanks({ input, problem }: Explained): Supposition[] {
	if (!problem.wholeLoads) return [];
	const { plan } = input;
	const combines = Object.fromEntries(
		Object.entries(plan.combines).map(([name, combine]) => [name, { ...combine, tank_kg: null }]),
	);
	return [
		{
			input: { ...input, plan: { ...plan, combines } },
			price: TOO_SMALL,
			caution:
				'Many dumps weigh more than tank_kg in field.json says that a tank holds, and fit the logs as single tank loads: tank_kg is not used. Check it, and the unit of the weights.',
			undo() {},
		},
	];
}
