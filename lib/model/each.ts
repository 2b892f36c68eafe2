/**
 * Does the same work for each of several inputs and returns the results in their order, which may be done on several
 * threads at the same time. `work` is a pure function; inputs and results are plain values and columns, and what is in
 * several inputs is passed once.
 */
export type Each = <I, O>(work: (input: I) => O, inputs: readonly I[]) => O[];

/** On one thread. */
export const inTurn: Each = (work, inputs) => inputs.map((input) => work(input));
