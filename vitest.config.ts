import { existsSync } from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';
import { defineConfig, type Plugin } from 'vitest/config';
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

/**
 * What `npm test` has just built of lib, in place of its sources: Node loads it as it is, which spares every worker the
 * transforming, and calls between modules the detour that transformed ones take.
 */
const builtLib: Plugin = {
	name: 'built-lib',
	enforce: 'pre',
	resolveId(source, importer) {
		if (!importer || !source.startsWith('.')) return null;
		const path = relative(import.meta.dirname, resolve(dirname(importer), source))
			.split(sep)
			.join('/');
		if (!path.startsWith('lib/') || path.startsWith('lib/commands/')) return null;
		const built = join(import.meta.dirname, 'dist', path.replace(/\.ts$/, '.js'));
		return existsSync(built) ? { id: built, external: true } : null;
	},
};

export default defineConfig({
	plugins: process.env.STEELYARD_BUILT ? [builtLib] : [],
	test: {
		server: { deps: { external: [/\/dist\/lib\//] } },
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
					// Most code works for a moment in many tests: V8 waits eight times as long before it compiles a function for speed.
					execArgv: ['--interrupt-budget=1000000'],
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
