import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect } from 'vitest';
import type { Scene } from '../../lib/model/index.ts';
import { openBrowser } from '../browser.ts';
import { differing, openPage, pictured, pixels, rest, type Serving, servePages, type Watched } from './page.ts';

/**
 * One page for the tests of a file: opening one takes three seconds of processor time, most tests take a tenth of that.
 * Every test begins at the page as it opened; a test that leaves its picture otherwise fails, and so does one with an
 * error of script or policy. `keep: false` for one that changes what nothing on the page takes back.
 */
export function sharedPage(scene: Scene): (work: (page: Page) => Promise<void>, keep?: boolean) => Promise<void> {
	let serving: Serving;
	let opened: (Watched & { first: [number, number, number][] }) | null = null;
	beforeAll(async () => {
		serving = await servePages(scene);
	});
	afterAll(async () => {
		await opened?.close();
		await serving?.close();
	});
	return async (work, keep = true) => {
		if (!opened) {
			const watched = await openPage(await openBrowser());
			await watched.page.goto(serving.url);
			await pictured(watched.page);
			opened = { ...watched, first: await pixels(watched.page, 40) };
		}
		const { page, errors, first, context, close, requests } = opened;
		// After a failure the next test gets a page of its own.
		opened = null;
		let end = () => context.close();
		try {
			await work(page);
			expect(errors).toEqual([]);
			if (!keep) {
				end = close;
				return;
			}
			await home(page);
			expect(differing(first, await pixels(page, 40)), 'pixels that differ from the page as it opened').toBe(0);
			opened = { page, errors, first, context, close, requests };
		} finally {
			if (!opened) await end();
		}
	};
}

/** Nothing selected, held or pointed at; corrected yield, moved by hand. */
async function home(page: Page): Promise<void> {
	await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
	await page.keyboard.press('Escape');
	await page.getByLabel('Color map by').selectOption('yield');
	await page.getByRole('button', { name: 'Corrected', exact: true }).click();
	await page.getByRole('button', { name: 'Move', exact: true }).click();
	await page.mouse.move(5, 5);
	await page.evaluate(() => {
		for (const e of document.querySelectorAll('*')) if (e.scrollTop > 0) e.scrollTop = 0;
	});
	await rest(page);
}
