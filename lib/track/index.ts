/** Records → where the grain was cut: passes, lag, ground newly cut, mechanical flags. */
export { estimateLag, type LogColumns } from './estimate-lag.ts';
export { sidesOfPart } from './ground/find-sides.ts';
export { smoothAlong } from './ground/new-ground.ts';
export { readingsOf } from './lag/lags.ts';
export { piecesOfPath } from './path/cut-pieces.ts';
export { machineOf } from './path/machine.ts';
export { combineGround } from './records/describe-records.ts';
export { flagTrack } from './records/flagging.ts';
export { trackField, unflaggedTrack } from './track-field.ts';
