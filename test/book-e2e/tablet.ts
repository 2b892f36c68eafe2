/** The tablet build, served on the loopback address, and a tablet or phone to look at it with. */

import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import { extname, join, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { build } from 'vite';
import { wipe } from '../browser.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
/** Own place for the tests' build, so that none of them works on another's half-written one. */
const folder = join(root, 'test/.artifacts/tablet');

function newest(path: string): number {
	if (!statSync(path).isDirectory()) return statSync(path).mtimeMs;
	return readdirSync(path).reduce((m, f) => Math.max(m, newest(join(path, f))), 0);
}

/** Builds once for all test files; again only when a source is newer. */
export async function tabletBuild(): Promise<string> {
	const lock = `${folder}.lock`;
	mkdirSync(join(root, 'test/.artifacts'), { recursive: true });
	for (;;) {
		try {
			writeFileSync(lock, String(process.pid), { flag: 'wx' });
			break;
		} catch {
			if (Date.now() - statSync(lock, { throwIfNoEntry: false })!.mtimeMs > 180_000) rmSync(lock, { force: true });
			await new Promise((r) => setTimeout(r, 300));
		}
	}
	try {
		const made = join(folder, 'sw.js');
		const sources = Math.max(newest(join(root, 'viewer')), newest(join(root, 'lib')));
		if (!existsSync(made) || statSync(made).mtimeMs < sources)
			await build({
				configFile: join(root, 'viewer/tablet.config.ts'),
				mode: 'tablet',
				logLevel: 'error',
				build: { outDir: folder },
			});
	} finally {
		rmSync(lock, { force: true });
	}
	return folder;
}

const TYPES: Record<string, string> = {
	'.html': 'text/html',
	'.js': 'text/javascript',
	'.css': 'text/css',
	'.png': 'image/png',
	'.svg': 'image/svg+xml',
	'.woff2': 'font/woff2',
	'.webmanifest': 'application/manifest+json',
};

/** Any static host: nothing but the folder's files. */
export async function serve(dir: string): Promise<{ url: string; server: Server; close: () => Promise<void> }> {
	const server = createServer((ask, answer) => {
		const path = normalize(decodeURIComponent(new URL(ask.url!, 'http://x').pathname)).replace(/^\/+/, '');
		const file = join(dir, path === '' ? 'index.html' : path);
		if (!file.startsWith(dir) || !existsSync(file) || statSync(file).isDirectory()) {
			answer.writeHead(404).end();
			return;
		}
		answer.writeHead(200, { 'content-type': TYPES[extname(file)] ?? 'application/octet-stream' });
		answer.end(readFileSync(file));
	});
	await new Promise<void>((r) => server.listen(0, '127.0.0.1', r));
	const { port } = server.address() as { port: number };
	return {
		url: `http://127.0.0.1:${port}/`,
		server,
		close: () =>
			new Promise((r) => {
				server.closeAllConnections();
				server.close(() => r());
			}),
	};
}

export const SIZES = {
	tablet: { width: 1280, height: 800 },
	upright: { width: 800, height: 1280 },
	phone: { width: 390, height: 844 },
	lying: { width: 844, height: 390 },
} as const;
export type Size = keyof typeof SIZES;

/** A touch device, in English (US) unless told otherwise; `install` where the page is to be installed on it. */
export const deviceOptions = (size: Size, { locale = 'en-US', install = false } = {}) => ({
	viewport: SIZES[size],
	hasTouch: true,
	isMobile: true,
	locale,
	timezoneId: 'America/Chicago',
	serviceWorkers: install ? ('allow' as const) : ('block' as const),
	acceptDownloads: true,
});

/** Reloads the page, once the step back that a closing sheet takes is done: the browser would drop one for the other. */
export async function reload(page: Page): Promise<void> {
	await page.waitForFunction(() => !(history.state as { sheet?: boolean } | null)?.sheet);
	await page.reload();
}

/** What went wrong on a page: errors and refused content. Empty is as it should be. */
export function watch(page: Page): string[] {
	const wrong: string[] = [];
	page.on('pageerror', (e) => wrong.push(String(e)));
	page.on('console', (m) => {
		if (m.type() === 'error' && !/Failed to load resource|net::ERR_INTERNET_DISCONNECTED/.test(m.text()))
			wrong.push(m.text());
	});
	return wrong;
}

export interface Device {
	context: BrowserContext;
	page: Page;
	/** What went wrong on the page, and every address that was asked for. */
	wrong: string[];
	asked: string[];
	/** Ends the test's use of it. */
	close: () => Promise<void>;
}

async function device(context: BrowserContext): Promise<Device> {
	const asked: string[] = [];
	context.on('request', (r) => asked.push(r.url()));
	const page = await context.newPage();
	return { context, page, wrong: watch(page), asked, close: () => context.close() };
}

/** Devices that tests have given back, by locale: wiped, and cheaper by a second of processor time than new ones. */
const idle = new WeakMap<Browser, Map<string, Device[]>>();

function idleOf(chromium: Browser, locale: string): Device[] {
	const all = idle.get(chromium) ?? new Map<string, Device[]>();
	idle.set(chromium, all);
	const list = all.get(locale) ?? [];
	all.set(locale, list);
	return list;
}

/**
 * The book on a device, by the network: installing takes four times as long, and is needed only where the network is
 * gone. `before` prepares the device's pages.
 */
export async function opened(
	chromium: Browser,
	url: string,
	size: Size,
	{ locale = 'en-US', before }: { locale?: string; before?: (context: BrowserContext) => Promise<unknown> } = {},
): Promise<Device> {
	// What `before` does to a device cannot be taken back.
	const list = before ? [] : idleOf(chromium, locale);
	let made = list.pop();
	if (!made) {
		const context = await chromium.newContext(deviceOptions(size, { locale }));
		await before?.(context);
		made = await device(context);
	}
	const own = made;
	if (!before) {
		own.close = async () => {
			await wipe(own.page, [new URL(url).origin]);
			own.wrong.length = own.asked.length = 0;
			list.push(own);
		};
	}
	const { page } = made;
	await page.setViewportSize(SIZES[size]);
	await page.goto(`${url}#/book/now`);
	await page.getByRole('navigation', { name: 'Pages of the load book' }).waitFor();
	return made;
}

/** The book on a device, installed: its service worker has everything, and the network is gone. */
export async function installed(
	chromium: Browser,
	url: string,
	size: Size,
	{ locale }: { locale?: string } = {},
): Promise<Device> {
	const context = await chromium.newContext(deviceOptions(size, { locale, install: true }));
	const made = await device(context);
	const { page } = made;
	await page.goto(`${url}#/book/now`);
	await page.evaluate(async () => {
		await navigator.serviceWorker.ready;
		if (!navigator.serviceWorker.controller)
			await new Promise((r) => navigator.serviceWorker.addEventListener('controllerchange', r, { once: true }));
	});
	await context.setOffline(true);
	await reload(page);
	await page.getByRole('navigation', { name: 'Pages of the load book' }).waitFor();
	return made;
}

/** First use: a field in two taps. */
export async function startField(page: Page, name?: string): Promise<void> {
	await page.getByRole('button', { name: 'Open or start a field' }).tap();
	await page.getByRole('button', { name: 'New field' }).tap();
	if (name) await page.getByLabel('Name', { exact: true }).fill(name);
	await page.getByRole('button', { name: 'Start', exact: true }).tap();
	await page.getByText('In the cart now').waitFor();
}

/** Goes to one of the book's pages as a finger would. */
export async function goTo(page: Page, name: string): Promise<void> {
	const nav = page.getByRole('navigation', { name: 'Pages of the load book' });
	await nav.waitFor();
	const there = nav.getByRole('button', { name: new RegExp(`^${name}`) });
	if (!(await there.isVisible())) await nav.getByRole('button', { name: 'More' }).tap();
	await there.tap();
}

/** Keys a number on the pad (⌫: the last digit goes): touches where the keys lie, which stay in their places. */
export async function key(page: Page, number: number | string): Promise<void> {
	const pad = page.getByRole('group', { name: 'Number pad' });
	await pad.scrollIntoViewIfNeeded();
	const places = await pad.getByRole('button').evaluateAll((keys) =>
		keys.map((k) => {
			const { left, top, width, height } = k.getBoundingClientRect();
			return [k.textContent, left + width / 2, top + height / 2] as const;
		}),
	);
	for (const digit of String(number)) {
		const [, x, y] = places.find(([name]) => name === digit)!;
		await page.touchscreen.tap(x, y);
	}
}

/** Does something and waits until the page says that it is saved: more entries than before, and the word. */
export async function saved(page: Page, act: () => Promise<unknown>): Promise<void> {
	const status = page.locator('.strip [role=status]');
	const before = Number(await status.getAttribute('data-entries'));
	await act();
	await page.waitForFunction((n) => {
		const s = document.querySelector<HTMLElement>('.strip [role=status]');
		return s !== null && Number(s.dataset.entries) > n && s.textContent === 'Saved';
	}, before);
}
