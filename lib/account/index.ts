export { accountMass } from './account.ts';
export { withUnrecorded } from './unrecorded.ts';
