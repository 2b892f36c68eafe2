// `npm run mutate ROOM [FILE…]`: breaks the files of lib/ROOM on purpose, one place at a time, and tells which breaks its
// own quick tests do not notice. What was tried once is not tried again until the code or its tests change.
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const [room, ...files] = process.argv.slice(2);
if (!room) {
	console.error('npm run mutate ROOM [FILE…], ROOM a folder of lib such as reference, tank or factor');
	process.exit(2);
}
const mutate = files.length > 0 ? files.map((file) => `lib/${room}/${file}`) : [`lib/${room}/**/*.ts`];
const args = ['stryker', 'run', 'test/mutate.json', '--mutate', mutate.join(',')];
const report = `test/.artifacts/mutants-${room}.json`;
const { status } = spawnSync('npx', [...args, '--incremental', '--incrementalFile', report], {
	cwd: fileURLToPath(new URL('..', import.meta.url)),
	stdio: 'inherit',
	env: { ...process.env, STEELYARD_ROOM: room },
});
process.exit(status ?? 1);
