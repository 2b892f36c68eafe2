/** The one Chromium of a test worker: its files share it, each test opens contexts of its own. */
import { existsSync } from 'node:fs';
import { type Browser, chromium, type Page } from 'playwright-core';

const candidates = [process.env.CHROMIUM, '/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];
/** Where Chromium is; null where there is none, and the tests say that they are skipped. */
export const chromiumPath = candidates.find((p): p is string => !!p && existsSync(p)) ?? null;
if (!chromiumPath) console.warn('SKIPPED: tests of the pages need Chromium (set CHROMIUM to its path)');

/**
 * The last one lets the map draw in software. The page itself is put together without the graphics process: by it, every
 * step would cost two or three times as much on a machine without a card.
 */
export const ARGS = [
	'--no-sandbox',
	'--disable-quic',
	'--no-first-run',
	'--disable-background-networking',
	'--disable-component-update',
	'--disable-sync',
	'--enable-unsafe-swiftshader',
];

/** A browser of the caller's own, to be closed by it; `args` beside the usual ones. */
export const launch = (args: string[] = []): Promise<Browser> =>
	chromium.launch({ executablePath: chromiumPath!, args: [...ARGS, ...args] });

let shared: Promise<Browser> | null = null;

/** The worker's browser, which ends with it. */
export function openBrowser(): Promise<Browser> {
	shared ??= launch();
	return shared;
}

/**
 * Takes from a page whatever the sites kept there, so that another test can have it: it is then like one of a new context,
 * which costs a second of processor time more. A page whose test failed is not used again.
 */
export async function wipe(page: Page, origins: Iterable<string>): Promise<void> {
	const context = page.context();
	await Promise.all(context.pages().map((p) => (p === page ? null : p.close())));
	await page.evaluate(() => sessionStorage.clear());
	await page.goto('about:blank');
	const tools = await context.newCDPSession(page);
	for (const origin of new Set(origins)) {
		await tools.send('Storage.clearDataForOrigin', { origin, storageTypes: 'all' });
	}
	await tools.detach();
	await context.clearCookies();
	page.setDefaultTimeout(30_000);
}
