import { en } from './en.ts';

export type Strings = typeof en;

/** Another language is another file of the same shape, chosen here. */
export const strings: Strings = en;
