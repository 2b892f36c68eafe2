/** Records → where the grain was cut: passes, lag, ground newly cut, mechanical flags. */
export { trackField } from './field.ts';
