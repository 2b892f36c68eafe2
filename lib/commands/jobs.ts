import { once } from 'node:events';
import { CallFault, type Folder, type Run, type RunOfRecords, runField, type UnitSystem } from '../index.ts';
import { sideBySide } from './compare.ts';
import { fieldFrom } from './intake.ts';
import { comparisonOutputs, outputs } from './outputs.ts';
import { Place } from './place/place.ts';
import { PORT, serve } from './server.ts';
import { summary, understanding } from './summary.ts';
import { terminalProgress } from './terminal.ts';
import { type FilesAhead, filesAhead } from './threads/files-ahead.ts';
import type { Threads } from './threads/threads.ts';

interface Common {
	strict?: boolean;
	units: UnitSystem;
	/** Other threads; with them as without, the files have the same bytes. */
	threads?: Threads;
}

async function run(
	path: string,
	options: Common,
	{ grid = true, ahead = null }: { grid?: boolean; ahead?: FilesAhead | null } = {},
): Promise<{ folder: Folder; run: Run }> {
	const { strict = false, threads = null } = options;
	if (grid) threads?.warm();
	const folder = await fieldFrom(path);
	const progress = terminalProgress();
	try {
		const known = (records: RunOfRecords) => ahead?.begin(records);
		return { folder, run: await runField(folder, { strict, grid, known }, progress, threads) };
	} finally {
		progress.done();
	}
}

/** `check FOLDER`: reports what was understood and every fault; writes nothing. */
export async function check(path: string, options: Common): Promise<string> {
	const done = await run(path, options, { grid: false });
	return `${summary(done.run, options.units)}\n\n${understanding(done.run, options.units)}`;
}

/** `correct FOLDER --out DIR`: writes all results completely or not at all. */
export async function correct(
	path: string,
	options: Common & { out: string; replace?: boolean; bushels?: boolean },
): Promise<string> {
	const place = await Place.take(options.out, { inputs: [path], replace: options.replace ?? false });
	const { units, bushels = false, threads } = options;
	const ahead = filesAhead(threads, place.built, { units, bushels });
	try {
		const done = await run(path, options, { ahead });
		await place.publish(outputs(done.run, done.folder, units, bushels), ahead);
		return `${summary(done.run, units)}\n  Results are in ${options.out}; open report.html first.`;
	} finally {
		await ahead?.end();
		await place.release();
	}
}

/** `view FOLDER`: corrects, then serves the viewer until it is stopped. */
export async function view(
	path: string,
	options: Common & { port?: string },
	say: (text: string) => void,
): Promise<void> {
	const port = options.port === undefined ? PORT : Number(options.port);
	if (!Number.isInteger(port) || port < 1 || port > 65535) {
		throw new CallFault(`--port ${options.port} is not a port number from 1 to 65535`);
	}
	const done = await run(path, options);
	say(summary(done.run, options.units));
	const served = await serve(done.run, done.folder, port);
	if (served.moved) {
		say(`  Port ${port} is taken. The browser keeps your pins by address: what was pinned there is not seen here.`);
	}
	say(`  The map is at ${served.url} (this machine only; Ctrl-C ends it).`);
	await once(served.server, 'close');
}

/** `compare FOLDER`: two or more combines side by side; with --out, also as a page and a table. */
export async function compare(path: string, options: Common & { out?: string; replace?: boolean }): Promise<string> {
	if (options.out === undefined) return sideBySide((await run(path, options, { grid: false })).run, options.units);
	const place = await Place.take(options.out, { inputs: [path], replace: options.replace ?? false });
	try {
		const done = await run(path, options);
		await place.publish(comparisonOutputs(done.run, options.units));
		return `${sideBySide(done.run, options.units)}\n\nThe page and the table are in ${options.out}.`;
	} finally {
		await place.release();
	}
}
