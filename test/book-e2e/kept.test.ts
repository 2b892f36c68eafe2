import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium as engine, type Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { readBackup } from '../../lib/book/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { ARGS, chromiumPath } from '../browser.ts';
import { WHOLE } from '../campaign.ts';
import { onStage } from './stage.ts';
import { deviceOptions, goTo, installed, key, opened, reload, saved, startField } from './tablet.ts';

const stage = onStage();
/** Of a browser of its own each, which is what they cost. */
const KILLS = WHOLE ? 10 : 2;

/** A browser of its own process, which can be killed as a flat battery would. */
async function ownBrowser(profile: string): Promise<{ process: ChildProcess; page: Page; kill: () => Promise<void> }> {
	const child = spawn(
		chromiumPath!,
		[...ARGS, '--headless=new', '--remote-debugging-port=0', `--user-data-dir=${profile}`, 'about:blank'],
		{ stdio: ['ignore', 'ignore', 'pipe'], detached: true },
	);
	const address = await new Promise<string>((found, failed) => {
		let said = '';
		child.stderr!.on('data', (d) => {
			said += d;
			const m = /DevTools listening on (ws:\S+)/.exec(said);
			if (m) found(m[1]!);
		});
		child.once('exit', () => failed(new Error(said)));
	});
	const remote = await engine.connectOverCDP(address);
	const context = remote.contexts()[0]!;
	const page = context.pages()[0] ?? (await context.newPage());
	return {
		process: child,
		page,
		kill: async () => {
			const gone = new Promise((r) => child.once('exit', r));
			// The whole group at once, in the middle of whatever it does.
			process.kill(-child.pid!, 'SIGKILL');
			await gone;
			await remote.close().catch(() => {});
		},
	};
}

