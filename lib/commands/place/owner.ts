import { readFileSync } from 'node:fs';
import { mkdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';

/** Who builds in a folder: enough to tell a run that goes on from one that was killed. */
interface Owner {
	pid: number;
	host: string;
	/** When the process began, as the system counts; '' where it does not say. A number is used for many processes. */
	began: string;
}

const FILE = 'owner.json';

/**
 * Makes the folder `path` for this process alone: it appears with its owner's name in it, at once. False where another
 * run that goes on has it; what a killed run left there is cleared away.
 */
export async function take(path: string): Promise<boolean> {
	const mine = `${path}-${process.pid}`;
	await rm(mine, { recursive: true, force: true });
	await mkdir(mine);
	try {
		await writeFile(join(mine, FILE), JSON.stringify(me()));
		for (let tries = 0; tries < 3; tries++) {
			// A folder takes the place of none or of an empty one, never of one that holds something.
			if (await renamed(mine, path)) return true;
			if (await goesOn(path)) return false;
			// Only one of two that come upon it can move it away.
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
		// It appears with its owner in it, so one without is what was left while it was being cleared away.
		return false;
	}
	// Of another machine's processes nothing can be known.
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
