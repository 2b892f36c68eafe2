import { existsSync } from 'node:fs';
import { setTimeout } from 'node:timers/promises';
import { expect, it } from 'vitest';
import { writeWhole } from '../../lib/commands/place/disk.ts';

it.skipIf(!existsSync('/dev/full'))('a disk that is full is met at the first chunk', async () => {
	const chunks = async function* () {
		yield new Uint8Array(1 << 16);
		await setTimeout(50);
		yield new Uint8Array(1 << 16);
	};
	await expect(writeWhole('/dev/full', { name: 'full', chunks })).rejects.toMatchObject({ code: 'ENOSPC' });
});
