export { findSeams } from './find.ts';
export { type Correction, lookAtSeams, type SeamLook, seamJumps } from './jump.ts';
export { seamJump } from './seam-jump.ts';
