export { addTrace } from './trace.ts';
