import { mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { folderFromDisk } from '../../lib/commands/folder-from-disk.ts';
import { type Served, serve } from '../../lib/commands/server.ts';
import { runField } from '../../lib/index.ts';
import { littleField, writeField } from './little.ts';

let dir: string;
let served: Served;
beforeAll(async () => {
	dir = writeField(mkdtempSync(join(tmpdir(), 'steelyard-view-')), littleField());
	const folder = await folderFromDisk(dir);
	served = await serve(await runField(folder), folder, 6720);
});
afterAll(() => {
	served.server.close();
	rmSync(dir, { recursive: true, force: true });
});

const status = (name: string) =>
	fetch(`${served.url}opened/file/${name}`)
		.then(async (answer) => (await answer.arrayBuffer()) && answer.status)
		.catch(() => 'cut short');

it('a file that vanishes under view costs its own answer and no other', async () => {
	expect(await status('A.csv')).toBe(200);
	rmSync(join(dir, 'A.csv'));
	expect(await status('A.csv')).not.toBe(200);
	expect(await status('cart.csv')).toBe(200);
	truncateSync(join(dir, 'cart.csv'));
	expect(await status('cart.csv')).toBe(200);
	rmSync(dir, { recursive: true });
	for (const name of ['A.csv', 'cart.csv', 'field.json']) expect(await status(name)).not.toBe(200);
	expect((await fetch(`${served.url}opened/scene.bin`)).status).toBe(200);
	writeField(dir, littleField());
	writeFileSync(join(dir, 'A.csv'), 'x');
	expect(await status('A.csv')).toBe(200);
});
