import { defineConfig } from 'vitest/config';

const pages = ['test/viewer/**/*.test.ts', 'test/book-e2e/**/*.test.ts'];

export default defineConfig({
	test: {
		testTimeout: 120_000,
		hookTimeout: 120_000,
		// Two workers: the runs are computing, not waiting. Files share them: what lib was compiled to stays compiled.
		maxWorkers: 2,
		isolate: false,
		setupFiles: process.env.STEELYARD_COSTS ? ['test/costs.ts'] : [],
		projects: [
			{
				extends: true,
				test: {
					name: 'lib',
					include: ['test/**/*.test.ts'],
					exclude: [...pages, 'test/.artifacts/**'],
					sequence: { groupOrder: 1 },
				},
			},
			// A browser on a busy machine may miss a beat; what computes gives the same answer twice.
			{
				extends: true,
				test: { name: 'pages', include: pages, retry: process.env.CI ? 1 : 0, sequence: { groupOrder: 0 } },
			},
		],
		coverage: { include: ['lib/**/*.ts'], exclude: ['lib/commands/vite.config.ts'] },
	},
});
