import { defineConfig } from 'vitest/config';

export default defineConfig({
	test: {
		include: ['test/**/*.test.ts'],
		testTimeout: 120_000,
		hookTimeout: 120_000,
		// Two workers: the runs are computing, not waiting.
		maxWorkers: 2,
		// A browser on a busy machine may miss a beat; what computes gives the same answer twice.
		retry: process.env.CI ? 1 : 0,
	},
});
