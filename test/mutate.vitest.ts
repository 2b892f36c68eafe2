import { existsSync } from 'node:fs';
import { defineConfig } from 'vitest/config';

const room = process.env.STEELYARD_ROOM ?? '{tank,reference}';
const direct = existsSync(new URL(`${room}/parts`, import.meta.url));

/** The quick tests of the room that is mutated: `npm run mutate ROOM`. */
export default defineConfig({
	test: { include: [`test/${room}/${direct ? 'parts/' : ''}**/*.test.ts`], testTimeout: 120_000 },
});
