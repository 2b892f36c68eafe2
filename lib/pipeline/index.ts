export { buildResult, isoTime } from './result.ts';
export { type RunOptions, runField, solveField } from './run.ts';
