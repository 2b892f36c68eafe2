import type { Choice, Reading } from './reading.ts';
import { choicesOf } from './reading.ts';
import type { Scene } from './scene.ts';

/** Readings within so many nats of the best fit almost as well. */
const ALMOST = 2.3;

/** Dumps that another reading, almost as cheap, takes for something else. */
export function doubts(scene: Scene, readings: readonly Reading[]): Set<number> {
	const best = readings[0];
	const set = new Set<number>();
	if (!best) return set;
	const first = choicesOf(best);
	const compare = (other: Reading): void => {
		choicesOf(other).forEach((choice, i) => {
			if (!alike(first[i] as Choice, choice)) set.add(scene.steps[choice.step]!.dump);
		});
	};
	for (const other of readings.slice(1)) {
		if (other.cost - best.cost > ALMOST) break;
		compare(other);
	}
	for (let r: Reading | null = best; r; r = r.parent) {
		for (const rival of r.rivals) if (rival.cost - r.cost < ALMOST) compare(rival);
	}
	return set;
}

function alike(a: Choice, b: Choice): boolean {
	const same = a.kind === b.kind && a.combine === b.combine && a.other === b.other;
	return same && a.inserts.length === b.inserts.length && (a.place?.run ?? -1) === (b.place?.run ?? -1);
}
