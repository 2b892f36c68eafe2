/** At the width of a phone: words stand beside each other, and only boxes of their own scroll sideways. */
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { chromiumPath, openBrowser } from '../browser.ts';
import { heronCsv } from './exports.ts';
import { openPage, pictured, servePages } from './page.ts';
import { smallRun } from './sample.ts';

const PHONE = { width: 390, height: 844 };

/** Cells whose words stand one above the other, though their table scrolls. */
const stacked = (page: Page) =>
	page.locator('td, th').evaluateAll((cells) =>
		cells.flatMap((cell) => {
			const words = cell.querySelector('select, input, button') ? [] : (cell.textContent ?? '').trim().split(/\s+/);
			const { width } = cell.getBoundingClientRect();
			return words.length > 3 && width > 0 && width < 110 ? [cell.textContent] : [];
		}),
	);

describe.skipIf(!chromiumPath)('on a phone', () => {
	it('tables of the map and of Compare scroll rather than stack words', async () => {
		const { scene } = await smallRun();
		const serving = await servePages(scene);
		const { page, close } = await openPage(await openBrowser(), { viewport: PHONE });
		await page.goto(serving.url);
		await pictured(page);
		for (const details of await page.locator('.evidence details').all())
			await details.evaluate((e) => ((e as HTMLDetailsElement).open = true));
		expect(await page.locator('.evidence td').count()).toBeGreaterThan(50);
		expect(await stacked(page)).toEqual([]);
		await page.getByRole('button', { name: 'Compare', exact: true }).click();
		await page.locator('.compare td').first().waitFor();
		expect(await stacked(page)).toEqual([]);
		await close();
		await serving.close();
	});

	it('what is drawn over the map lies on it, the record that is tapped is read in sight, the menu fits', async () => {
		const { scene } = await smallRun();
		const serving = await servePages(scene);
		const { page, close } = await openPage(await openBrowser(), { viewport: PHONE });
		await page.goto(serving.url);
		await pictured(page);
		const box = (await page.locator('.map-canvas').boundingBox())!;
		const [x, y] = [box.x + 0.5 * box.width, box.y + 0.55 * box.height];
		await page.mouse.click(x, y);
		const ring = page.locator('.pointed polygon').first();
		await expect.poll(async () => Math.abs(((await ring.boundingBox())?.y ?? 0) - y)).toBeLessThan(12);
		const read = (await page.getByRole('region', { name: 'Record under the pointer' }).boundingBox())!;
		expect(read.y + read.height).toBeLessThanOrEqual(PHONE.height);
		await page.getByRole('button', { name: 'Swipe', exact: true }).click();
		const line = (await page.getByRole('slider', { name: /Swipe line/ }).boundingBox())!;
		expect([line.y, line.height]).toEqual([box.y, box.height]);
		await page.getByRole('button', { name: 'Field', exact: true }).click();
		for (const button of await page.locator('.menu button').all()) {
			const { x: left, width } = (await button.boundingBox())!;
			expect(left + width).toBeLessThan(PHONE.width);
		}
		await close();
		await serving.close();
	});

	it('what was read fits the screen, with a long name too', async () => {
		const serving = await servePages(null);
		const { page, close } = await openPage(await openBrowser(), { viewport: PHONE });
		await page.goto(serving.url);
		const name = `Комбайн ${'x'.repeat(72)}`;
		await page
			.getByLabel('Open files…')
			.setInputFiles({ name: `${name}.csv`, mimeType: 'text/csv', buffer: Buffer.from(heronCsv()) });
		await page.getByRole('heading', { name: 'Check what was read' }).waitFor();
		const check = page.locator('.check');
		await page
			.getByRole('table', { name: /Columns of/ })
			.first()
			.waitFor();
		expect(await check.evaluate((e) => e.scrollWidth - e.clientWidth)).toBe(0);
		expect(await stacked(page)).toEqual([]);
		// The name's box does not push the numbers off.
		expect((await page.getByLabel(/Name of/).boundingBox())!.width).toBeLessThan(300);
		await close();
		await serving.close();
	});
});

describe.skipIf(!chromiumPath)('on a tablet', () => {
	it.each([
		[1024, 768],
		[1100, 700],
		[800, 1280],
	])('no tool lies under the legend or a selection, %i by %i', async (width, height) => {
		const { scene } = await smallRun();
		const serving = await servePages(scene);
		const { page, close } = await openPage(await openBrowser(), { viewport: { width, height } });
		await page.goto(serving.url);
		await pictured(page);
		for (const name of ['Tools', 'Legend']) {
			const fold = page.getByRole('button', { name, exact: true });
			if (await fold.isVisible()) await fold.click();
		}
		for (const name of ['Seams', 'Contours']) await page.getByRole('button', { name, exact: true }).click();
		await page.getByLabel('Select by…').selectOption({ index: 1 });
		await page.getByText(/^Selected:/).waitFor();
		const covered = await page.locator('.map-controls :is(button, select)').evaluateAll((tools) =>
			tools.flatMap((tool) => {
				const { x, y, width, height } = tool.getBoundingClientRect();
				return tool.contains(document.elementFromPoint(x + width / 2, y + height / 2)) ? [] : [tool.textContent];
			}),
		);
		expect(covered).toEqual([]);
		await close();
		await serving.close();
	});
});
