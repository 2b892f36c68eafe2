/**
 * `npm run fuzz [-- FROM COUNT]`: mutated folders by seed, in child processes, so that one that hangs, or takes more
 * than a gigabyte, is told with its seed. `npm run fuzz -- SEED` shows one seed's files and outcome.
 */
import { fork } from 'node:child_process';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { filesOf, outcomeOf } from './outcome.ts';

/** Generous: the machine may have other work. A folder whose computing alone takes 20 s is told as well. */
const HANGS_MS = 60_000;
const SLOW_MS = 20_000;
/** A whole process, with what the garbage collector has not yet taken; arrays outside of its heap count as well. */
const MOST_MB = 1024;
const SHARE = 500;
const [a, b] = process.argv.slice(2).map(Number);

if (process.send) {
	for (let seed = a as number; seed < (b as number); seed++) {
		process.send({ begins: seed });
		const before = process.cpuUsage().user;
		const outcome = await outcomeOf(seed);
		const took_ms = (process.cpuUsage().user - before) / 1000;
		if (took_ms > SLOW_MS) outcome.wrong.push(`takes ${Math.round(took_ms / 1000)} s`);
		const took_mb = process.memoryUsage().rss / 2 ** 20;
		if (took_mb > MOST_MB) outcome.wrong.push(`takes ${Math.round(took_mb)} MB`);
		process.send(outcome);
	}
	process.disconnect();
} else if (a !== undefined && b === undefined) {
	for (const [name, bytes] of filesOf(a)) console.log(`── ${name}\n${new TextDecoder().decode(bytes)}`);
	console.log(await outcomeOf(a));
} else {
	const from = a ?? 20_000;
	const end = from + (b ?? 100_000);
	let next = from;
	let done = 0;
	let bad = 0;
	const tell = (text: string) => {
		bad++;
		console.log(text);
	};
	const work = async () => {
		while (next < end) {
			const [first, last] = [next, Math.min(end, next + SHARE)];
			next = last;
			await share(first, last);
			console.error(`${done} of ${end - from} folders, ${bad} wrong`);
		}
	};
	const share = (first: number, last: number) =>
		new Promise<void>((finished) => {
			const child = fork(fileURLToPath(import.meta.url), [String(first), String(last)], {
				execArgv: [...process.execArgv, `--max-old-space-size=${MOST_MB}`],
			});
			let at = first;
			let timer: NodeJS.Timeout | undefined;
			const watch = () => {
				clearTimeout(timer);
				timer = setTimeout(() => {
					tell(`seed ${at}: hangs`);
					child.kill('SIGKILL');
				}, HANGS_MS);
			};
			child.on('message', (said: { begins?: number; seed?: number; wrong?: string[] }) => {
				watch();
				if (said.begins !== undefined) at = said.begins;
				else {
					done++;
					for (const text of said.wrong ?? []) tell(`seed ${said.seed}: ${text}`);
				}
			});
			child.on('exit', async (code) => {
				clearTimeout(timer);
				if (code !== 0) {
					tell(`seed ${at}: ends its process (${code})`);
					if (at + 1 < last) await share(at + 1, last);
				}
				finished();
			});
		});
	await Promise.all(Array.from({ length: Math.min(4, cpus().length) }, work));
	console.log(`${done} folders, ${bad} wrong`);
	process.exitCode = bad > 0 ? 1 : 0;
}
