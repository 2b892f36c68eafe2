import type { Assignment, Hypothesis } from '../beam/hypothesis.ts';
import { assignmentsOf } from '../beam/hypothesis.ts';
import type { Problem } from '../problem/problem.ts';

/** Readings within so many nats of the best fit almost as well. */
const ALMOST = 2.3;

/** Dumps that another hypothesis, almost as cheap, takes for something else. */
export function doubts(problem: Problem, readings: readonly Hypothesis[]): Set<number> {
	const best = readings[0];
	const set = new Set<number>();
	if (!best) return set;
	const first = assignmentsOf(best);
	const compare = (other: Hypothesis): void => {
		assignmentsOf(other).forEach((assignment, i) => {
			if (!alike(first[i] as Assignment, assignment)) set.add(problem.observations[assignment.observation]!.dump);
		});
	};
	for (const other of readings.slice(1)) {
		if (other.cost - best.cost > ALMOST) break;
		compare(other);
	}
	for (let r: Hypothesis | null = best; r; r = r.parent) {
		for (const rival of r.rivals) if (rival.cost - r.cost < ALMOST) compare(rival);
	}
	return set;
}

function alike(a: Assignment, b: Assignment): boolean {
	const same = a.kind === b.kind && a.combine === b.combine && a.other === b.other;
	return same && a.inserts.length === b.inserts.length && (a.place?.run ?? -1) === (b.place?.run ?? -1);
}
