// Runs the command in a process of its own and says, as the last line on standard error, what it took.
// node child.mjs command…            the built command with these words
// node child.mjs --parse file…       PapaParse alone, from these files' bytes to rows of texts
import { readFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';

const words = process.argv.slice(2);
let from = 0;
let before_us = 0;
const spent_us = () => process.resourceUsage().userCPUTime + process.resourceUsage().systemCPUTime;
process.on('exit', () => {
	const used = {
		spent_ms: (spent_us() - before_us) / 1000,
		wall_ms: performance.now() - from,
		most_mb: process.resourceUsage().maxRSS / 1024,
	};
	process.stderr.write(`\n${JSON.stringify(used)}\n`);
});
if (words[0] === '--parse') {
	const { default: Papa } = await import('papaparse');
	const logs = words.slice(1).map((file) => readFileSync(file));
	from = performance.now();
	before_us = spent_us();
	for (const bytes of logs) Papa.parse(bytes.toString(), { header: false });
} else {
	const main = fileURLToPath(new URL('../../dist/lib/commands/main.js', import.meta.url));
	process.argv.splice(1, process.argv.length - 1, main, ...words);
	await import(main);
}
