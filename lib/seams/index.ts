export { findSeams } from './find.ts';
export { type Correction, seamJumps } from './jump.ts';
export { lookAtSeams, type SeamLook } from './look.ts';
export { seamJump } from './seam-jump.ts';
