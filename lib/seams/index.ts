export { contactsOfPasses, groundOf } from './contacts.ts';
export { findSeams } from './find.ts';
export { type Correction, seamJumps } from './jump.ts';
export { type SampledSeams, sampleSeams, withShape } from './sample-seams.ts';
export { seamJump } from './seam-jump.ts';
