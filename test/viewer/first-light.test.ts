import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Browser, Request } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chromiumPath, openBrowser } from '../browser.ts';
import { built, differing, openPage, pictured, pixels, rest, servePages } from './page.ts';
import { handScene } from './scene.ts';

describe.skipIf(!chromiumPath)('the map, first light', () => {
	let browser: Browser;
	let serving: Awaited<ReturnType<typeof servePages>>;
	beforeAll(async () => {
		serving = await servePages(handScene());
		browser = await openBrowser();
	});
	afterAll(async () => {
		await serving?.close();
	});

	it('loads without an error, asks its own origin only, and fetches less than 670 kB of script, gzipped, until the first picture', async () => {
		const { page, context, close, errors, requests } = await openPage(browser);
		const asked: Request[] = [];
		context.on('request', (r) => asked.push(r));
		await page.goto(serving.url);
		await page.waitForSelector('html[data-pictured]');
		const drawn = await page.evaluate(
			() => performance.timeOrigin + performance.getEntriesByName('first-picture')[0]!.startTime,
		);
		await pictured(page);
		await rest(page);
		expect(errors).toEqual([]);
		expect(requests.filter((r) => !r.startsWith(serving.url) && !r.startsWith('data:'))).toEqual([]);
		const scripts = new Set(
			asked.filter((r) => r.url().endsWith('.js') && r.timing().startTime <= drawn).map((r) => r.url()),
		);
		expect(scripts.size).toBeGreaterThan(1);
		const bytes = [...scripts].reduce(
			(sum, url) => sum + gzipSync(readFileSync(join(built, new URL(url).pathname))).length,
			0,
		);
		expect(bytes).toBeLessThan(670_000);
		await close();
	});

	it('draws the ground, before correction otherwise, and reads the record under the pointer in both unit systems', async () => {
		const { page, close } = await openPage(browser);
		await page.goto(serving.url);
		await pictured(page);
		const after = await pixels(page);
		// Ground of many colors, not one flat picture.
		expect(new Set(after.map(String)).size).toBeGreaterThan(60);
		await page.keyboard.press('b');
		await rest(page);
		const before = await pixels(page);
		expect(differing(before, after)).toBeGreaterThan(60);
		await page.getByRole('button', { name: 'Corrected' }).click();
		await rest(page);
		expect(differing(await pixels(page), after)).toBe(0);

		const box = (await page.locator('.map-canvas').boundingBox())!;
		await page.mouse.move(box.x + box.width * 0.6, box.y + box.height / 2);
		const readout = page.getByRole('region', { name: 'Record under the pointer' });
		await expect
			.poll(() => readout.textContent())
			.toMatch(/Combine[AB]Time.+Tank load\d.+± [\d.]+ \(95%\) bu\/ac.+on the map/);
		await page.getByRole('button', { name: 'Metric', exact: true }).click();
		await expect.poll(() => readout.textContent()).toMatch(/± [\d.]+ \(95%\) t\/ha/);
		await expect.poll(() => page.getByRole('region', { name: 'Legend' }).textContent()).toContain('t/ha');
		await close();
	});

	it('speaks the reader’s numbers', async () => {
		const { page, close } = await openPage(browser, { locale: 'de-DE' });
		await page.goto(serving.url);
		await pictured(page);
		const chain = page.getByRole('complementary', { name: 'From scale to map' });
		// Metric by default, a comma before the decimals.
		await expect.poll(() => chain.textContent()).toMatch(/\d+,\d\d t.*0,925/);
		await close();
	});
});
