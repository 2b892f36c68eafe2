import { readFileSync } from 'node:fs';
import { mkdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';

/** The process that builds in a folder, to distinguish a running process from a killed one. */
interface Owner {
	pid: number;
	host: string;
	/** Start time of the process in the system's units, since process ids are reused; '' where not available. */
	began: string;
}

const FILE = 'owner.json';

/**
 * Creates the folder `path` for this process, atomically with its owner file in it. False where another running process
 * has it; what a killed process left there is removed.
 */
export async function take(path: string): Promise<boolean> {
	const mine = `${path}-${process.pid}`;
	await rm(mine, { recursive: true, force: true });
	await mkdir(mine);
	try {
		await writeFile(join(mine, FILE), JSON.stringify(me()));
		for (let tries = 0; tries < 3; tries++) {
			// A rename replaces no folder or an empty one, never one with content.
			if (await renamed(mine, path)) return true;
			if (await goesOn(path)) return false;
			// Of two processes that find it, only one can move it away.
			const left = `${mine}-left`;
			if (await renamed(path, left)) await rm(left, { recursive: true, force: true });
		}
		return false;
	} finally {
		await rm(mine, { recursive: true, force: true });
	}
}

async function renamed(from: string, to: string): Promise<boolean> {
	try {
		await rename(from, to);
		return true;
	} catch (fault) {
		const { code } = fault as NodeJS.ErrnoException;
		if (code === 'ENOTEMPTY' || code === 'EEXIST' || code === 'EPERM' || code === 'ENOENT') return false;
		throw fault;
	}
}

function me(): Owner {
	return { pid: process.pid, host: hostname(), began: beganOf(process.pid) };
}

async function goesOn(path: string): Promise<boolean> {
	let owner: Owner;
	try {
		owner = JSON.parse(await readFile(join(path, FILE), 'utf8')) as Owner;
	} catch {
		// Folders appear with their owner file, so one without it was left while being removed.
		return false;
	}
	// Processes of another machine cannot be checked.
	return owner.host !== hostname() || (isAlive(owner.pid) && owner.began === beganOf(owner.pid));
}

export function isAlive(pid: number): boolean {
	try {
		process.kill(pid, 0);
		return true;
	} catch (fault) {
		return (fault as NodeJS.ErrnoException).code === 'EPERM';
	}
}

/** The 22nd field of /proc/PID/stat (proc(5)); the second may hold blanks and brackets itself. */
function beganOf(pid: number): string {
	try {
		const text = readFileSync(`/proc/${pid}/stat`, 'utf8');
		return text.slice(text.lastIndexOf(')') + 2).split(' ')[19] ?? '';
	} catch {
		return '';
	}
}
