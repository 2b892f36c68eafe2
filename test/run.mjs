// `npm test`: sets itself up on a bare clone, then runs everything and closes with one plain line of counts.
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../', import.meta.url));
const call = (command, args, options = {}) =>
	spawnSync(command, args, { cwd: root, stdio: 'inherit', shell: process.platform === 'win32', ...options });

/** Programs from outside that tests compare with, each with its Debian packages. */
const OUTSIDE = [
	{ name: 'Chromium', try: ['chromium', '--version'], packages: ['chromium'] },
	{ name: 'GDAL', try: ['gdalinfo', '--version'], packages: ['gdal-bin'] },
	{ name: 'PROJ', try: ['cs2cs', '--help'], packages: ['proj-bin'] },
	{ name: 'pdftotext', try: ['pdftotext', '-v'], packages: ['poppler-utils'] },
	{
		name: 'R with gstat',
		try: ['Rscript', '-e', 'library(gstat); library(MASS)'],
		packages: ['r-base-core', 'r-cran-gstat', 'r-cran-sp', 'r-cran-mass'],
	},
];
const there = (tool) => {
	const { error, status } = spawnSync(tool.try[0], tool.try.slice(1), { stdio: 'ignore' });
	return !error && (status === 0 || tool.name === 'PROJ' || tool.name === 'pdftotext');
};

function install() {
	const mark = join(root, 'node_modules', '.package-lock.json');
	const lock = join(root, 'package-lock.json');
	if (!existsSync(mark) || statSync(mark).mtimeMs < statSync(lock).mtimeMs) {
		if (call('npm', ['ci', '--ignore-scripts']).status !== 0) process.exit(1);
	}
	let missing = OUTSIDE.filter((tool) => !there(tool));
	if (missing.length > 0 && existsSync('/etc/debian_version') && process.getuid?.() === 0) {
		console.log(`Installing ${missing.map((t) => t.name).join(', ')} for the tests that compare with them.`);
		const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
		call('apt-get', ['update', '-qq'], { env });
		const quiet = ['install', '-y', '-qq', '--no-install-recommends', '-o', 'Dpkg::Use-Pty=0'];
		for (const tool of missing)
			call('apt-get', [...quiet, ...tool.packages], { env, stdio: ['ignore', 'ignore', 'inherit'] });
		missing = OUTSIDE.filter((tool) => !there(tool));
	}
	for (const tool of missing) {
		console.log(
			`MISSING: ${tool.name} (Debian: ${tool.packages.join(' ')}). Tests that need it are skipped and counted.`,
		);
	}
}

install();
/** The library's own types are checked by its build. */
const build = ['build', 'npm run --silent build'];
const checks = [
	['lint', 'npx biome ci --colors=off .'],
	['types', ...['tsconfig.commands.json', 'viewer/tsconfig.json', 'test/tsconfig.json'].map((p) => `npx tsc -p ${p}`)],
];
let passed = 0;
let failed = 0;
let skipped = 0;
const env = { ...process.env };
/** Runs a step; what it printed is told whole once it may be: while tests run, they alone print. */
const step = async ([name, ...commands], mayTell = null) => {
	const text = [];
	const run = (command) =>
		new Promise((done) => {
			const child = spawn(command, { cwd: root, shell: true, stdio: ['ignore', 'pipe', 'pipe'] });
			for (const stream of [child.stdout, child.stderr]) stream.on('data', (chunk) => text.push(chunk));
			child.on('error', () => done(1));
			child.on('close', done);
		});
	let ok = true;
	for (const command of commands) if ((await run(command)) !== 0) ok = false;
	await mayTell;
	console.log(`── ${name}`);
	process.stdout.write(Buffer.concat(text));
	if (ok) passed++;
	else {
		failed++;
		console.log(`FAILED: ${name}`);
	}
	return ok;
};
// One after the other leaves a processor idle now and then: lint and types go on beside the tests.
let tested;
const afterTests = new Promise((done) => {
	tested = done;
});
const checked = Promise.all(checks.map((check) => step(check, afterTests)));
if (await step(build)) {
	// What was just built is what to test.
	env.STEELYARD_PAGES = join(root, 'dist', 'viewer');
	env.STEELYARD_BUILT = '1';
}

console.log('── tests');
const artifacts = join(root, 'test', '.artifacts');
mkdirSync(artifacts, { recursive: true });
const report = join(artifacts, 'vitest.json');
rmSync(report, { force: true });
const status = await new Promise((done) => {
	const child = spawn(
		'npx',
		['vitest', 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`],
		{ cwd: root, stdio: 'inherit', shell: process.platform === 'win32', env },
	);
	child.on('error', () => done(1));
	child.on('close', done);
});
tested();
await checked;
if (existsSync(report)) {
	const counts = JSON.parse(readFileSync(report, 'utf8'));
	passed += counts.numPassedTests;
	failed += counts.numFailedTests;
	skipped += counts.numPendingTests + counts.numTodoTests;
	for (const file of counts.testResults) {
		// A file that fails before its first test counts no test.
		if (file.status === 'failed' && !file.assertionResults.some((t) => t.status === 'failed')) failed++;
		for (const test of file.assertionResults) if (test.status === 'pending') console.log(`skipped: ${test.fullName}`);
	}
}
if (status !== 0 && failed === 0) failed++;
console.log(`${passed} passed, ${failed} failed, ${skipped} skipped`);
process.exit(failed === 0 && passed > checks.length + 1 ? 0 : 1);
