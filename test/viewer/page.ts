/** Builds the pages, serves them as `view` does, and opens them in a real Chromium. */
import { existsSync, readdirSync, statSync } from 'node:fs';
import { readFile, rename, rm } from 'node:fs/promises';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { build } from 'vite';
import { packScene, type Scene } from '../../lib/model/index.ts';
import { wipe } from '../browser.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
/** Pages built already (the folder's path); else they are built here, once for the sources as they stand. */
const given = process.env.STEELYARD_PAGES;
export const built = given ?? join(root, 'test/.artifacts', `viewer-${sourcesStamp()}`);

/** Newest change under viewer and lib, as a name for what is built from it. */
function sourcesStamp(): string {
	let newest = 0;
	for (const room of ['viewer', 'lib']) {
		for (const name of readdirSync(join(root, room), { recursive: true, encoding: 'utf8' })) {
			if (!/\.(ts|tsx|css|html|json)$/.test(name)) continue;
			// A file may vanish while it is looked at: others work in the same tree.
			newest = Math.max(newest, statSync(join(root, room, name), { throwIfNoEntry: false })?.mtimeMs ?? 0);
		}
	}
	return Math.round(newest).toString(36);
}

/** As the server of `view` sends it. */
export const policy =
	"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const types: Record<string, string> = {
	'.html': 'text/html; charset=utf-8',
	'.js': 'text/javascript; charset=utf-8',
	'.css': 'text/css; charset=utf-8',
	'.woff2': 'font/woff2',
};

let building: Promise<void> | null = null;

/** One build for all test files, though they run side by side: whoever is first puts it in place. */
export function buildPages(): Promise<void> {
	building ??= existsSync(built) ? Promise.resolve() : buildInto(`${built}.${process.pid}`);
	return building;
}

async function buildInto(making: string): Promise<void> {
	await build({
		configFile: join(root, 'viewer/vite.config.ts'),
		logLevel: 'error',
		build: { outDir: making, emptyOutDir: true },
	});
	await rename(making, built).catch(() => rm(making, { recursive: true, force: true }));
	// Builds of earlier sources, long out of use.
	const folder = join(root, 'test/.artifacts');
	for (const name of readdirSync(folder)) {
		const path = join(folder, name);
		const age = Date.now() - (statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? Date.now());
		if (name.startsWith('viewer') && age > 3_600_000) await rm(path, { recursive: true, force: true });
	}
}

export interface Serving {
	url: string;
	/** What is opened; null = nothing, as on a static host. */
	scene: Scene | null;
	files: Map<string, Uint8Array>;
	close(): Promise<void>;
}

/** Serves the built pages with a scene opened. */
export async function servePages(scene: Scene | null): Promise<Serving> {
	await buildPages();
	const serving: Serving = { url: '', scene, files: new Map(), close: async () => {} };
	const server: Server = createServer(async (request, response) => {
		const path = decodeURIComponent(new URL(request.url!, 'http://x').pathname);
		response.setHeader('Content-Security-Policy', policy);
		response.setHeader('Cache-Control', 'no-store');
		if (path === '/opened/scene.bin' && serving.scene) return response.end(packScene(serving.scene));
		if (path === '/opened/files.json') {
			return response.end(JSON.stringify([...serving.files].map(([name, b]) => ({ name, bytes: b.length }))));
		}
		const opened = serving.files.get(path.replace('/opened/file/', ''));
		if (path.startsWith('/opened/file/') && opened) return response.end(opened);
		const file = normalize(join(built, path === '/' ? 'index.html' : path));
		const bytes = file.startsWith(built) ? await readFile(file).catch(() => null) : null;
		if (!bytes) {
			response.statusCode = 404;
			return response.end();
		}
		response.setHeader('Content-Type', types[extname(file)] ?? 'application/octet-stream');
		response.end(bytes);
	});
	await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
	serving.url = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;
	serving.close = () => new Promise((done) => server.close(() => done()));
	return serving;
}

export interface Watched {
	page: Page;
	context: BrowserContext;
	/** Errors of the console, of scripts and of the policy; and every request. */
	errors: string[];
	requests: string[];
	/** Ends the test's use of it. */
	close: () => Promise<void>;
}

/** Pages that tests have given back, wiped, by locale. */
const idle = new Map<string, Watched[]>();

/** A page as if it were new, that notes everything that goes wrong and everything it asks for. */
export async function openPage(
	browser: Browser,
	{ locale = 'en-US', viewport = { width: 1360, height: 860 } } = {},
): Promise<Watched> {
	const list = idle.get(locale) ?? [];
	idle.set(locale, list);
	const watched = list.pop() ?? (await newPage(browser, locale));
	await watched.page.setViewportSize(viewport);
	watched.close = async () => {
		const { page, errors, requests } = watched;
		await wipe(
			page,
			requests.filter((r) => r.startsWith('http')).map((r) => new URL(r).origin),
		);
		errors.length = requests.length = 0;
		list.push(watched);
	};
	return watched;
}

async function newPage(browser: Browser, locale: string): Promise<Watched> {
	const context = await browser.newContext({ locale });
	const page = await context.newPage();
	const errors: string[] = [];
	const requests: string[] = [];
	page.on('console', (m) => {
		// What the page is put together by, without a graphics card, reads the map's picture back; Chromium finds that slow.
		if (m.text().includes('GPU stall due to ReadPixels')) return;
		if (m.type() === 'error' || (m.type() === 'warning' && /Content Security|WebGL/.test(m.text())))
			errors.push(m.text());
	});
	page.on('pageerror', (e) => errors.push(e.message));
	context.on('request', (r) => requests.push(r.url()));
	return { page, context, errors, requests, close: () => context.close() };
}

/** Waits until the map has drawn and rests. */
export async function pictured(page: Page): Promise<void> {
	await page.waitForSelector('html[data-pictured]');
	// A font that comes late moves things about.
	await page.evaluate(() => document.fonts.ready.then(() => undefined));
	await rest(page);
}

/** Two frames and a little: what was asked of the map has been drawn. */
export async function rest(page: Page): Promise<void> {
	await page.evaluate(
		() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 120)))),
	);
}

/** Colors of a grid of pixels of the map's canvas, as [r, g, b]. */
export async function pixels(page: Page, across = 24): Promise<[number, number, number][]> {
	return page.evaluate((k) => {
		const canvas = document.querySelector('.map-canvas canvas') as HTMLCanvasElement;
		const copy = document.createElement('canvas');
		copy.width = canvas.width;
		copy.height = canvas.height;
		const draw = copy.getContext('2d')!;
		draw.drawImage(canvas, 0, 0);
		const data = draw.getImageData(0, 0, copy.width, copy.height).data;
		const out: [number, number, number][] = [];
		for (let i = 1; i < k; i++) {
			for (let j = 1; j < k; j++) {
				const at = 4 * (Math.floor((j * copy.height) / k) * copy.width + Math.floor((i * copy.width) / k));
				out.push([data[at]!, data[at + 1]!, data[at + 2]!]);
			}
		}
		return out;
	}, across);
}

/** How many of the pixels differ. */
export function differing(a: [number, number, number][], b: [number, number, number][]): number {
	return a.filter((p, i) => Math.hypot(p[0] - b[i]![0], p[1] - b[i]![1], p[2] - b[i]![2]) > 12).length;
}
