import type { Browser } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { openBrowser } from '../browser.ts';
import { serve, tabletBuild } from './tablet.ts';

/** The served build and a browser, there while a file's tests run. */
export function onStage(): { url: string; chromium: Browser } {
	const stage = {} as { url: string; chromium: Browser };
	let close: () => Promise<void>;
	beforeAll(async () => {
		const host = await serve(await tabletBuild());
		close = host.close;
		stage.url = host.url;
		stage.chromium = await openBrowser();
	});
	afterAll(async () => {
		await close?.();
	});
	return stage;
}
