// `npm run mutate ROOM [PART…]`: breaks lib/ROOM, or folders and files of it, on purpose, one place at a time, and tells which
// breaks the room's own tests do not notice. What was tried once is not tried again until the code or its tests change.
import { spawnSync } from 'node:child_process';
import { statSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const [room, ...parts] = process.argv.slice(2);
if (!room) {
	console.error('npm run mutate ROOM [PART…], ROOM a folder of lib such as factor, PART such as form or outliers.ts');
	process.exit(2);
}
const root = fileURLToPath(new URL('..', import.meta.url));
const paths = parts.length > 0 ? parts.map((part) => `lib/${room}/${part}`) : [`lib/${room}`];
const mutate = paths.map((path) => (statSync(`${root}/${path}`).isDirectory() ? `${path}/**/*.ts` : path));
const args = ['stryker', 'run', 'test/mutate.json', '--mutate', mutate.join(',')];
const report = `test/.artifacts/mutants-${room}.json`;
const { status } = spawnSync('npx', [...args, '--incremental', '--incrementalFile', report], {
	cwd: root,
	stdio: 'inherit',
	env: { ...process.env, STEELYARD_ROOM: room },
});
process.exit(status ?? 1);
