import { MONITOR, TANK } from '../../model/index.ts';
import { backward, Tape } from '../../tank/index.ts';
import { COSTS } from '../problem/costs.ts';
import type { Problem } from '../problem/problem.ts';
import type { Emptying } from './emptying.ts';

/** Factors and grain left in tanks, from all weights of one hypothesis together. */
export interface Smoothed {
	factor: number[];
	u_factor: number[];
	start_kg: { kg: number; u_kg: number }[];
	/** Per emptying: grain left in the tank. */
	rest_kg: Float64Array;
	u_rest_kg: Float64Array;
	/** Per emptying that has a weight of its own: (weight − expected) / expected, NaN elsewhere. */
	miss: Float64Array;
}

/**
 * Smooths one hypothesis with a forward and a backward pass (see `lib/tank`): factors, grain at the start and grain left at each
 * emptying. Every weight is factor × fill + grain left before − grain left after, summed over its emptyings.
 *
 * @param starts - one per combine: grain was in its tank at the start
 */
export function smoothRests(problem: Problem, list: readonly Emptying[], starts: readonly boolean[]): Smoothed {
	const C = problem.flows.length;
	const accepted = weights(problem, list).filter((w) => w.accepted);
	const order = inOrder(list);
	const { places, most } = placesOf(accepted, order, list.length);
	// State: factors, levels, then the sum so far of each weight that is not complete.
	const tape = new Tape(2 * C + most);
	const level = (c: number): number => C + c;
	for (let c = 0; c < C; c++) {
		tape.set(c, 1, MONITOR.factor ** 2);
		const some = starts[c] ? COSTS.startShare * problem.tank_kg[c]! : 0;
		tape.set(level(c), some, (some || TANK.clinging_kg) ** 2);
		tape.mark(level(c), c);
	}
	for (const r of problem.priors.ratios) tape.observe([r.b, r.a], [1, -r.ratio], 0, r.u * r.u);
	for (const i of order) {
		const e = list[i]!;
		const { weight, place, first, last } = places[i]!;
		const on = 2 * C + place;
		if (first) tape.set(on, 0, 0);
		if (weight) {
			const noise = (problem.priors.fill * e.fill_kg) ** 2;
			tape.mix(on, 1, [e.combine, level(e.combine)], [e.fill_kg, 1], 0, noise);
		}
		tape.set(level(e.combine), e.prior_kg, e.u_prior_kg ** 2 + e.u_flow_kg ** 2);
		tape.mark(level(e.combine), C + i);
		if (weight) tape.mix(on, 1, [level(e.combine)], [-1]);
		if (weight && last) tape.observe([on], [1], weight.kg, weight.u2);
	}
	const rest = new Float64Array(C + list.length);
	const u = new Float64Array(C + list.length);
	for (const m of backward(tape).marks) {
		rest[m.key] = Math.max(0, m.mean);
		u[m.key] = Math.sqrt(m.variance);
	}
	const before = (i: number): number => (list[i - 1]?.combine === list[i]!.combine ? C + i - 1 : list[i]!.combine);
	const miss = new Float64Array(list.length).fill(Number.NaN);
	for (const w of accepted) {
		let expected = 0;
		for (const i of w.emptyings) {
			const e = list[i]!;
			expected += tape.x[e.combine]! * e.fill_kg + rest[before(i)]! - rest[C + i]!;
		}
		for (const i of w.emptyings) miss[i] = (w.kg - expected) / Math.max(expected, 0.2 * w.kg);
	}
	return {
		factor: tape.x.slice(0, C),
		u_factor: Array.from({ length: C }, (_, c) => Math.sqrt(tape.P[c * tape.n + c]!)),
		start_kg: Array.from({ length: C }, (_, c) => ({ kg: rest[c]!, u_kg: u[c]! })),
		rest_kg: Float64Array.from(list, (e, i) => Math.min(rest[C + i]!, problem.tank_kg[e.combine]!)),
		u_rest_kg: u.slice(C),
		miss,
	};
}

/** Emptyings of all combines in order of time; those of one in the order of the list. */
function inOrder(list: readonly Emptying[]): number[] {
	let latest = -Infinity;
	const time_s = list.map((e, i) => {
		latest = list[i - 1]?.combine === e.combine ? Math.max(latest, e.end_s) : e.end_s;
		return latest;
	});
	return list.map((_, i) => i).sort((i, j) => time_s[i]! - time_s[j]! || i - j);
}

/** Slot in which the weight of an emptying is summed, and whether the emptying is the first or the last in it. */
interface Place {
	weight: Weight | null;
	place: number;
	first: boolean;
	last: boolean;
}

/** Assigns a slot to every weight from its first emptying to its last; `most` is the number of slots. */
function placesOf(accepted: readonly Weight[], order: readonly number[], n: number): { places: Place[]; most: number } {
	const places: Place[] = Array.from({ length: n }, () => ({ weight: null, place: 0, first: false, last: false }));
	for (const w of accepted) for (const i of w.emptyings) places[i]!.weight = w;
	const open: (Weight | null)[] = [null];
	const left = new Map<Weight, number>();
	for (const i of order) {
		const at = places[i]!;
		if (!at.weight) continue;
		at.place = open.indexOf(at.weight);
		at.first = at.place < 0;
		if (at.first) at.place = open.includes(null) ? open.indexOf(null) : open.length;
		const more = (left.get(at.weight) ?? at.weight.emptyings.length) - 1;
		left.set(at.weight, more);
		at.last = more === 0;
		open[at.place] = at.last ? null : at.weight;
	}
	return { places, most: open.length };
}

/** One weight with the emptyings that it covers. */
interface Weight {
	observation: number;
	deduced: number;
	kg: number;
	u2: number;
	emptyings: number[];
	accepted: boolean;
}

/** Lists the weights with the emptyings that they cover. */
export function weights(problem: Problem, list: readonly Emptying[]): Weight[] {
	const byStep = new Map<number, number[]>();
	const all: Weight[] = [];
	list.forEach((e, i) => {
		if (e.assignment) {
			const s = byStep.get(e.assignment.observation);
			if (s) s.push(i);
			else byStep.set(e.assignment.observation, [i]);
		} else if (e.deduced >= 0) {
			const deduced = problem.deduced[e.deduced]!;
			all.push({
				observation: -1,
				deduced: e.deduced,
				kg: deduced.kg,
				u2: deduced.variance,
				emptyings: [i],
				accepted: true,
			});
		}
	});
	for (const [s, emptyings] of byStep) {
		const observation = problem.observations[s]!;
		const accepted = list[emptyings[0]!]!.assignment!.kind !== 'outlier';
		all.push({ observation: s, deduced: -1, kg: observation.kg, u2: observation.u2, emptyings, accepted });
	}
	return all;
}
