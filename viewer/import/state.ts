/** Files as they were read, and the answers so far. */
import { signal } from '@preact/signals';
import type { GivenFile } from '../state/protocol.ts';
import type { Answers, Understood } from './understood.ts';

/** Result of reading; kept while one of its fields is open, so that the next can be chosen. */
export const seen = signal<Understood | null>(null);
/** The files that were read. */
export const given = signal<GivenFile[]>([]);
/** Whether the import step is shown. */
export const checking = signal(false);
/** Whether an answer is being applied. */
export const rereading = signal(false);
export const answers = signal<Answers>({});
