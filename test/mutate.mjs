// `npm run mutate ROOM [FILE…]`: breaks the files of lib/ROOM on purpose, one place at a time, and tells which breaks its
// own quick tests do not notice. A room whose tests take seconds has direct ones in test/ROOM/parts: those run, and the files
// that they import are broken. What was tried once is not tried again until the code or its tests change.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const [room, ...files] = process.argv.slice(2);
if (!room) {
	console.error('npm run mutate ROOM [FILE…], ROOM a folder of lib such as reference, tank or factor');
	process.exit(2);
}
const root = fileURLToPath(new URL('..', import.meta.url));
const parts = join(root, 'test', room, 'parts');

/** What a room's direct tests import from it; where a room has none, all of it. */
function tested() {
	if (!existsSync(parts)) return ['**/*.ts'];
	const text = readdirSync(parts).map((name) => readFileSync(join(parts, name), 'utf8'));
	const imported = new RegExp(`^(?:import(?! type)|\\}) .*/lib/${room}/(.*?)'`, 'gm');
	return [...new Set([...text.join('').matchAll(imported)].map(([, file]) => file))];
}

const mutate = (files.length > 0 ? files : tested()).map((file) => `lib/${room}/${file}`);
const args = ['stryker', 'run', 'test/mutate.json', '--mutate', mutate.join(',')];
const report = `test/.artifacts/mutants-${room}.json`;
const { status } = spawnSync('npx', [...args, '--incremental', '--incrementalFile', report], {
	cwd: root,
	stdio: 'inherit',
	env: { ...process.env, STEELYARD_ROOM: room },
});
process.exit(status ?? 1);
