import { defineConfig } from 'vitest/config';

const room = process.env.STEELYARD_ROOM ?? '{tank,reference}';

/** The quick tests of the room that is mutated (`npm run mutate ROOM`): all but those of whole fields, of seconds each. */
export default defineConfig({
	test: {
		include: [`test/${room}/**/*.test.ts`],
		exclude: [`test/${room}/{fields,kinds,many}.test.ts`],
		testTimeout: 120_000,
	},
});
