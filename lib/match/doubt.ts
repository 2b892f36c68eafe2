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
	for (const other of readings.slice(1)) {
		if (other.cost - best.cost > ALMOST) break;
		choicesOf(other).forEach((choice, i) => {
			const one = first[i] as Choice;
			const same = one.kind === choice.kind && one.combine === choice.combine && one.other === choice.other;
			if (!same || sameInsert(one, choice) === false) set.add(scene.steps[choice.step]!.dump);
		});
	}
	return set;
}

function sameInsert(a: Choice, b: Choice): boolean {
	return a.inserts.length === b.inserts.length && (a.place?.run ?? -1) === (b.place?.run ?? -1);
}
