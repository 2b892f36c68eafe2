/** Bytes → field: a field folder, or a single log. */
export { type LogInput, type LogRead, logInMemory } from './log/log-records.ts';
export { notesOfLog } from './log/notes.ts';
export { repeatsWithin } from './log/repeated-records.ts';
export { readField } from './read-field.ts';
export { type LogOptions, readLog } from './read-log.ts';
