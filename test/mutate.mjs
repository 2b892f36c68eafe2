// `npm run mutate ROOM [PART…]`: breaks lib/ROOM, or folders and files of it, on purpose, one place at a time, and tells which
// breaks the room's own tests do not notice: a file's direct tests in test/ROOM/parts where these import it, which take
// milliseconds, else all quick ones. What was tried once is not tried again until the code or its tests change.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const [room, ...given] = process.argv.slice(2);
if (!room) {
	console.error('npm run mutate ROOM [PART…], ROOM a folder of lib such as factor, PART such as form or outliers.ts');
	process.exit(2);
}
const root = fileURLToPath(new URL('..', import.meta.url));
const direct = join(root, 'test', room, 'parts');
const texts = existsSync(direct) ? readdirSync(direct).map((name) => readFileSync(join(direct, name), 'utf8')) : [];
const imported = new RegExp(`^(?:import(?! type)|\\}) .*/lib/${room}/(.*?)'`, 'gm');
const inParts = new Set([...texts.join('').matchAll(imported)].map(([, file]) => file));

/** The files of a part of the room, by their paths in it. */
function filesOf(part) {
	const path = join(root, 'lib', room, part);
	if (!statSync(path).isDirectory()) return [part];
	return readdirSync(path, { recursive: true })
		.filter((name) => name.endsWith('.ts'))
		.map((name) => join(part, name));
}

const files = (given.length > 0 ? given : ['.']).flatMap(filesOf);
let failed = 0;
for (const parts of [true, false]) {
	const mutate = files.filter((file) => inParts.has(file) === parts).map((file) => `lib/${room}/${file}`);
	if (mutate.length === 0) continue;
	const report = `test/.artifacts/mutants-${room}${parts ? '-parts' : ''}.json`;
	const args = ['run', 'test/mutate.json', '--mutate', mutate.join(','), '--incremental', '--incrementalFile', report];
	const tests = `test/${room}/${parts ? 'parts/' : ''}**/*.test.ts`;
	const env = { ...process.env, STEELYARD_MUTATE_TESTS: tests };
	failed ||= spawnSync('npx', ['stryker', ...args], { cwd: root, stdio: 'inherit', env }).status ?? 1;
}
process.exit(failed);
