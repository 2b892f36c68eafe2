/** What was read of files as they come, and what has been answered. */
import { signal } from '@preact/signals';
import type { GivenFile } from '../state/protocol.ts';
import type { Answers, Understood } from './understood.ts';

/** What was read; kept while a field of it is open, so that the next can be chosen. */
export const seen = signal<Understood | null>(null);
/** The files it was read from. */
export const given = signal<GivenFile[]>([]);
/** The step is on the page. */
export const checking = signal(false);
/** An answer is being taken in. */
export const rereading = signal(false);
export const answers = signal<Answers>({});
