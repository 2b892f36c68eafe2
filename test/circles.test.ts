import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../', import.meta.url));
const files = ['lib', 'viewer'].flatMap((room) =>
	readdirSync(join(root, room), { recursive: true, encoding: 'utf8' })
		.filter((f) => /\.tsx?$/.test(f) && !f.includes('planted-'))
		.map((f) => join(root, room, f)),
);
const IMPORT = /(?:from|import)\s*\(?\s*'(\.[^'?]+\.tsx?)/g;

it('no file imports itself by way of others, types included', () => {
	const imports = new Map(
		files.map((f) => [f, [...readFileSync(f, 'utf8').matchAll(IMPORT)].map((m) => join(dirname(f), m[1]!))]),
	);
	const done = new Set<string>();
	const circles: string[] = [];
	const walk = (file: string, way: string[]): void => {
		const at = way.indexOf(file);
		if (at >= 0) circles.push([...way.slice(at), file].map((f) => relative(root, f)).join(' → '));
		if (at >= 0 || done.has(file)) return;
		for (const next of imports.get(file) ?? []) walk(next, [...way, file]);
		done.add(file);
	};
	for (const file of files) walk(file, []);
	expect(circles).toEqual([]);
});
