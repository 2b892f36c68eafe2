import type { Belief } from './belief.ts';

/** What one dump is taken for in a hypothesis of the logs. */
export interface Assignment {
	/** Index into Problem.observations. */
	observation: number;
	kind: 'normal' | 'mixed' | 'repeat' | 'foreign' | 'nonsense';
	/** The tanks that its weight is of: one, several for a mixed weight, none for what is no dump. */
	parts: readonly Part[];
	/** Unloadings of the first tank before this one that no dump stands for, in order of time. */
	inserts: readonly Insert[];
	/** Index into Problem.observations of the dump which this one repeats, −1 where none. */
	of: number;
}

/** One tank's share in a weight. */
export interface Part {
	combine: number;
	place: Place;
	/** The tank keeps a rest. */
	rests: boolean;
}

/** Where an unloading ends. */
export interface Place {
	end_s: number;
	mass_kg: number;
	/** Variance of the level at its nominal end: grain keeps coming while the end is uncertain. */
	slack: number;
	/** Index into Problem.runs[c], −1 where no run of the auger stands for it. */
	run: number;
	/** First run after it. */
	nextRun: number;
	/** What the place itself costs. */
	cost: number;
	/** Runs between the previous unloading and this one end before this index. */
	skippedTo: number;
}

/** Grain that left a tank without a dump row. */
export interface Insert {
	kind: 'unknown' | 'deduced' | 'run';
	/** Index into Problem.deduced, −1 where nothing tells of it. */
	deduced: number;
	/** The run of the auger that stands for it, −1 where none. */
	run: number;
	/** It left some in the tank. */
	rests: boolean;
}

/** What became of a tank after its last dump. */
export interface Ending {
	combine: number;
	/** Level when the log ends, all known unloadings counted. */
	level_kg: number;
	inserts: Insert[];
}

/** A hypothesis of the logs up to some dump. What the next one shares with it is shared, not copied. */
export interface Hypothesis {
	cost: number;
	belief: Belief;
	/** Per combine: monitor mass and time at its latest unloading, and the first run of the auger after it. */
	mass_kg: readonly number[];
	time_s: readonly number[];
	nextRun: readonly number[];
	/** End of the latest unloading of any combine. */
	last_s: number;
	/** 1 where a fact has found its place as a deduction; never changed in place. */
	taken: Uint8Array;
	/** Deductions that have found their place, as a number. */
	takenKey: number;
	assignment: Assignment | null;
	parent: Hypothesis | null;
	/** Readings that led to the same state at nearly the same cost: the future cannot tell them apart. */
	rivals: readonly Hypothesis[];
	endings: readonly Ending[];
}

/** The assignments of a hypothesis, in the order of the observations. */
export function assignmentsOf(hypothesis: Hypothesis): Assignment[] {
	const list: Assignment[] = [];
	for (let r: Hypothesis | null = hypothesis; r; r = r.parent) if (r.assignment) list.push(r.assignment);
	return list.reverse();
}

export const isBelieved = (a: Assignment): boolean => a.kind === 'normal' || a.kind === 'mixed';

/** Combine indices of a weight, as it was noted or in their order. */
export const combinesOf = (a: Assignment): number[] => a.parts.map((p) => p.combine);

/** One more assignment after a hypothesis, and what both cost together. */
export interface Offer {
	cost: number;
	parent: Hypothesis;
	assignment: Assignment;
}

/** A beam this narrow keeps the cheapest offers, whatever they lead to. */
export const NARROW = 8;
/** Readings this much dearer than the best are dropped, nats. */
export const HOPELESS = 20;

/** The offers for one dump: those that may still be wanted, cheapest first. */
export class Offers {
	readonly list: Offer[] = [];
	readonly #width: number;
	#parent!: Hypothesis;
	#best = Number.POSITIVE_INFINITY;

	constructor(width: number) {
		this.#width = width;
	}

	/** What is offered from now on follows this hypothesis. */
	after(parent: Hypothesis): void {
		this.#parent = parent;
	}

	/** May an assignment at this cost still be wanted? Asked before one is made: most are not. */
	wants(cost: number): boolean {
		const all = this.#parent.cost + cost;
		if (!(all < this.#best + HOPELESS)) return false;
		return this.list.length < this.#width || this.#width > NARROW || all < (this.list.at(-1) as Offer).cost;
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
		while (k > 0 && (list[k - 1] as Offer).cost > cost) k--;
		list.splice(k, 0, { cost, parent: this.#parent, assignment });
		if (list.length > this.#width) list.pop();
	}

	sorted(): Offer[] {
		if (this.#width <= NARROW) return this.list;
		return this.list.filter((o) => o.cost <= this.#best + HOPELESS).sort((a, b) => a.cost - b.cost);
	}
}
