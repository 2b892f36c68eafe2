import type { Assignment, Hypothesis } from '../beam/hypothesis.ts';
import type { Problem } from '../problem/problem.ts';

/** Hypotheses within this of the best fit almost as well, nats. */
const ALMOST = 2.3;

/** Finds dumps that another hypothesis, which fits almost as well, explains differently. */
export function uncertainDumps(problem: Problem, hypotheses: readonly Hypothesis[]): Set<number> {
	const best = hypotheses[0];
	const set = new Set<number>();
	if (!best) return set;
	// Two hypotheses over the same dumps, back to where they differ first.
	const compare = (own: Hypothesis, other: Hypothesis): void => {
		let a: Hypothesis | null = own;
		let b: Hypothesis | null = other;
		for (; a && b && a !== b; a = a.parent, b = b.parent) {
			if (!a.assignment || !b.assignment) break;
			if (!alike(a.assignment, b.assignment)) set.add(problem.observations[a.assignment.observation]!.dump);
		}
	};
	for (const other of hypotheses.slice(1)) {
		if (other.cost - best.cost > ALMOST) break;
		compare(best, other);
	}
	for (let r: Hypothesis | null = best; r; r = r.parent) {
		for (const rival of r.rivals) if (rival.cost - r.cost < ALMOST) compare(r, rival);
	}
	return set;
}

function alike(a: Assignment, b: Assignment): boolean {
	return (
		a.kind === b.kind &&
		a.parts.length === b.parts.length &&
		a.parts.every((p, n) => p.combine === b.parts[n]!.combine) &&
		a.inserts.length === b.inserts.length &&
		a.parts[0]?.place.run === b.parts[0]?.place.run
	);
}
