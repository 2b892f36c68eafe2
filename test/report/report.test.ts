import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseHTML } from 'linkedom';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { VERSION } from '../../lib/model/index.ts';
import { reportHtml } from '../../lib/write/report/index.ts';
import { chromiumPath, launch } from '../browser.ts';
import { madeRun, NASTY } from './run.ts';

const run = madeRun();
const textOf = (r: typeof run, units: 'us' | 'metric' = 'us') =>
	new TextDecoder().decode(Buffer.concat([...reportHtml(r, units)]));
const page = textOf(run);
const { document } = parseHTML(page);
const words = (el: { textContent: string | null } | null) => (el?.textContent ?? '').replace(/\s+/g, ' ').trim();
const section = (name: string) =>
	[...document.querySelectorAll('section')].find((s) => words(s.querySelector('h2')) === name) ?? null;

describe('report', () => {
	it('has the owner’s page first, then the verdict, each monitor in a sentence', () => {
		const verdict = words(document.querySelector('.verdict'));
		const { value, interval } = run.result.combines.A!.factor!;
		const pct = (factor: number) => (100 * (1 / factor - 1)).toFixed(1);
		expect(verdict).toContain(
			`A reads ${pct(value)}% high (95% interval ${pct(interval[1])} to ${pct(interval[0])}%). Its yields are multiplied by ${value.toFixed(3)}.`,
		);
		expect(verdict).toMatch(/B reads \d\.\d% low/);
		expect(verdict).toContain('On the same ground A read 11.7% more than B (95% interval 10.9 to 12.5%).');
		expect(verdict).toContain('No difference shown after correction (+0.2%; 95% interval −0.6 to +1.0%).');
		expect(page.indexOf('class="first"')).toBeLessThan(page.indexOf('class="verdict"'));
		expect(page.indexOf('class="verdict"')).toBeLessThan(page.indexOf('class="scale-to-map"'));
	});

	it('tells of an error that changes with flow at the chart of dumps, which draws one line', () => {
		expect(words(section('Dumps'))).not.toContain('changes with flow');
		const curved = madeRun();
		const factor = curved.result.combines.A!.factor!;
		factor.form = 'flow';
		factor.curve = [
			{ flow_kg_s: 5, value: 1.01 },
			{ flow_kg_s: 15, value: 1.2 },
		];
		expect(textOf(curved)).toMatch(
			/A’s error changes with flow\. .* A read lower, and such dumps may lie outside the band/,
		);
		factor.form = 'step';
		expect(textOf(curved)).toContain('A’s error changed during the field: its dumps may lie outside the band.');
	});

	it('gives the owner area, weights with intervals, tickets, what was done, cautions', () => {
		const first = words(document.querySelector('.first'));
		const { dry_bu, dry_bu_interval, area_ha } = run.result.totals;
		const whole = (v: number) => Math.round(v).toLocaleString('en-US');
		expect(first).toContain(`${whole(dry_bu)} bu`);
		expect(first).toContain(`${whole(dry_bu_interval![0])} to ${whole(dry_bu_interval![1])} bu`);
		expect(first).toContain(`${(area_ha / 0.40468564224).toFixed(2)} ac`);
		expect(first).toContain('By ticket: 5 truckloads');
		expect(first).toContain('What was done to the numbers');
		expect(first).toContain('Combine B’s tank was not empty at the start.');
		// Six cautions there, and how many more follow.
		const wary = madeRun();
		wary.result.notes = Array.from({ length: 8 }, (_, i) => ({ level: 'caution', text: `Caution ${i + 1}.` }));
		const [top] = textOf(wary).split('class="verdict"');
		expect(top).toContain('Caution 6.');
		expect(top).not.toContain('Caution 7.');
		expect(top).toContain('And 2 more under Cautions.');
		expect(page).not.toContain('more under Cautions');
		const shared = madeRun();
		shared.field.plan = { ...shared.field.plan, shares: { Owner: 40, Tenant: 60 } };
		expect(textOf(shared).replace(/\s+/g, ' ')).toMatch(
			new RegExp(`<td>Owner</td><td class="r">40</td><td class="r">${whole(0.4 * dry_bu)} bu</td>`),
		);
	});

	it('shows the chain in its order, then everything that it rests on', () => {
		expect([...document.querySelectorAll('.scale-to-map b')].map(words)).toEqual([
			'Certified scale',
			'Cart',
			'Dumps',
			'Factors',
			'Seams',
			'Map',
		]);
		expect([...document.querySelectorAll('h2')].map(words)).toEqual([
			'Summary for the field',
			'Verdict',
			'Cautions',
			'From scale to map',
			'Map',
			'Trucks',
			'Dumps',
			'Factors',
			'Seams',
			'Moisture',
			'Totals',
			'Left off the map',
			'Not used',
			'Notes',
			'Inputs',
			'Method, in short',
		]);
	});

	it('lists every dump, with its reason where it is not simply used', () => {
		const rows = [...section('Dumps')!.querySelectorAll('table.dumps tbody tr')];
		expect(rows).toHaveLength(run.result.dumps.length);
		expect(words(rows[9]!)).toMatch(/^D10.*not used saved twice: the cart held no more than before/);
		expect(words(rows[6]!)).toContain('uncertain match');
		expect(words(section('Dumps'))).toContain('emptied straight into a truck');
		expect(words(section('Dumps'))).toContain('2 min 17 s behind the logs (±18 s, 95%)');
	});

	it('lists what was set aside, the inputs with their SHA-256, the version', () => {
		expect(words(section('Not used'))).toContain('cart.csv14weight_kgmanya number is wanted');
		for (const input of run.field.inputs) expect(words(section('Inputs'))).toContain(input.sha256);
		expect(page).toContain(`Steelyard ${VERSION}`);
		expect(JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')).version).toBe(VERSION);
	});

	it('counts in either unit system', () => {
		const dry = run.result.totals.dry_kg;
		expect(words(section('Totals'))).toContain(`${Math.round(dry / 0.45359237).toLocaleString('en-US')}`);
		expect(page).toContain('bu/ac');
		const metric = textOf(run, 'metric');
		expect(metric).toContain('t/ha');
		expect(metric).not.toContain('bu/ac');
		expect(metric).toContain(Math.round(dry).toLocaleString('en-US'));
	});

	it('tells by how much the totals do not close', () => {
		const sign = run.surface.closure.mass_pct > 0 ? '+' : '−';
		expect(words(section('Totals'))).toContain(`${sign}${Math.abs(run.surface.closure.mass_pct).toFixed(2)}%`);
	});

	it('counts every flagged record and its grain', () => {
		const flagged = run.yields.flag.filter((f) => f > 0).length;
		expect(words(section('Left off the map')!.querySelector('tfoot tr'))).toContain(`Together${flagged}`);
	});

	it('holds no script and nothing to load; same run, same bytes', () => {
		expect(page).not.toMatch(/<script|<link|<iframe|javascript:|url\(/i);
		expect(page.match(/(?:src|href)="(?!data:)[^"]*"/g)).toBeNull();
		const policy = document.querySelector('meta[http-equiv]')!.getAttribute('content')!;
		expect(policy).toContain("default-src 'none'");
		expect(policy).not.toContain('unsafe');
		expect(page).not.toMatch(/ style=/);
		expect(textOf(madeRun()) === page).toBe(true);
	});

	it('shows names from files as text, never as markup', () => {
		const nasty = textOf(madeRun({ nasty: true }));
		expect(nasty).not.toContain('<img src=x');
		expect(nasty).not.toMatch(/<script/i);
		const { document: read } = parseHTML(nasty);
		expect(read.querySelectorAll('img')).toHaveLength(0);
		expect(read.querySelector('h1')!.textContent).toBe(NASTY);
		expect([...read.querySelectorAll('td')].filter((c) => c.textContent === NASTY).length).toBeGreaterThanOrEqual(3);
	});

	it('says where a factor drifts, and on what the level rests', () => {
		const r = madeRun();
		for (const f of r.factors.factors) Object.assign(f, { form: 'trend', source: 'total' });
		const text = textOf(r).replace(/\s+/g, ' ');
		expect(text).toContain('on average (drift).');
		expect(text).toContain('<td>one weight of the whole field</td>');
	});

	it('runs without any weight, and says that the level is not known', () => {
		const bare = textOf(madeRun({ weights: false }));
		expect(bare).toContain('not by how much they are off');
		expect(bare).toContain('Yields are as recorded');
		expect(bare).not.toMatch(/NaN|undefined|Infinity/);
		expect(page).not.toMatch(/NaN|undefined|Infinity/);
	});
});

const pdftotext = (() => {
	try {
		execFileSync('pdftotext', ['-v'], { stdio: 'ignore' });
		return true;
	} catch {
		return false;
	}
})();
if (!chromiumPath || !pdftotext)
	console.warn('SKIPPED: printing the report needs Chromium and pdftotext (poppler-utils)');

describe.skipIf(!chromiumPath || !pdftotext)('report in print', () => {
	let browser: Browser;
	let tab: Page;
	const room = mkdtempSync(join(tmpdir(), 'report-'));
	const faults: string[] = [];
	const requests: string[] = [];

	beforeAll(async () => {
		browser = await launch();
		tab = await browser.newPage();
		tab.on('console', (m) => faults.push(m.text()));
		tab.on('pageerror', (e) => faults.push(String(e)));
		tab.on('request', (r) => requests.push(r.url()));
	});
	afterAll(async () => {
		await browser.close();
		rmSync(room, { recursive: true });
	});

	async function printed(html: string, format: 'A4' | 'Letter'): Promise<string[]> {
		writeFileSync(join(room, 'report.html'), html);
		await tab.goto(`file://${join(room, 'report.html')}`);
		const pdf = join(room, 'report.pdf');
		await tab.pdf({ path: pdf, format });
		const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' });
		return text.split('\f').slice(0, -1);
	}

	for (const format of ['A4', 'Letter'] as const) {
		it(`fills a few pages of ${format}, whole, with no complaint and no request`, async () => {
			requests.length = 0;
			const pages = await printed(page, format);
			expect(pages.length).toBeGreaterThanOrEqual(4);
			expect(pages.length).toBeLessThanOrEqual(8);
			const all = pages.join('\n').replace(/\s+/g, ' ');
			expect(pages[0]!.replace(/\s+/g, ' ')).toContain('Summary for the field');
			expect(all).toMatch(/A reads \d\.\d% high/);
			for (const d of run.result.dumps) expect(all).toContain(d.id);
			expect(all).toContain('Do not settle sales or crop shares');
			expect(all).toContain(run.field.inputs[0]!.sha256.slice(0, 30));
			expect(requests.filter((u) => !u.startsWith('data:') && !u.startsWith('file:'))).toEqual([]);
			expect(faults).toEqual([]);
		});

		it(`cuts no row of a long table between pages of ${format}, and repeats its head`, async () => {
			const pages = await printed(textOf(madeRun({ dumps: 60, long: true })), format);
			let tables = 0;
			for (let k = 0; k < 60; k++) {
				const from = pages.findIndex((p) => new RegExp(`\\bfrom${k}\\b`).test(p));
				const to = pages.findIndex((p) => new RegExp(`\\bto${k}\\b`).test(p));
				expect(from).toBeGreaterThanOrEqual(0);
				expect(to).toBe(from);
				if (k > 0 && !new RegExp(`\\bfrom${k - 1}\\b`).test(pages[from]!)) {
					tables++;
					expect(pages[from]).toMatch(/Ended/);
				}
			}
			expect(tables).toBeGreaterThanOrEqual(3);
		});
	}

	it('reads in black and white: classes of the map fall evenly in lightness', async () => {
		await printed(page, 'A4');
		const fills = await tab.evaluate(() =>
			[...document.querySelector('.legend svg')!.querySelectorAll('rect')].map((r) => r.getAttribute('fill')!),
		);
		const colors = [...new Set(fills)];
		const lightness = colors.map((hex) => {
			const [r, g, b] = [1, 3, 5].map((k) => (Number.parseInt(hex.slice(k, k + 2), 16) / 255) ** 2.2);
			return Math.cbrt(0.2126 * r! + 0.7152 * g! + 0.0722 * b!);
		});
		expect(colors.length).toBeGreaterThanOrEqual(4);
		for (let k = 1; k < lightness.length; k++) expect(lightness[k - 1]! - lightness[k]!).toBeGreaterThan(0.05);
	});

	it('draws the map: many colors within its picture', async () => {
		await printed(page, 'A4');
		const shot = await tab.locator('.maps svg').nth(1).screenshot();
		const colors = await tab.evaluate(
			async (bytes) => {
				const picture = await createImageBitmap(new Blob([Uint8Array.from(bytes)]));
				const canvas = new OffscreenCanvas(picture.width, picture.height);
				const pen = canvas.getContext('2d')!;
				pen.drawImage(picture, 0, 0);
				const { data } = pen.getImageData(0, 0, picture.width, picture.height);
				const seen = new Map<number, number>();
				for (let k = 0; k < data.length; k += 4) {
					const c = (data[k]! << 16) | (data[k + 1]! << 8) | data[k + 2]!;
					seen.set(c, (seen.get(c) ?? 0) + 1);
				}
				return [...seen.values()].filter((n) => n > 500).length;
			},
			[...shot],
		);
		expect(colors).toBeGreaterThanOrEqual(5);
	});
});
