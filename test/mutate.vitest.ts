import { defineConfig } from 'vitest/config';

const tests = process.env.STEELYARD_MUTATE_TESTS ?? 'test/{tank,reference}/**/*.test.ts';

/** The quick tests of what is mutated (`npm run mutate ROOM`): none of whole fields or of many, of seconds each. */
export default defineConfig({
	test: { include: [tests], exclude: ['test/**/{fields,kinds,many}.test.ts'], testTimeout: 120_000 },
});
