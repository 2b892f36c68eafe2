// The reference, a page per door, type and function, from the docstrings: npm run reference (dist/reference/index.md)
import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describeDoors } from './describe.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const model = join(root, 'test', '.artifacts', 'api');
const pages = join(root, 'dist', 'reference');
rmSync(model, { recursive: true, force: true });
rmSync(pages, { recursive: true, force: true });
mkdirSync(model, { recursive: true });
const findings = describeDoors(join(model, 'steelyard.api.json'));
for (const f of findings) console.log(`${f.where}: ${f.text} (${f.what})`);
if (findings.length > 0) process.exit(1);
const { status } = spawnSync('npx', ['api-documenter', 'markdown', '-i', model, '-o', pages], {
	cwd: root,
	stdio: ['ignore', 'ignore', 'inherit'],
	shell: process.platform === 'win32',
});
if (status !== 0) process.exit(status ?? 1);
console.log(`The reference begins at ${join('dist', 'reference', 'index.md')}.`);
