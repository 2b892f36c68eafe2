import { defineConfig } from 'vitest/config';

const room = process.env.STEELYARD_ROOM ?? '{tank,reference,factor}';

/** The quick tests of the room that is mutated: `npm run mutate ROOM`. */
export default defineConfig({
	test: {
		include: [`test/${room}/**/*.test.ts`],
		exclude: ['test/factor/fields.test.ts'],
		testTimeout: 120_000,
	},
});
