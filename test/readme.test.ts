import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { littleField, writeField } from './commands/little.ts';

const root = fileURLToPath(new URL('../', import.meta.url));

describe('README', () => {
	const text = readFileSync(join(root, 'README.md'), 'utf8');

	it("the library's example runs as it stands", () => {
		const [, example] = /```js\n(.*?)```/s.exec(text) ?? [];
		expect(example).toBeDefined();
		// Below the root, so that the package finds itself by name as a user's project would.
		const dir = mkdtempSync(join(root, 'test', '.readme-'));
		try {
			writeField(dir, littleField());
			writeFileSync(join(dir, 'example.mjs'), example as string);
			const done = spawnSync(process.execPath, ['example.mjs'], { cwd: dir, encoding: 'utf8' });
			expect(done.stderr).toBe('');
			expect(done.stdout).toMatch(/^A: × \d\.\d{3}, 95 % \d\.\d{3} to \d\.\d{3}\n$/);
		} finally {
			rmSync(dir, { recursive: true, force: true });
		}
	});

	it("the library's example compiles under strict", () => {
		const [, example] = /```js\n(.*?)```/s.exec(text) ?? [];
		const dir = mkdtempSync(join(root, 'test', '.readme-'));
		try {
			writeFileSync(join(dir, 'example.mts'), example as string);
			const words = ['tsc', '--noEmit', '--strict', '--ignoreConfig', '--skipLibCheck', '--target', 'es2023'];
			const done = spawnSync('npx', [...words, '--module', 'nodenext', '--types', 'node', join(dir, 'example.mts')], {
				cwd: root,
				encoding: 'utf8',
			});
			expect(done.stdout).toBe('');
			expect(done.status).toBe(0);
		} finally {
			rmSync(dir, { recursive: true, force: true });
		}
	});

	it('names only commands that are there', () => {
		const main = join(root, 'dist/lib/commands/main.js');
		const { stdout } = spawnSync(process.execPath, [main, '--help'], { encoding: 'utf8' });
		for (const name of ['check', 'correct', 'compare', 'view', 'season', 'sample']) {
			expect(stdout).toContain(name);
			expect(text).toContain(`\`${name} `);
		}
	});
});
