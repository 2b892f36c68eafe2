import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join, posix, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../', import.meta.url));
const planted: string[] = [];
afterAll(() => {
	for (const dir of planted) rmSync(dir, { recursive: true, force: true });
});

/** Puts a file that imports `what` (a path from the root, or a package) into a room or a new folder of it; its path. */
function plant(room: string, what: string, at: 'room' | 'folder' = 'folder'): string {
	const dir = mkdtempSync(join(root, room, 'planted-'));
	const file = at === 'folder' ? join(dir, 'planted.ts') : `${dir}.ts`;
	planted.push(dir, file);
	const path = relative(root, file).replaceAll('\\', '/');
	const from = /^(lib|viewer)\//.test(what) ? posix.relative(posix.dirname(path), what) : what;
	writeFileSync(join(root, path), `import { x } from '${from}';\n\nexport const y = x;\n`);
	return path;
}

/** The planted files that Biome refuses for what they import. */
function refused(paths: string[]): string[] {
	const done = spawnSync('npx', ['biome', 'lint', '--reporter=github', '--max-diagnostics=none', ...paths], {
		cwd: root,
		encoding: 'utf8',
	});
	return paths.filter((path) =>
		done.stdout.split('\n').some((line) => line.includes(path) && /noRestrictedImports|noNodejsModules/.test(line)),
	);
}

const folders = (path: string) =>
	readdirSync(join(root, path), { withFileTypes: true })
		.filter((e) => e.isDirectory() && !e.name.startsWith('planted-'))
		.map((e) => `${path}/${e.name}`);
const rooms = folders('lib');

describe('imports run one way', () => {
	it('no room imports one beside or above it', () => {
		const other = (room: string) => (room === 'lib/match' ? 'lib/track/index.ts' : 'lib/match/index.ts');
		const bad = rooms
			.filter((room) => room !== 'lib/pipeline')
			.flatMap((room) => [plant(room, other(room)), plant(room, other(room), 'room')]);
		bad.push(plant('lib/pipeline', 'lib/commands/server.ts'), plant('viewer', 'lib/track/index.ts'));
		bad.push(plant('viewer/book', 'lib/match/index.ts'));
		expect(refused(bad)).toEqual(bad);
	});

	it('a room is files and folders of files, as deep as the rule looks', () => {
		expect(rooms.flatMap(folders).flatMap(folders)).toEqual([]);
	});

	it('no room but the commands knows files, no room above the ground floor the geometry libraries', () => {
		const pure = rooms.filter((room) => room !== 'lib/commands');
		const bad = pure.map((room) => plant(room, 'node:fs/promises'));
		bad.push(plant('lib/map', 'proj4'), plant('lib/tank', 'kdbush'), plant('lib/read', '@turf/turf'));
		expect(refused(bad)).toEqual(bad);
	});

	it('the floor below is open', () => {
		const good = [plant('lib/track', 'lib/model/index.ts'), plant('lib/formats', 'lib/units/index.ts')];
		good.push(plant('lib/pipeline', 'lib/match/index.ts'), plant('lib/commands', 'lib/index.ts'));
		expect(refused(good)).toEqual([]);
	});
});
