import type { Explained } from '../explained.ts';
import { silentAt } from '../problem/mass.ts';
import type { Supposition } from './supposition.ts';

/** Prior cost of a log that lacks a part, nats. */
const LACKS = 6;

/** The field where dumps that were taken while a log is silent and others go on may be of grain that the log does not hold. */
export function silentLog({ input, problem, offset }: Explained): Supposition[] {
	const { flows, observations } = problem;
	const silent = new Set<number>();
	for (const o of observations) {
		const at = flows.map((f) => silentAt(f, o.time_s + offset.at_s));
		if (at.includes(false)) for (const c of o.combines) if (at[c]) silent.add(c);
	}
	if (silent.size === 0) return [];
	const names = [...silent].sort().map((c) => input.records.combines[c]);
	return [
		{
			input: { ...input, incomplete: true },
			price: LACKS,
			caution: `The weights fit the logs only where the log of combine ${names.join(' or ')} lacks a part: dumps were taken while it holds nothing and others go on. Dumps of that part are not used. Look for a missing file.`,
			undo() {},
		},
	];
}
