import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { zipSync } from 'fflate';
import type { Browser, Download, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
	contoursGeojson,
	fieldContours,
	mapTif,
	pointsCsv,
	type Result,
	type Run,
	resultJson,
	swathsGeojson,
} from '../../lib/index.ts';
import { chromiumPath, openBrowser } from '../browser.ts';
import { openPage, pictured, pixels, servePages, type Watched } from './page.ts';
import { smallRun } from './sample.ts';

const text = async (download: Download): Promise<string> => {
	const parts: Buffer[] = [];
	for await (const part of await download.createReadStream()) parts.push(part as Buffer);
	return Buffer.concat(parts).toString();
};

describe.skipIf(!chromiumPath)('work on a field', () => {
	let browser: Browser;
	/** As `view` serves it, and as a static host: nothing opened. */
	let served: Awaited<ReturnType<typeof servePages>>;
	let plain: Awaited<ReturnType<typeof servePages>>;
	let run: Run;
	let files: Map<string, Uint8Array>;
	let scratch: string;
	/** The field's files in a folder. */
	let folder: string;
	beforeAll(async () => {
		const field = await smallRun();
		({ run, files } = field);
		served = await servePages(field.scene);
		served.files = files;
		plain = await servePages(null);
		browser = await openBrowser();
		scratch = mkdtempSync(join(tmpdir(), 'steelyard-'));
		folder = join(scratch, 'field');
		mkdirSync(folder);
		for (const [name, bytes] of files) writeFileSync(join(folder, name), bytes);
	});
	afterAll(async () => {
		await served?.close();
		await plain?.close();
		rmSync(scratch, { recursive: true, force: true });
	});

	const factors = (page: Page) => page.locator('.factors .numeral').allTextContents();
	const expected = () => Object.values(run.result.combines).map((c) => c.factor!.value.toFixed(3));
	const opened = async (page: Page) => {
		await page.waitForSelector('html[data-pictured]', { timeout: 90_000 });
	};

	it('opens a folder, runs it in the worker, and finds what the library finds', async () => {
		const { page, close, errors, requests } = await openPage(browser);
		await page.goto(plain.url);
		await page.getByRole('heading', { name: 'Open a field' }).waitFor();
		await page.getByLabel('Open a folder…').setInputFiles(folder);
		await opened(page);
		expect(await factors(page)).toEqual(expected());
		// A reload brings the field back from this browser's own store.
		await page.reload();
		await opened(page);
		expect(await factors(page)).toEqual(expected());
		expect(errors.filter((e) => !e.includes('404'))).toEqual([]);
		await page.getByRole('button', { name: 'Contours', exact: true }).click();
		await page.getByText(/^Contour zones of corrected yield: \d/).waitFor();
		expect(requests.filter((r) => !r.startsWith(plain.url) && !/^(data|blob):/.test(r))).toEqual([]);
		await close();
	});

	it('opens a zip, and the page answers while it runs; a run can be stopped', async () => {
		const { page, close } = await openPage(browser);
		await page.goto(plain.url);
		const zip = join(scratch, 'field.zip');
		writeFileSync(zip, zipSync(Object.fromEntries([...files].map(([name, b]) => [`somewhere/${name}`, b]))));
		await page.getByLabel('Open files…').setInputFiles(zip);
		await page.getByRole('button', { name: 'Stop' }).click();
		await page.getByText('Stopped. The files are still here.').waitFor();
		await page.getByLabel('Open files…').setInputFiles(zip);
		await page.getByRole('progressbar').waitFor();
		// Not frozen: a frame comes promptly while the worker works.
		const frame = await page.evaluate(
			() =>
				new Promise<number>((done) => {
					const start = performance.now();
					requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - start)));
				}),
		);
		expect(frame).toBeLessThan(2000);
		await opened(page);
		expect(await factors(page)).toEqual(expected());
		await close();
	});

	it('opens a folder of results', async () => {
		const { page, close } = await openPage(browser);
		await page.goto(plain.url);
		const write = async (name: string, chunks: Iterable<Uint8Array>) => {
			writeFileSync(join(scratch, name), Buffer.concat([...chunks]));
			return join(scratch, name);
		};
		const files = [
			await write('result.json', resultJson(run.result) as Iterable<Uint8Array>),
			await write('points.csv', pointsCsv(run)),
			await write('swaths.geojson', swathsGeojson(run)),
			await write('contours.geojson', contoursGeojson(run, fieldContours(run)) as Iterable<Uint8Array>),
			await write('map.tif', [await mapTif(run)]),
		];
		// Dropped on the page, as from a file manager.
		const given = files.map((f) => ({
			name: f.slice(f.lastIndexOf('/') + 1),
			text: readFileSync(f).toString('base64'),
		}));
		await page.evaluate((list) => {
			const data = new DataTransfer();
			for (const { name, text: t } of list) {
				data.items.add(new File([Uint8Array.from(atob(t), (c) => c.charCodeAt(0))], name));
			}
			window.dispatchEvent(new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
		}, given);
		await opened(page);
		expect(await factors(page)).toEqual(expected());
		expect(new Set((await pixels(page)).map(String)).size).toBeGreaterThan(40);
		await page.getByLabel('Color map by').selectOption('grid');
		await expect.poll(async () => new Set((await pixels(page)).map(String)).size).toBeGreaterThan(20);
		await close();
	});

	async function saveField(page: Page): Promise<string> {
		// The picker of the system cannot be driven: without it, the page downloads.
		await page.evaluate(() => Reflect.deleteProperty(window, 'showSaveFilePicker'));
		await page.getByRole('button', { name: 'Field', exact: true }).click();
		const [download] = await Promise.all([
			page.waitForEvent('download'),
			page.getByRole('button', { name: 'Save field.json with your overrides' }).click(),
		]);
		expect(download.suggestedFilename()).toBe('field.json');
		return text(download);
	}

	it('tells every fault of the input, as text', async () => {
		const { page, close } = await openPage(browser);
		await page.goto(plain.url);
		const field = JSON.parse(new TextDecoder().decode(files.get('field.json'))) as { crop: string };
		field.crop = '<img src=x onerror=alert(1)>';
		writeFileSync(join(scratch, 'field.json'), JSON.stringify(field));
		await page.getByLabel('Open files…').setInputFiles(join(scratch, 'field.json'));
		const alert = page.getByRole('alert');
		await alert.waitFor();
		expect(await alert.textContent()).toContain('field.json');
		expect(await alert.locator('img').count()).toBe(0);
		await close();
	});

	it('overrules a dump, tells the effect, undoes, redoes, keeps it over a reload, and saves it', async () => {
		const { page, close, errors } = await openPage(browser);
		await page.goto(served.url);
		await pictured(page);
		const before = await page.locator('.factors .small').allTextContents();
		const used = run.result.dumps.find((d) => d.status === 'used')!;
		await page.getByText('Override a dump').click();
		await page.getByRole('combobox', { name: 'Dump', exact: true }).selectOption(used.id);
		await page.getByRole('combobox', { name: 'Status', exact: true }).selectOption('aside');
		const effect = page.getByRole('status', { name: 'Effect of the last change' });
		await effect.waitFor({ timeout: 90_000 });
		expect(await effect.textContent()).toContain(`${used.id} not used`);
		const after = await page.locator('.factors .small').allTextContents();
		expect(after).not.toEqual(before);
		await page.getByRole('button', { name: 'Undo' }).click();
		await expect.poll(() => page.locator('.factors .small').allTextContents(), { timeout: 60_000 }).toEqual(before);
		await page.getByRole('button', { name: 'Redo' }).click();
		await expect.poll(() => page.locator('.factors .small').allTextContents(), { timeout: 60_000 }).toEqual(after);
		await page.reload();
		await page.getByText('Restored 1 change to this field.').waitFor();
		await expect.poll(() => page.locator('.factors .small').allTextContents(), { timeout: 60_000 }).toEqual(after);
		const json = JSON.parse(await saveField(page)) as { name: string; pins: { dumps: unknown } };
		expect(json.pins.dumps).toEqual({ [used.id]: { status: 'aside' } });
		expect(json.name).toBe(run.result.field.name);
		expect(errors).toEqual([]);
		await close();
	});

	/** One page for what changes nothing in the field, and last for what does. */
	let shared: Watched | null = null;
	const servedPage = async () => {
		if (!shared) {
			shared = await openPage(browser);
			await shared.page.goto(served.url);
			await pictured(shared.page);
		}
		return shared;
	};
	afterAll(async () => {
		await shared?.close();
	});

	it('exports what the command line writes', async () => {
		const { page } = await servedPage();
		await page.getByRole('button', { name: 'Field', exact: true }).click();
		const save = async (name: string) => {
			const [download] = await Promise.all([
				page.waitForEvent('download', { timeout: 90_000 }),
				page.getByRole('button', { name }).click(),
			]);
			const out = await text(download);
			await page.getByRole('button', { name: 'Field', exact: true }).click();
			return out;
		};
		const result = JSON.parse(await save('Result (JSON)')) as Result;
		// The browser's sines and logarithms differ from Node's in the last place, so numbers are near, words equal.
		expect(result.dumps.map((d) => [d.id, d.status, d.fill, d.reason])).toEqual(
			run.result.dumps.map((d) => [d.id, d.status, d.fill, d.reason]),
		);
		for (const [name, c] of Object.entries(run.result.combines)) {
			expect(result.combines[name]!.factor!.value).toBeCloseTo(c.factor!.value, 6);
		}
		const rows = (await save('All records (CSV)')).trim().split('\n');
		const mine = Buffer.concat([...pointsCsv(run, true)])
			.toString()
			.trim()
			.split('\n');
		expect(rows.length).toBe(mine.length);
		const column = mine[0]!.split(',').indexOf('yield_kg_ha');
		for (let i = 1; i < mine.length; i += 167) {
			const [a, b] = [rows[i]!.split(','), mine[i]!.split(',')];
			expect(a.slice(0, 2)).toEqual(b.slice(0, 2));
			const [found, wanted] = [Number(a[column]), Number(b[column])];
			expect(Math.abs(found - wanted)).toBeLessThanOrEqual(1e-3 * wanted);
		}
	});

	it('shows the report and prints it, and sets combines side by side', async () => {
		const { page, errors } = await servedPage();
		await page.goto(`${served.url}#/print`);
		const report = page.locator('.report');
		await report.getByRole('heading', { name: run.result.field.name }).waitFor({ timeout: 90_000 });
		await page.emulateMedia({ media: 'print' });
		expect(await page.locator('.shell > .head').isVisible()).toBe(false);
		for (const format of ['A4', 'Letter']) {
			const pdf = await page.pdf({ format, printBackground: true });
			const pages = pdf.toString('latin1').match(/\/Type\s*\/Page[^s]/g)!.length;
			expect(pages).toBeGreaterThan(1);
			expect(pages).toBeLessThan(12);
		}
		await page.emulateMedia({ media: null });
		await page.goto(`${served.url}#/compare`);
		const [pair] = run.result.seams;
		await page.getByText('same ground').first().waitFor();
		const row = page.getByRole('row', { name: /^Difference at seams, as recorded/ });
		expect(await row.textContent()).toContain(Math.abs(pair!.before_pct).toFixed(1));
		await page.getByRole('img', { name: /seams between combines/ }).waitFor();
		await page.getByRole('img', { name: /Distribution of yields on shared ground/ }).waitFor();
		expect(errors).toEqual([]);
	});

	it('pins the clock, a factor and a threshold, each with its effect; a backup takes them into another browser', async () => {
		const { page, errors } = await servedPage();
		await page.goto(`${served.url}#/map`);
		const effect = page.getByRole('status', { name: 'Effect of the last change' });
		const [name] = run.field.records.combines;
		await page.getByText('Override a factor').click();
		await page.getByLabel('Own value').first().fill('0.9');
		await page.getByLabel('Own value').first().press('Enter');
		await expect.poll(() => effect.textContent(), { timeout: 90_000 }).toContain(`${name}: `);
		await expect.poll(() => effect.textContent(), { timeout: 60_000 }).toContain('→ 0.900 (set by hand)');
		expect(await page.getByRole('region', { name: 'Factors' }).textContent()).not.toContain('0.900 to 0.900');
		await page.getByText('Cart clock:').click();
		const seconds = Math.round(run.result.clock.offset_s! + 20);
		await page.getByLabel('Seconds to add').fill(String(seconds));
		await page.getByLabel('Seconds to add').press('Enter');
		await page.getByText('Override map filters').click();
		await page.getByLabel('Sliver of header width below, ft').fill('10');
		// What is being typed outlives the result that comes meanwhile.
		await expect.poll(() => effect.textContent(), { timeout: 60_000 }).toContain('Cart clock');
		await page.getByLabel('Sliver of header width below, ft').press('Enter');
		await expect.poll(() => effect.textContent(), { timeout: 60_000 }).toContain('Threshold: Sliver');
		const json = JSON.parse(await saveField(page)) as { pins: unknown; flags: unknown };
		expect(json.pins).toEqual({ factors: { [name!]: { value: 0.9 } }, clock_offset_s: seconds });
		// Ten feet.
		expect(json.flags).toEqual({ narrow: 3.048 });
		await page.getByRole('button', { name: 'Field', exact: true }).click();
		const [download] = await Promise.all([
			page.waitForEvent('download'),
			page.getByRole('button', { name: 'Save a backup of your work' }).click(),
		]);
		writeFileSync(join(scratch, 'backup.json'), await text(download));
		expect(errors).toEqual([]);
		const two = await openPage(browser);
		await two.page.goto(served.url);
		await pictured(two.page);
		await two.page.getByLabel('Restore a backup…').setInputFiles(join(scratch, 'backup.json'));
		await two.page.getByText('Restored work on 1 field.').waitFor();
		await two.page.getByRole('button', { name: 'Undo' }).waitFor();
		expect(JSON.parse(await saveField(two.page))).toMatchObject({ pins: json.pins, flags: json.flags });
		await two.close();
	});

	it('is only read from: the field’s files stand as they stood', () => {
		expect(readFileSync(join(folder, 'field.json'), 'utf8')).toBe(new TextDecoder().decode(files.get('field.json')));
	});
});
