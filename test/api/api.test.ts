import { readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { describeDoors } from './describe.ts';

interface Item {
	kind: string;
	name: string;
	docComment?: string;
	members?: Item[];
}

const PUBLIC = ['Function', 'Class', 'Interface', 'TypeAlias', 'Variable', 'Method'];

/** Names behind the doors that have no docstring. */
function bare(item: Item, path: string): string[] {
	const here = item.kind === 'Package' || item.kind === 'EntryPoint' ? path : `${path}/${item.name}`;
	const own = PUBLIC.includes(item.kind) && !item.docComment ? [here] : [];
	const inside = item.kind === 'Interface' ? [] : (item.members ?? []);
	return [...own, ...inside.flatMap((m) => bare(m, here))];
}

it('everything behind a door has a docstring that the reference is made from, each well formed', () => {
	const file = join(tmpdir(), `steelyard-${process.pid}.api.json`);
	expect(describeDoors(file)).toEqual([]);
	const model = JSON.parse(readFileSync(file, 'utf8')) as Item;
	rmSync(file);
	const functions = JSON.stringify(model).match(/"kind":"Function"/g)?.length ?? 0;
	expect(functions).toBeGreaterThan(100);
	expect(bare(model, '')).toEqual([]);
});
