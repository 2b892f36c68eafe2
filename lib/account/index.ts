export { accountMass } from './account.ts';
