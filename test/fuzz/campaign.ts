import { expect, it } from 'vitest';
import { WHOLE } from '../campaign.ts';
import { outcomeOf } from './outcome.ts';

/** Folders a test: ten thousand in a campaign, a share of them in the suite. */
const COUNT = Number(process.env.STEELYARD_FUZZ ?? (WHOLE ? 10_000 : 600));

/**
 * Mutated folders through the library's door, by seed: each ends in a result that adds up, or in a fault that names
 * its place. `npm run fuzz` goes on where these end.
 */
export function fuzz(from: number, count = COUNT): void {
	it(`${count} mutated folders from seed ${from}`, async () => {
		const wrong: string[] = [];
		let results = 0;
		for (let seed = from; seed < from + count && wrong.length < 20; seed++) {
			const outcome = await outcomeOf(seed);
			if (outcome.kind === 'result') results++;
			for (const text of outcome.wrong) wrong.push(`seed ${seed}: ${text}`);
		}
		expect(wrong).toEqual([]);
		// Neither all refused nor all let through.
		expect(results / count).toBeGreaterThan(0.2);
		expect(results / count).toBeLessThan(0.8);
	}, 600_000);
}
