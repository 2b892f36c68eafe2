import { TICKETS } from '../model/index.ts';
import { POUND_KG } from './constants.ts';

/** Ratios of ticket to cart that a unit makes, and what it looks like: a scale errs by far less, save for the last. */
const UNIT_SLIPS: readonly (readonly [number, string])[] = [
	[1 / POUND_KG, 'pounds read as kilograms in the tickets, or kilograms as pounds in the cart log'],
	[POUND_KG, 'kilograms read as pounds in the tickets, or pounds as kilograms in the cart log'],
	[1000, 'kilograms read as metric tons in the tickets'],
	[0.001, 'metric tons read as kilograms in the tickets'],
	[1000 / (2000 * POUND_KG), 'short tons read as metric tons in the tickets'],
];

/** The units that a ratio of ticket to cart looks like, within a tolerance in logarithms; null where it looks like none. */
export function confusedUnits(ratio: number, near: number = TICKETS.nearUnit): string | null {
	return UNIT_SLIPS.find(([by]) => Math.abs(Math.log(ratio / by)) < near)?.[1] ?? null;
}
