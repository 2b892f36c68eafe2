export { addTrace } from './add.ts';
export { type WeightEvent, weightEvents } from './events.ts';
