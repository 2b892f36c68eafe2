export { type Backward, type Block, backward, causes, type LeftOut, type Smoothed } from './backward.ts';
export { Belief, type Cause } from './belief.ts';
export { between } from './bounds.ts';
export { meanVariance, pause, type Slow, stretch } from './slow.ts';
export {
	flowIn,
	type Inflow,
	type Layout,
	layout,
	learnLevel,
	learnRatio,
	unload,
	type Weight,
	weigh,
} from './tank.ts';
export { type Operation, Tape } from './tape.ts';
