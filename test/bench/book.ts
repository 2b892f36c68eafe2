/** The load book at a season's size, in Chromium. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { bookOf, type Entry, type Value, writeBackup } from '../../lib/book/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { POUND_KG } from '../../lib/units/index.ts';
import { deviceOptions, serve, tabletBuild } from '../book-e2e/tablet.ts';
import { openBrowser } from '../browser.ts';
import type { Row } from './row.ts';

/** A season's book: forty fields, two combines, a truckload every third dump. */
function season(dumps: number, tickets: number): string {
	const random = seeded(5);
	const entries: Entry[] = [];
	let at_s = Date.UTC(2026, 8, 10, 14) / 1000;
	const put = (kind: Entry['kind'], thing: string, set: { [key: string]: Value }) => {
		at_s += 1;
		const id = `cart.${entries.length}`;
		entries.push({ id, by: 'cart', at_s, thing, kind, act: 'add', after: [], set, why: '' });
	};
	put('cart', 'c', { name: 'Cart' });
	for (const c of ['A', 'B']) put('combine', c, { name: c });
	for (let i = 0; i < 6; i++) put('truck', `t${i}`, { name: `Truck ${i + 1}` });
	for (let f = 0; f < 40; f++)
		put('field', `f${f}`, { name: `Field ${f + 1}`, season: 2026, crop: 'corn', timeZone: 'UTC' });
	let [level, loads] = [0, 0];
	for (let d = 0; d < dumps; d++) {
		at_s += 240;
		const [field, combine] = [`f${Math.floor((40 * d) / dumps)}`, d % 2 ? 'B' : 'A'];
		const net = Math.round((12_000 + 3000 * random.uniform()) / 20) * 20;
		level += net;
		put('dump', `d${d}`, {
			number: `D${d + 1}`,
			time_s: at_s,
			cart: 'c',
			field,
			combines: [combine],
			reading_kg: level * POUND_KG,
		});
		const value = Math.round(net * (combine === 'A' ? 1.04 : 0.98) * (1 + 0.008 * random.normal()));
		put('reading', `r${d}`, {
			time_s: at_s,
			combine,
			dump: `d${d}`,
			field,
			how: 'load',
			value,
			unit: 'lb',
			basis: 'wet',
			moisture_pct: 18,
		});
		if (d % 3 !== 2) continue;
		const load = `l${loads}`;
		put('load', load, { number: String(loads + 1), truck: `t${loads % 6}`, opened_s: at_s, closed: true });
		put('offload', `o${loads}`, { number: `O${loads + 1}`, time_s: at_s, cart: 'c', load, reading_kg: 0 });
		const ticket = {
			number: `T${loads}`,
			time_s: at_s + 1800,
			load,
			net_kg: level * 1.012 * POUND_KG,
			moisture_pct: 17.8,
		};
		if (loads < tickets) put('ticket', `k${loads}`, ticket);
		level = 0;
		loads++;
	}
	return writeBackup(bookOf(entries));
}

/** Of 10,000 dumps and 2,000 tickets; the backup that is opened has 50,000 entries. */
const DUMPS = 10_000;
const TICKETS = 2_000;
const OPENED_DUMPS = 18_000;

const PAGES = ['answer', 'tickets', 'rows', 'totals', 'fields', 'keep', 'setup', 'now'];

