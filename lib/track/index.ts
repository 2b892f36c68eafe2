/** Records → where the grain was cut: passes, lag, ground newly cut, mechanical flags. */
export { estimateLag, type LogColumns } from './estimate-lag.ts';
export { trackField, unflaggedTrack } from './field.ts';
export { smoothAlong } from './ground/ground.ts';
export { sidesOfPart } from './ground/sides.ts';
export { readingsOf } from './lag/lags.ts';
export { machineOf } from './path/machine.ts';
export { combineGround } from './records/describe.ts';
export { flagTrack } from './records/flagging.ts';
