#!/usr/bin/env node
import { setFlagsFromString } from 'node:v8';
import { isMainThread } from 'node:worker_threads';
import { run } from './program.ts';
import { serve, Threads } from './threads/threads.ts';

// Most functions of a run work for a second and are done: V8 compiles each for speed only after three times its usual wait,
// with a quarter of what it usually copies into it, and plainly at once.
const FLAGS = ['--interrupt-budget=400000', '--max-inlined-bytecode-size-cumulative=250', '--always-sparkplug'];
if (isMainThread) for (const flag of FLAGS) setFlagsFromString(flag);

if (!isMainThread) serve();
else {
	// A reader that closes early (head, say) is not an error.
	process.stdout.on('error', (fault: NodeJS.ErrnoException) => {
		if (fault.code === 'EPIPE') process.exit(0);
		throw fault;
	});
	// Workers start from this file too.
	const threads = new Threads(new URL(import.meta.url));
	try {
		process.exitCode = await run(process.argv.slice(2), {
			out: (text) => process.stdout.write(text),
			err: (text) => process.stderr.write(text),
			threads,
		});
	} finally {
		await threads.end();
	}
}
