/** Bytes → field: a field folder, or a single log. */
export { notesOfLog } from './log/notes.ts';
export { repeatsWithin } from './log/repeated-records.ts';
export { readField } from './read-field.ts';
export { type LogOptions, readLog } from './read-log.ts';
