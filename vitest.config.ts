import { defineConfig } from 'vitest/config';

const pages = ['test/viewer/**/*.test.ts', 'test/book-e2e/**/*.test.ts'];

export default defineConfig({
	test: {
		testTimeout: 120_000,
		hookTimeout: 120_000,
		// Two workers: the runs are computing, not waiting.
		maxWorkers: 2,
		projects: [
			{ extends: true, test: { name: 'lib', include: ['test/**/*.test.ts'], exclude: pages } },
			// A browser on a busy machine may miss a beat; what computes gives the same answer twice.
			{ extends: true, test: { name: 'pages', include: pages, retry: process.env.CI ? 1 : 0 } },
		],
		coverage: { include: ['lib/**/*.ts'], exclude: ['lib/commands/vite.config.ts'] },
	},
});
