export { buildResult, isoTime } from './result.ts';
export { openField, type RunOptions, runField, solveField } from './run.ts';
export { Stages } from './stages.ts';
