/** Bytes → field: a field folder, or a single log. */
export { readField } from './read-field.ts';
export { type LogOptions, readLog } from './read-log.ts';
