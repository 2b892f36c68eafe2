import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { run } from '../../lib/commands/program.ts';

export interface Called {
	status: number | null;
	out: string;
	err: string;
}

/** The command as it is installed. */
export const main = fileURLToPath(new URL('../../dist/lib/commands/main.js', import.meta.url));

/** Runs it as a user does, in a process of its own; `cwd` is where it is called. */
export function spawned(cwd: string, ...args: string[]): Called {
	const done = spawnSync(process.execPath, [main, ...args], { encoding: 'utf8', cwd, timeout: 90_000 });
	return { status: done.status, out: done.stdout, err: done.stderr };
}

/**
 * Its own entry, in this process: the same arguments, words, files and status as `spawned`, on one thread, without the
 * second and a half that V8 takes to compile it.
 */
export async function steelyard(...args: string[]): Promise<Called> {
	const called = { out: '', err: '' };
	const status = await run(args, {
		out: (text) => {
			called.out += text;
		},
		err: (text) => {
			called.err += text;
		},
	});
	return { status, ...called };
}
