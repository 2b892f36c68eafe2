// `npm start` on a bare clone: sets up what is missing, then opens the sample field. Plain JavaScript, since
// nothing is built yet when it runs.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));
const run = (command, ...args) => {
	const { status } = spawnSync(command, args, { cwd: root, stdio: 'inherit', shell: process.platform === 'win32' });
	if (status !== 0) process.exit(status ?? 1);
};

const newest = (path) =>
	statSync(path).isDirectory()
		? Math.max(0, ...readdirSync(path).map((name) => newest(join(path, name))))
		: statSync(path).mtimeMs;
const mark = join(root, 'node_modules', '.package-lock.json');
const main = join(root, 'dist', 'lib', 'commands', 'main.js');
const page = join(root, 'dist', 'viewer', 'index.html');

if (!existsSync(mark) || statSync(mark).mtimeMs < statSync(join(root, 'package-lock.json')).mtimeMs) run('npm', 'ci');
else if (
	!existsSync(main) ||
	!existsSync(page) ||
	statSync(page).mtimeMs < Math.max(newest(join(root, 'lib')), newest(join(root, 'viewer')))
) {
	run('npm', 'run', 'build');
}
const [field] = readdirSync(join(root, 'sample-fields'), { withFileTypes: true }).filter((e) => e.isDirectory());
run(process.execPath, main, 'view', join('sample-fields', field.name));
