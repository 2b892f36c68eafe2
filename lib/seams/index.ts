export { findSeams } from './find.ts';
export { type Correction, seamJumps } from './jump.ts';
export { type SampledSeams, sampleSeams } from './sample.ts';
export { seamJump } from './seam-jump.ts';
