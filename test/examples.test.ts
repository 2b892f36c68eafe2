/// <reference types="vite/client" />
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const lib = fileURLToPath(new URL('../lib/', import.meta.url));
const doors = import.meta.glob('../lib/*/index.ts');

/** Examples in docstrings: fenced JavaScript after `@example`, with what a line gives behind `// →`. */
const examples = readdirSync(lib, { recursive: true, encoding: 'utf8' })
	.filter((f) => f.endsWith('.ts'))
	.flatMap((file) =>
		[...readFileSync(join(lib, file), 'utf8').matchAll(/ \* @example\n((?: \*.*\n)+?) \*(?:\/| @)/g)].map(
			([, block]) => ({
				file,
				code: block!.replace(/^ \* ?/gm, '').match(/```js\n(.*?)```/s)?.[1],
			}),
		),
	)
	.filter((e) => e.code !== undefined);

describe('examples in docstrings run', async () => {
	const scope: Record<string, unknown> = { expect };
	for (const [path, load] of Object.entries(doors)) {
		if (path.includes('/pipeline/')) continue;
		Object.assign(scope, await load());
	}
	it('there are some', () => expect(examples.length).toBeGreaterThanOrEqual(4));
	for (const { file, code } of examples) {
		it(file, async () => {
			const body = code!.replace(/^(.*); \/\/ → (.*)$/gm, 'expect($1).toEqual($2);');
			expect(body).toContain('expect(');
			const run = Object.getPrototypeOf(async () => {}).constructor(...Object.keys(scope), body);
			await run(...Object.values(scope));
		});
	}
});
