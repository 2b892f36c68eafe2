import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const pages = ['test/viewer/**/*.test.ts', 'test/book-e2e/**/*.test.ts'];

/** Files that take longest, first: at the end, one of them alone would keep the second worker idle. */
const LONG = /(work|import|cab|hands|kept|kinds|cli|scaling|fuzz-\d|truth|intake|surface|agree)\.test\.ts$/;
class LongFirst extends BaseSequencer {
	override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
		const sorted = await super.sort(files);
		const isLong = (file: TestSpecification) => Number(LONG.test(file.moduleId));
		return sorted.sort((a, b) => isLong(b) - isLong(a));
	}
}

export default defineConfig({
	test: {
		testTimeout: 120_000,
		hookTimeout: 120_000,
		// Two workers: the runs are computing, not waiting. Files share them: what lib was compiled to stays compiled.
		maxWorkers: 2,
		isolate: false,
		sequence: { sequencer: LongFirst },
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
