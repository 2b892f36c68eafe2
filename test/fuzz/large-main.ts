/** `npx tsx test/fuzz/large-main.ts [NAME…]`: what each large folder costs: seconds of computing, megabytes at most. */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { InputFault, runField } from '../../lib/index.ts';
import { folder } from '../read/folder.ts';
import { LARGE } from './large.ts';

const [first, ...more] = process.argv.slice(2);
if (first === '--one') {
	const files = (LARGE[more[0] as string] as () => Record<string, string>)();
	const began = process.cpuUsage().user;
	let ends: string;
	try {
		const run = await runField(folder(files));
		ends = `${run.field.records.n} records`;
	} catch (fault) {
		ends = fault instanceof InputFault ? `fault: ${fault.message.slice(0, 90)}` : `EXCEPTION ${(fault as Error).stack}`;
	}
	const s = (process.cpuUsage().user - began) / 1e6;
	const mb = process.resourceUsage().maxRSS / 1024;
	console.log(`${s > 20 || mb > 1024 ? 'TOO MUCH' : 'ok'} ${s.toFixed(1)} s ${mb.toFixed(0)} MB: ${ends}`);
} else {
	for (const name of first === undefined ? Object.keys(LARGE) : [first, ...more]) {
		const args = [...process.execArgv, fileURLToPath(import.meta.url), '--one', name];
		const done = spawnSync(process.execPath, args, { encoding: 'utf8', timeout: 180_000 });
		console.log(
			`${name}: ${done.status === 0 ? done.stdout.trim() : `TOO MUCH: ${done.signal ?? done.stderr.slice(-300)}`}`,
		);
	}
}
