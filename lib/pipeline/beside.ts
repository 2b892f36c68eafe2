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
import { logInMemory, notesOfLog, repeatsWithin } from '../read/index.ts';
import { contactsOfPasses } from '../seams/index.ts';
import { combineGround, machineOf, piecesOfPath, readingsOf, sidesOfPart, smoothAlong } from '../track/index.ts';

/** Work that a run may have done on another thread. Input and output are plain values, and every task is a pure function. */
export const TASKS = {
	/** The map's pattern, told as soon as it is made, and the weights of its grid. */
	map(input: PatternInput, tell: (pattern: Pattern) => void): Weights {
		const pattern = fieldPattern(input);
		tell(pattern);
		const { records, track } = input;
		return krigingWeights({ records, track, pattern }, silent);
	},
	logInMemory,
	/** Parts of stages, by the functions that do them. */
	aroundStretch,
	krigeStrip,
	repeatsWithin,
	notesOfLog,
	machineOf,
	piecesOfPath,
	sidesOfPart,
	smoothAlong,
	readingsOf,
	combineGround,
	contactsOfPasses,
};

/** The tasks by name. */
export type Tasks = typeof TASKS;

/** Threads beside the one that runs the pipeline. */
export interface Beside {
	/**
	 * Starts a task. The result is undefined where there is no thread for it, or where it failed there; then the caller does
	 * the task itself, and meets the same fault.
	 *
	 * @param tell - given what the task tells before its end
	 */
	run<K extends keyof Tasks>(
		task: K,
		input: Parameters<Tasks[K]>[0],
		tell?: Parameters<Tasks[K]>[1],
	): Promise<Awaited<ReturnType<Tasks[K]>> | undefined>;
	/** Does equal parts of a stage, here and on a thread that is free. The caller waits; `work` is one of the tasks. */
	each: Each;
}
