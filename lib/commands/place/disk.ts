/** Files written through to the disk, and disk errors in words. */
import { createHash } from 'node:crypto';
import { writeSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { setImmediate } from 'node:timers/promises';
import { CallFault, type Output } from '../../index.ts';
import type { Written } from './manifest.ts';

const WHY: Record<string, string> = {
	ENOSPC: 'the disk is full',
	EDQUOT: 'the disk is full',
	EROFS: 'the disk can only be read',
	EACCES: 'you may not write there',
	EPERM: 'you may not write there',
	ENAMETOOLONG: 'the name is too long',
	ENOTDIR: 'a part of its path is a file',
};

/** Describes a disk error in words; returns any other error unchanged. */
export function unwritable(dir: string, fault: unknown): unknown {
	const { code, syscall } = fault as NodeJS.ErrnoException;
	if (fault instanceof CallFault || code === undefined || syscall === undefined) return fault;
	return new CallFault(`${dir} cannot be written: ${WHY[code] ?? code}. Nothing was written`);
}

/** Writes one file in chunks and syncs it to disk. */
export async function writeWhole(path: string, output: Output): Promise<Written> {
	const hash = createHash('sha256');
	let bytes = 0;
	const file = await open(path, 'w');
	try {
		for await (const chunk of output.chunks()) {
			hash.update(chunk);
			bytes += chunk.length;
			// The system has taken a copy sooner than another thread would begin to write.
			for (let at = 0; at < chunk.length; ) at += writeSync(file.fd, chunk, at);
			// Signals are heard between chunks.
			await setImmediate();
		}
		await file.sync();
	} finally {
		await file.close();
	}
	return { file: output.name, bytes, sha256: hash.digest('hex') };
}

/** Syncs a folder's entries to disk where the system supports it. */
export async function syncFolder(dir: string): Promise<void> {
	const handle = await open(dir, 'r').catch(() => null);
	await handle?.sync().catch(() => undefined);
	await handle?.close();
}
