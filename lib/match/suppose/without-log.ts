import type { Explained } from '../explained.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of grain that no log holds, nats. */
const LACKS = 6;
/** With fewer dumps all might be. */
const ENOUGH = 5;

/** The field where dumps without a name may be of grain that no log holds. */
export function withoutLog({ input, problem }: Explained): Supposition[] {
	const { observations } = problem;
	if (observations.length < ENOUGH || observations.every((o) => o.noted)) return [];
	return [
		{
			input: { ...input, incomplete: true },
			price: LACKS,
			caution:
				'The weights fit the logs only where some are of grain that no log here holds: of another combine, or of a part that a log lacks. These dumps are not used. Add the log, or note the combine with each weight.',
			undo() {},
		},
	];
}
