// Runs the command in a process of its own and says, as the last line on standard error, what it took.
// node child.mjs command…            the built command with these words
// node child.mjs --parse file…       PapaParse alone, from these files to rows of texts
// Either is measured from the start of its process to the end.
import { readFileSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';

const words = process.argv.slice(2);
const spent_us = () => process.resourceUsage().userCPUTime + process.resourceUsage().systemCPUTime;
process.on('exit', () => {
	const used = {
		spent_ms: spent_us() / 1000,
		wall_ms: performance.now(),
		most_mb: process.resourceUsage().maxRSS / 1024,
	};
	process.stderr.write(`\n${JSON.stringify(used)}\n`);
});
if (words[0] === '--parse') {
	const { default: Papa } = await import('papaparse');
	for (const file of words.slice(1)) Papa.parse(readFileSync(file, 'utf8'), { header: false });
} else {
	const main = fileURLToPath(new URL('../../dist/lib/commands/main.js', import.meta.url));
	process.argv.splice(1, process.argv.length - 1, main, ...words);
	await import(main);
}
