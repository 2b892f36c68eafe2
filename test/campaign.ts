/**
 * Campaigns over many seeds run by command (`npm run campaign`); the suite takes the first few of each list. Both run
 * the same tests.
 */
export const WHOLE = process.env.STEELYARD_CAMPAIGN === '1';

/** Every nth of all cases; all of them in a campaign. */
export const some = <T>(all: readonly T[], nth: number): T[] =>
	WHOLE ? [...all] : all.filter((_, i) => i % nth === 0);

/** The first `few` of all seeds or cases; all of them in a campaign. */
export const few = <T>(all: readonly T[], count: number): T[] => (WHOLE ? [...all] : all.slice(0, count));