describe('kept safe', () => {
	it(`${KILLS} kills at random moments lose nothing that was said to be saved`, async () => {
		const profile = mkdtempSync(join(tmpdir(), 'steelyard-profile-'));
		const random = seeded(11);
		/** Readings of which the page said that they were saved. */
		const told: number[] = [];
		let reading = 0;
		let lost: number[] = [];
		try {
			for (let round = 0; round <= KILLS; round++) {
				const b = await ownBrowser(profile);
				await b.page.goto(`${stage.url}#/book/now`);
				await b.page.getByRole('navigation', { name: 'Pages of the load book' }).waitFor();
				if (round === 0) {
					await b.page.getByRole('button', { name: 'Open or start a field' }).click();
					await b.page.getByRole('button', { name: 'New field' }).click();
					await b.page.getByRole('button', { name: 'Start', exact: true }).click();
				}
				const now = b.page.getByRole('button', { name: 'A', exact: true });
				await now.waitFor();
				const kept = await readings(b.page);
				lost = told.filter((r) => !kept.includes(r));
				expect(lost).toEqual([]);
				if (round === KILLS) {
					await b.kill();
					break;
				}
				// Dumps as fast as the page takes them; whatever it says, it says through this.
				await b.page.exposeFunction('told', (r: number) => told.push(r));
				const work = b.page
					.evaluate(async (from) => {
						const button = (name: string) =>
							[...document.querySelectorAll('button')].find((x) => x.textContent === name) as HTMLButtonElement;
						const status = () => document.querySelector('.saved')?.textContent ?? '';
						for (let r = from; ; r += 200) {
							for (const d of String(r)) button(d).click();
							await new Promise((x) => setTimeout(x, 0));
							button('A').click();
							do await new Promise((x) => setTimeout(x, 1));
							while (status() !== 'Saved');
							(window as unknown as { told: (r: number) => void }).told(r);
						}
					}, 10_000 + reading)
					.catch(() => {});
				await new Promise((r) => setTimeout(r, 400 + 1500 * random.uniform()));
				await b.kill();
				await work;
				reading = told.length > 0 ? Math.max(...told) - 10_000 + 10_000 : reading;
			}
			expect(told.length).toBeGreaterThan(3 * KILLS);
		} finally {
			rmSync(profile, { recursive: true, force: true });
		}
	}, 240_000);

	it('says that a dump is not saved when the store refuses it, and gives the number back', async () => {
		const { context, page } = await opened(stage.chromium, stage.url, 'phone');
		await startField(page);
		await page.evaluate(() => {
			IDBObjectStore.prototype.put = () => {
				throw new DOMException('The disk is full.', 'QuotaExceededError');
			};
		});
		await key(page, 14_000);
		await page.getByRole('button', { name: 'A', exact: true }).tap();
		await page.getByText('Not saved: this device is out of storage space.').waitFor();
		expect(await page.getByLabel('Scale reads').textContent()).toContain('14,000');
		expect(await readings(page)).toEqual([]);
		await context.close();
	});

	it('starts with no network at all, and nothing is asked for elsewhere', async () => {
		const { context, page, wrong, asked } = await installed(stage.chromium, stage.url, 'tablet');
		await startField(page);
		await key(page, 9000);
		await saved(page, () => page.getByRole('button', { name: 'B', exact: true }).tap());
		await page.close();
		// Not even the host is there any more.
		const again = await context.newPage();
		await again.goto(`${stage.url}#/book/now`);
		await again.getByText('9,000').first().waitFor();
		for (const p of ['Monitor check', 'Tickets', 'Book', 'Totals', 'Fields', 'Backup', 'Setup', 'Safety']) {
			await goTo(again, p);
			await again.getByRole('heading', { level: 2 }).first().waitFor();
		}
		expect(asked.filter((u) => !u.startsWith(stage.url) && !u.startsWith('data:'))).toEqual([]);
		expect(wrong).toEqual([]);
		await context.close();
	});

	it('shows on one page what another page of the same device has written', async () => {
		const { context, close, page: one } = await opened(stage.chromium, stage.url, 'phone');
		await startField(one, 'Two pages');
		const two = await context.newPage();
		await two.goto(`${stage.url}#/book/now`);
		await two.getByText('In the cart now').waitFor();
		await one.bringToFront();
		await key(one, 9000);
		await saved(one, () => one.getByRole('button', { name: 'B', exact: true }).tap());
		await two.locator('.figure output').filter({ hasText: '9,000' }).waitFor();
		// Grain put on the truck by one is on it for the other too, and Undo takes the last of all entries back.
		await saved(one, () => one.getByRole('button', { name: /^All to truck/ }).tap());
		await two.bringToFront();
		await two.getByRole('button', { name: 'Truck 1 has left' }).waitFor();
		await key(two, 7000);
		await saved(two, () => two.getByRole('button', { name: 'B', exact: true }).tap());
		await saved(two, () => two.getByRole('button', { name: /^All to truck/ }).tap());
		await one.bringToFront();
		await one.getByRole('button', { name: /^On Truck 1 16,000/ }).waitFor();
		for (const row of ['O2', 'D2', 'O1']) {
			await saved(one, () => one.getByRole('button', { name: new RegExp(`^Undo ${row}`) }).tap());
		}
		await reload(one);
		await one.getByRole('button', { name: /^Undo D1/ }).waitFor();
		await close();
	});

	it('can be installed: the browser has nothing against it', async () => {
		const context = await stage.chromium.newContext(deviceOptions('tablet', { install: true }));
		const page = await context.newPage();
		await page.goto(`${stage.url}#/book/now`);
		await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
		const tools = await context.newCDPSession(page);
		const { installabilityErrors } = await tools.send('Page.getInstallabilityErrors');
		// A test's context is a private one, which no page can be installed from; nothing else may stand in the way.
		expect(installabilityErrors.map((e) => e.errorId).filter((e) => e !== 'in-incognito')).toEqual([]);
		const { data } = await tools.send('Page.getAppManifest');
		expect(JSON.parse(data!)).toMatchObject({ start_url: './index.html#/book/now', display: 'standalone' });
		await context.close();
	});

	it('gives the whole book as a file that reads back the same', async () => {
		const { close, page } = await opened(stage.chromium, stage.url, 'phone');
		await startField(page, 'Backed up');
		await key(page, 9000);
		await saved(page, () => page.getByRole('button', { name: 'B', exact: true }).tap());
		await goTo(page, 'Backup');
		const text = await download(page, 'Save backup file');
		const book = readBackup(text);
		expect(book.entries.some((e) => e.kind === 'field' && e.set.name === 'Backed up')).toBe(true);
		expect(readBackup(await download(page, 'Save backup file'))).toEqual(book);
		await close();
	});
});

async function readings(page: Page): Promise<number[]> {
	return page.evaluate(
		() =>
			new Promise<number[]>((found) => {
				const open = indexedDB.open('steelyard-book');
				open.onsuccess = () => {
					const all = open.result.transaction('entries').objectStore('entries').getAll();
					all.onsuccess = () => {
						open.result.close();
						found(
							all.result
								.filter((e) => e.kind === 'dump' && e.act === 'add')
								.map((e) => Math.round(e.set.reading_kg / scale)),
						);
					};
				};
				const scale = localStorage.getItem('steelyard.units') === 'metric' ? 1 : 0.453_592_37;
			}),
	);
}

async function download(page: Page, button: string): Promise<string> {
	const [file] = await Promise.all([
		page.waitForEvent('download'),
		page.getByRole('button', { name: button, exact: true }).tap(),
	]);
	return readFileSync(await file.path(), 'utf8');
}
