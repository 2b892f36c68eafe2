export { findSeams } from './find.ts';
export { type Correction, seamJumps } from './jump.ts';
export { contactsOfPasses, groundOf } from './neighbors.ts';
export { type SampledSeams, sampleSeams, withShape } from './sample.ts';
export { seamJump } from './seam-jump.ts';
