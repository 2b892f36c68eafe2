export { accountMass } from './account.ts';
export { silentFlow } from './silent-flow.ts';
export { withUnrecorded } from './unrecorded.ts';
