export { findSeams } from './find.ts';
export { type JumpInput, seamJumps } from './jump.ts';
