import {
	aroundStretch,
	fieldPattern,
	krigeStrip,
	krigingWeights,
	type Pattern,
	type PatternInput,
	type Weights,
} from '../map/index.ts';
import { type Each, silent } from '../model/index.ts';
import { notesOfLog, repeatsWithin } from '../read/index.ts';
import { contactsOfPasses } from '../seams/index.ts';
import { combineGround, machineOf, readingsOf, sidesOfPart, smoothAlong } from '../track/index.ts';

/** Work that a run may have done on another thread. Input and output are plain values, and every task is a pure function. */
export const TASKS = {
	/** The map's pattern, and the weights of its grid. */
	map(input: PatternInput): PatternAndWeights {
		const pattern = fieldPattern(input);
		const { records, track } = input;
		return { pattern, weights: krigingWeights({ records, track, pattern }, silent) };
	},
	/** Parts of stages, by the functions that do them. */
	aroundStretch,
	krigeStrip,
	repeatsWithin,
	notesOfLog,
	machineOf,
	sidesOfPart,
	smoothAlong,
	readingsOf,
	combineGround,
	contactsOfPasses,
};

/** The tasks by name. */
export type Tasks = typeof TASKS;

/** The part of the map that factors without a shape do not change. */
export interface PatternAndWeights {
	pattern: Pattern;
	weights: Weights;
}

/** Threads beside the one that runs the pipeline. */
export interface Beside {
	/**
	 * Starts a task. The result is undefined where there is no thread for it, or where it failed there; then the caller does
	 * the task itself, and meets the same fault.
	 */
	run<K extends keyof Tasks>(task: K, input: Parameters<Tasks[K]>[0]): Promise<ReturnType<Tasks[K]> | undefined>;
	/** Does equal parts of a stage, here and on a thread that is free. The caller waits; `work` is one of the tasks. */
	each: Each;
}
