/** Bytes → field: a field folder, or one log on its own. */
export { readField } from './read-field.ts';
export { type LogOptions, readLog } from './read-log.ts';
