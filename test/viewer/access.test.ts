/** axe-core at WCAG 2.2 AA on every view in every theme. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { AxeResults } from 'axe-core';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chromiumPath, openBrowser } from '../browser.ts';
import { heronCsv, sheets } from './exports.ts';
import { openPage, pictured, rest, servePages } from './page.ts';
import { smallRun } from './sample.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

const EVERY_RULE = { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] };
/** Themes differ in their colors alone (style/tokens.css). */
const COLOR_RULES = { type: 'rule', values: ['color-contrast', 'link-in-text-block'] };

async function violations(page: Page, runOnly = EVERY_RULE): Promise<string[]> {
	if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe);
	const found = (await page.evaluate(
		(only) =>
			(window as unknown as { axe: { run(root: Document, options: unknown): Promise<unknown> } }).axe.run(document, {
				runOnly: only,
				resultTypes: ['violations'],
			}),
		runOnly,
	)) as AxeResults;
	return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(' | ')}`);
}

describe.skipIf(!chromiumPath)('every view in every theme', () => {
	let browser: Browser;
	let serving: Awaited<ReturnType<typeof servePages>>;
	beforeAll(async () => {
		const field = await smallRun();
		serving = await servePages(field.scene);
		serving.files = field.files;
		browser = await openBrowser();
	});
	afterAll(async () => {
		await serving?.close();
	});

	it('finds nothing to mend', async () => {
		const { page, close, errors } = await openPage(browser);
		await page.goto(serving.url);
		await pictured(page);
		for (const theme of ['Light', 'Dark', 'Sun']) {
			const rules = theme === 'Light' ? EVERY_RULE : COLOR_RULES;
			await page.getByRole('button', { name: 'Map', exact: true }).click();
			await page.getByRole('button', { name: theme, exact: true }).click();
			await page.getByRole('region', { name: 'Legend' }).waitFor();
			for (const details of await page.locator('.evidence details').all()) {
				await details.evaluate((e) => ((e as HTMLDetailsElement).open = true));
			}
			await page.getByLabel('Select by…').selectOption({ index: 1 });
			await page.getByRole('button', { name: 'Swipe', exact: true }).click();
			await rest(page);
			expect(await violations(page, rules), `${theme}: map`).toEqual([]);
			await page.getByRole('button', { name: 'Field', exact: true }).click();
			expect(await violations(page, rules), `${theme}: menu`).toEqual([]);
			await page.keyboard.press('Escape');
			await page.getByRole('button', { name: 'Compare', exact: true }).click();
			await page.getByRole('img', { name: /seams between combines/ }).waitFor();
			expect(await violations(page, rules), `${theme}: compare`).toEqual([]);
			await page.getByRole('button', { name: 'Print', exact: true }).first().click();
			await page.locator('.report').getByRole('heading').first().waitFor({ timeout: 90_000 });
			expect(await violations(page, rules), `${theme}: print`).toEqual([]);
		}
		// On a phone the report's tables scroll.
		await page.setViewportSize({ width: 390, height: 844 });
		const tables = { type: 'rule', values: ['scrollable-region-focusable', 'empty-table-header'] };
		expect(await violations(page, tables), 'print on a phone').toEqual([]);
		expect(errors).toEqual([]);
		await close();
	});

	it('nothing open, and what unknown files hold', async () => {
		const { page, close } = await openPage(browser);
		const empty = await servePages(null);
		await page.goto(empty.url);
		await page.getByRole('heading', { name: 'Open a field' }).waitFor();
		expect(await violations(page), 'empty').toEqual([]);
		await page.getByLabel('Open files…').setInputFiles({
			name: 'x.csv',
			mimeType: 'text/csv',
			buffer: Buffer.from(
				'time,lat,lon,yield\n2026-10-01T10:00:00Z,42,-93,180\n2026-10-01T10:00:01Z,42.0001,-93,181\n',
			),
		});
		await page.getByRole('heading', { name: 'Check what was read' }).waitFor();
		expect(await violations(page), 'hardly a log').toEqual([]);
		await page.getByLabel('Open files…').setInputFiles([
			{ name: 'Heron.csv', mimeType: 'text/csv', buffer: Buffer.from(heronCsv()) },
			{ name: 'loads.xlsx', mimeType: '', buffer: Buffer.from(sheets()) },
		]);
		await page.getByLabel('Which crop was cut').waitFor();
		for (const theme of ['Light', 'Dark', 'Sun']) {
			await page.getByRole('button', { name: theme, exact: true }).click();
			await page.evaluate(() => {
				for (const d of document.querySelectorAll('details')) d.open = true;
			});
			expect(await violations(page, theme === 'Light' ? EVERY_RULE : COLOR_RULES), theme).toEqual([]);
		}
		await close();
		await empty.close();
	});
});
