export { type CartRatio, cartRatio, type WeighedTwice } from './cart-ratio.ts';
export { sameWeight } from './cart-sides.ts';
export { joinTickets } from './join.ts';
export { moistureOffsets } from './moisture.ts';
export { scaleReference, statedReference } from './scale-reference.ts';
export { moistureSlips } from './slips.ts';
export { truckLoads } from './trucks.ts';
export { moistureGaps } from './unsensed.ts';
