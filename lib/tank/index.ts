export { type Backward, type Block, backward, causes, type LeftOut, type Smoothed } from './backward.ts';
export { Belief, type Cause, type Growth } from './belief.ts';
export { driftPrice, stepPrice } from './prices.ts';
export { priorFactor } from './prior.ts';
export { likeliestSizes, PRIOR_DF, type Scatter, USUAL_SCATTER } from './sizes.ts';
export { type Course, courseOf, meanVariance } from './slow.ts';
export { type ScalePart, type Shares, sharesOf, spreadOf } from './spread.ts';
export {
	flowIn,
	type Inflow,
	type Layout,
	layout,
	learnLevel,
	unload,
	type Weight,
	weigh,
} from './tank.ts';
export { type TankEstimate, type TankFill, tankModel } from './tank-model.ts';
export { type Operations, Tape } from './tape.ts';
