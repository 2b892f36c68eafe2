import { defineConfig } from 'vitest/config';

/** The quick tests of the rooms that are mutated: `npm run mutate`. */
export default defineConfig({
	test: {
		include: ['test/{tank,reference,factor}/**/*.test.ts'],
		exclude: ['test/factor/fields.test.ts'],
		testTimeout: 120_000,
	},
});
