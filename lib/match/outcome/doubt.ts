import type { Assignment, Hypothesis } from '../beam/hypothesis.ts';
import type { Problem } from '../problem/problem.ts';

/** Readings within so many nats of the best fit almost as well. */
const ALMOST = 2.3;

/** Dumps that another hypothesis, almost as cheap, takes for something else. */
export function doubts(problem: Problem, readings: readonly Hypothesis[]): Set<number> {
	const best = readings[0];
	const set = new Set<number>();
	if (!best) return set;
	// Two readings of as many dumps, back to where they part.
	const compare = (own: Hypothesis, other: Hypothesis): void => {
		let a: Hypothesis | null = own;
		let b: Hypothesis | null = other;
		for (; a && b && a !== b; a = a.parent, b = b.parent) {
			if (!a.assignment || !b.assignment) break;
			if (!alike(a.assignment, b.assignment)) set.add(problem.observations[a.assignment.observation]!.dump);
		}
	};
	for (const other of readings.slice(1)) {
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
