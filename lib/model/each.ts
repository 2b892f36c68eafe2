/**
 * Does the same work for each of several inputs and returns the results in their order, which may be done on several
 * threads at the same time. `work` is a pure function; inputs and results are plain values and columns, and what is in
 * several inputs is passed once. `report` is told the share begun or done after each part that this thread does; what it
 * throws ends the work.
 */
export type Each = <I, O>(work: (input: I) => O, inputs: readonly I[], report?: (share: number) => void) => O[];

/** On one thread. */
export const inTurn: Each = (work, inputs, report) =>
	inputs.map((input, k) => {
		const done = work(input);
		report?.((k + 1) / inputs.length);
		return done;
	});
