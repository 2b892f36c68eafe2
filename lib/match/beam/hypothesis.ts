import type { Belief } from './update-belief.ts';

/** How a hypothesis explains one dump. */
export interface Assignment {
	/** Index into Problem.observations. */
	observation: number;
	kind: 'normal' | 'mixed' | 'repeat' | 'foreign' | 'outlier';
	/** Tanks in its weight: one, several for a mixed weight, none for a foreign row. */
	parts: readonly Part[];
	/** Unloadings of the first tank before this one that have no dump, in order of time. */
	inserts: readonly Insert[];
	/** Index into Problem.observations of the dump that this one repeats; −1 = none. */
	of: number;
	/** What an outlier should have weighed, where its truckload tells. */
	right?: { kg: number; u2: number } | null | undefined;
}

/** One tank's share in a weight. */
export interface Part {
	combine: number;
	place: Place;
	/** Grain is left in the tank. */
	rests: boolean;
}

/** Where an unloading ends. */
export interface Place {
	end_s: number;
	mass_kg: number;
	/** Variance of the level at `end_s`, kg²: grain clings to the tank, and more comes in while the end is uncertain. */
	slack: number;
	/** Index of its run of the auger in Problem.runs[c]; −1 = none. */
	run: number;
	/** First run after it. */
	nextRun: number;
	/** Cost of the place itself, nats. */
	cost: number;
	/** Runs since the previous unloading that this one skips have indices below this. */
	skippedTo: number;
}

/** An unloading without a dump row. */
export interface Insert {
	/** Index of its run of the auger; −1 = of unknown time. */
	run: number;
	/** Grain was left in the tank. */
	rests: boolean;
}

/** A tank after its last dump. */
export interface Ending {
	combine: number;
	/** Level at the end of the log, after all known unloadings. */
	level_kg: number;
	inserts: Insert[];
}

/** A lasting change: of one combine's monitor, or of the cart's scale, which all combines have in common (−1). */
export interface Change {
	/** Index into Problem.observations. */
	before: number;
	combine: number;
	/** End of the combine's last unloading before it. */
	from_s: number;
	/** The change before it; null = none. */
	earlier: Change | null;
}

/** Assignments of all dumps up to some dump, as a list linked to the past; hypotheses share their common past. */
export interface Hypothesis {
	cost: number;
	belief: Belief;
	/** Per combine: monitor mass and time at its latest unloading, and index of the first run of the auger after it. */
	mass_kg: readonly number[];
	time_s: readonly number[];
	nextRun: readonly number[];
	/** End of the latest unloading of any combine. */
	last_s: number;
	/** The latest change of the cart's scale or of one monitor; null = none. */
	changed: Change | null;
	assignment: Assignment | null;
	parent: Hypothesis | null;
	/** Other hypotheses that led to the same state, so that later dumps cannot distinguish them. */
	rivals: readonly Hypothesis[];
	endings: readonly Ending[];
}

/** A hypothesis up to each of its assignments, in the order of the observations. */
export function historyOf(hypothesis: Hypothesis): (Hypothesis & { assignment: Assignment })[] {
	const list: (Hypothesis & { assignment: Assignment })[] = [];
	for (let r: Hypothesis | null = hypothesis; r?.assignment; r = r.parent) list.push(r as (typeof list)[number]);
	return list.reverse();
}

/** The assignments of a hypothesis, in the order of the observations. */
export const assignmentsOf = (hypothesis: Hypothesis): Assignment[] => historyOf(hypothesis).map((h) => h.assignment);

/** Cost of a hypothesis up to each of n dumps; infinite at those that it does not reach. */
export function costsOf(hypothesis: Hypothesis | undefined, n: number): Float64Array {
	const costs = new Float64Array(n).fill(Infinity);
	for (let r: Hypothesis | null = hypothesis ?? null; r?.assignment; r = r.parent)
		costs[r.assignment.observation] = r.cost;
	return costs;
}

/** Whether the weight is used as that of the tanks it is assigned to. */
export const isAccepted = (a: Assignment): boolean => a.kind === 'normal' || a.kind === 'mixed';

/** Combine indices of a weight: as noted, else ascending. */
export const combinesOf = (a: Assignment): number[] => a.parts.map((p) => p.combine);

/** A hypothesis, one more assignment, and the cost of both together. */
export interface Offer {
	cost: number;
	parent: Hypothesis;
	assignment: Assignment;
}

/** Up to this width the beam keeps the cheapest offers without merging equal states. */
export const NARROW = 8;
/** Hypotheses that cost this much more than the best are dropped, nats. */
export const HOPELESS = 20;

/** The offers for one dump that may still be among the best. */
export class Offers {
	readonly list: Offer[] = [];
	readonly #width: number;
	#parent!: Hypothesis;
	#best = Infinity;

	constructor(width: number) {
		this.#width = width;
	}

	/** Sets the hypothesis that the next offers extend. */
	after(parent: Hypothesis): void {
		this.#parent = parent;
	}

	/** Whether an assignment at this cost may be kept; checked before one is built, since most are not. */
	wants(cost: number): boolean {
		const all = this.#parent.cost + cost;
		if (!(all < this.#best + HOPELESS)) return false;
		return this.list.length < this.#width || this.#width > NARROW || all < this.list.at(-1)!.cost;
	}

	add(more: number, assignment: Assignment): void {
		const cost = this.#parent.cost + more;
		if (cost < this.#best) this.#best = cost;
		const { list } = this;
		if (this.#width > NARROW) {
			list.push({ cost, parent: this.#parent, assignment });
			return;
		}
		let k = list.length;
		while (k > 0 && list[k - 1]!.cost > cost) k--;
		list.splice(k, 0, { cost, parent: this.#parent, assignment });
		if (list.length > this.#width) list.pop();
	}

	sorted(): Offer[] {
		if (this.#width <= NARROW) return this.list;
		return this.list.filter((o) => o.cost <= this.#best + HOPELESS).sort((a, b) => a.cost - b.cost);
	}
}