export async function book(): Promise<Row[]> {
	const folder = mkdtempSync(join(tmpdir(), 'steelyard-bench-'));
	const host = await serve(await tabletBuild());
	const chromium = await openBrowser();
	/** A page into which a backup was opened, and how long that took. */
	const opened = async (text: string) => {
		const context = await chromium.newContext(deviceOptions('tablet', { install: true }));
		// Names that the script's own compiler puts into functions sent to the page.
		await context.addInitScript('globalThis.__name = (x) => x');
		const page = await context.newPage();
		page.setDefaultTimeout(300_000);
		await page.goto(`${host.url}#/book/keep`);
		const input = page.locator('input[type=file][accept*=json]');
		await input.waitFor({ state: 'attached' });
		// By its path, as a person's file is: handed over as bytes it would spend most of the time on its way into the browser.
		const file = join(folder, 'season.json');
		writeFileSync(file, text);
		const ms = await timed(async () => {
			await input.setInputFiles(file);
			await page.getByText(/^Merged:/).waitFor();
		});
		return { page, ms, entries: text.split('\n').length - 2, close: () => context.close() };
	};
	try {
		const large = await opened(season(OPENED_DUMPS, TICKETS));
		await large.close();
		const { page, close } = await opened(season(DUMPS, TICKETS));
		await page.evaluate(() => (location.hash = '#/book/fields'));
		await page.locator('.fields .line-button').first().tap();
		await page.locator('.figures').waitFor();
		await page.goto('about:blank');
		const started_ms = await timed(async () => {
			await page.goto(`${host.url}#/book/now`);
			await page.locator('.figures').waitFor();
		});
		await page.waitForTimeout(2000);
		const { keys, taps } = await page.evaluate(keyAndTap);
		let slowest = { name: '', ms: 0 };
		for (const name of PAGES) {
			const ms = await page.evaluate(turnTo, name);
			if (ms > slowest.ms) slowest = { name, ms };
			await page.waitForTimeout(300);
		}
		await close();
		const of = `${DUMPS.toLocaleString('en-US')} dumps, ${TICKETS.toLocaleString('en-US')} tickets`;
		const row = (what: string, value: number, unit: string, bound: number, note = of): Row => {
			return { what: `load book: ${what}`, value, unit, bound, note };
		};
		return [
			row('start', started_ms / 1000, 's', 1),
			row('tap to "Saved"', middle(taps), 'ms', 100, `${of}; the middle one of eight`),
			row('key', middle(keys), 'ms', 16, 'the middle one'),
			row('slowest page', slowest.ms / 1000, 's', 0.5, `${of}; ${slowest.name}`),
			row('a backup opened', large.ms / 1000, 's', 3, `${large.entries.toLocaleString('en-US')} entries`),
		];
	} finally {
		rmSync(folder, { recursive: true });
		await chromium.close();
		await host.close();
	}
}

const middle = (x: number[]) => x.sort((a, b) => a - b)[x.length >> 1]!;

async function timed(act: () => Promise<unknown>): Promise<number> {
	const from = performance.now();
	await act();
	return performance.now() - from;
}

/** In the page: weights typed and saved, eight times. */
async function keyAndTap(): Promise<{ keys: number[]; taps: number[] }> {
	const button = (name: string) =>
		[...document.querySelectorAll<HTMLButtonElement>('.entry button')].find((x) => x.textContent === name)!;
	const status = () => document.querySelector<HTMLElement>('[data-entries]')!;
	const wait = (ms: number) => new Promise((r) => setTimeout(r, ms));
	const keys: number[] = [];
	const taps: number[] = [];
	for (let i = 1; i <= 8; i++) {
		for (const digit of String(20_000 + i * 12_000)) {
			const from = performance.now();
			button(digit).click();
			await Promise.resolve();
			document.body.getBoundingClientRect();
			keys.push(performance.now() - from);
			await wait(40);
		}
		const before = Number(status().dataset.entries);
		const from = performance.now();
		button('A').click();
		while (Number(status().dataset.entries) === before) await wait(1);
		taps.push(performance.now() - from);
		await wait(600);
	}
	return { keys, taps };
}

/** In the page: another of its pages, until it is drawn. */
async function turnTo(name: string): Promise<number> {
	const before = document.querySelector('.inside > *');
	const from = performance.now();
	location.hash = `#/book/${name}`;
	while (document.querySelector('.inside > *') === before) await new Promise((r) => setTimeout(r, 1));
	document.body.getBoundingClientRect();
	return performance.now() - from;
}
