export { type Beside, TASKS, type Tasks } from './beside.ts';
export { isoTime } from './result/dumps.ts';
export { buildResult } from './result/result.ts';
export { openField, type RunOptions, runField, solveField } from './run.ts';
export { Stages } from './stages.ts';
