// npx tsx test/bench/book.ts [dumps] [tickets]: the load book at a season's size, in Chromium, against the bounds that it
// is held to: a tap to "Saved" 100 ms, a key 16 ms, start 1 s, any page 0.5 s, a backup of 50,000 entries 3 s.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { bookOf, type Entry, type Value, writeBackup } from '../../lib/book/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { POUND_KG } from '../../lib/units/index.ts';
import { deviceOptions, serve, tabletBuild } from '../book-e2e/tablet.ts';
import { openBrowser } from '../browser.ts';

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

const row = (what: string, ms: number, bound_ms: number) =>
	console.log(
		`${what.padEnd(36)} ${ms.toFixed(0).padStart(6)} ms  bound ${String(bound_ms).padStart(5)} ms  ${ms <= bound_ms ? 'within' : 'OVER'}`,
	);

const dumps = Number(process.argv[2] ?? 10_000);
const text = season(dumps, Number(process.argv[3] ?? dumps / 5));
const host = await serve(await tabletBuild());
const chromium = await openBrowser();
const context = await chromium.newContext(deviceOptions('tablet', { install: true }));
// Names that the script's own compiler puts into functions sent to the page.
await context.addInitScript('globalThis.__name = (x) => x');
const page = await context.newPage();
page.setDefaultTimeout(300_000);
const timed = async (act: () => Promise<unknown>) => {
	const from = performance.now();
	await act();
	return performance.now() - from;
};
await page.goto(`${host.url}#/book/keep`);
const input = page.locator('input[type=file][accept*=json]');
await input.waitFor({ state: 'attached' });
// By its path, as a person's file is: handed over as bytes it would spend most of the time on its way into the browser.
const folder = mkdtempSync(join(tmpdir(), 'steelyard-bench-'));
const file = join(folder, 'season.json');
writeFileSync(file, text);
const opened = await timed(async () => {
	await input.setInputFiles(file);
	await page.getByText(/^Merged:/).waitFor();
});
row(`open a backup of ${text.split('\n').length - 2} entries`, opened, 3000);
await page.evaluate(() => (location.hash = '#/book/fields'));
await page.locator('.fields .line-button').first().tap();
await page.locator('.figures').waitFor();
await page.goto('about:blank');
const started = await timed(async () => {
	await page.goto(`${host.url}#/book/now`);
	await page.locator('.figures').waitFor();
});
row('start', started, 1000);
await page.waitForTimeout(2000);
const { keys, taps } = await page.evaluate(async () => {
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
});
const middle = (x: number[]) => x.sort((a, b) => a - b)[x.length >> 1]!;
row('tap to "Saved", the middle one', middle(taps), 100);
row('key, the middle one', middle(keys), 16);
for (const name of ['answer', 'tickets', 'rows', 'totals', 'fields', 'keep', 'setup', 'now']) {
	const ms = await page.evaluate(async (to) => {
		const before = document.querySelector('.inside > *');
		const from = performance.now();
		location.hash = `#/book/${to}`;
		while (document.querySelector('.inside > *') === before) await new Promise((r) => setTimeout(r, 1));
		document.body.getBoundingClientRect();
		return performance.now() - from;
	}, name);
	row(`page ${name}`, ms, 500);
	await page.waitForTimeout(300);
}
rmSync(folder, { recursive: true });
await chromium.close();
await host.close();
