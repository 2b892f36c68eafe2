import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { append, mergeBooks, readBackup, writeBackup } from '../../lib/book/index.ts';
import { launch } from '../browser.ts';
import { onStage } from './stage.ts';
import { type Device, goTo, key, opened, reload, type Size, saved, startField } from './tablet.ts';

const stage = onStage();
const scratch = mkdtempSync(join(tmpdir(), 'steelyard-book-'));

async function fresh(size: Size = 'tablet', name?: string): Promise<Device> {
	const device = await opened(stage.chromium, stage.url, size);
	if (name !== undefined) await startField(device.page, name);
	return device;
}

async function dump(page: Page, combine: string, reading: number): Promise<void> {
	await page.getByRole('group', { name: 'Number pad' }).waitFor();
	await page.keyboard.type(String(reading));
	await saved(page, () => page.getByRole('button', { name: combine, exact: true }).tap());
}

async function backup(page: Page): Promise<string> {
	await goTo(page, 'Backup');
	const [file] = await Promise.all([
		page.waitForEvent('download'),
		page.getByRole('button', { name: 'Save backup file' }).tap(),
	]);
	return readFileSync(await file.path(), 'utf8');
}

async function join_(page: Page, text: string, name: string): Promise<void> {
	const file = join(scratch, name);
	writeFileSync(file, text);
	await goTo(page, 'Backup');
	await page.getByLabel('Open a backup file').setInputFiles(file);
	await page.getByText(/^Merged:/).waitFor();
}

describe('mending', () => {
	it('keeps what stood there before, when it was changed and why; strikes out without deleting', async () => {
		const { close, page, wrong } = await fresh('phone', 'Mended');
		await dump(page, 'A', 14_000);
		await dump(page, 'B', 27_500);
		await goTo(page, 'Book');
		await page.getByRole('button', { name: 'Dump D1' }).tap();
		const sheet = page.getByRole('dialog', { name: 'Dump D1' });
		await sheet.getByLabel('Scale reading after it').fill('13900');
		await sheet.getByLabel('Reason (kept in the history)').fill('read 14 for 13.9');
		await sheet.getByRole('button', { name: 'Save', exact: true }).last().tap();
		const history = sheet.getByRole('listitem');
		await history.filter({ hasText: 'Why: read 14 for 13.9' }).first().waitFor();
		expect(await history.filter({ hasText: 'Edited' }).first().textContent()).toContain('14,000 lb → 13,900 lb');
		expect(await sheet.textContent()).toContain('13,900 lb');

		await sheet.getByLabel('Reason (kept in the history)').fill('never happened');
		await sheet.getByRole('button', { name: 'Void', exact: true }).tap();
		await sheet.getByText('Voided: kept in the book, not counted.').waitFor();
		await sheet.getByRole('button', { name: 'Close' }).tap();
		// The scale's own running reading bridges over: the second dump now holds both.
		const rows = page.getByRole('row');
		expect(await rows.filter({ hasText: 'D2' }).textContent()).toContain('27,500 lb');
		expect(await rows.filter({ hasText: 'D1' }).textContent()).toContain('voided');

		await reload(page);
		await page.getByRole('button', { name: 'Dump D1' }).tap();
		const whys = sheet.getByRole('listitem').filter({ hasText: 'Why:' });
		await whys.nth(1).waitFor();
		expect(await whys.count()).toBe(2);
		await sheet.getByRole('button', { name: 'Restore' }).tap();
		await sheet.getByRole('button', { name: 'Void', exact: true }).waitFor();
		expect(wrong).toEqual([]);
		await close();
	});

	it('is undone step by step, also after the page was closed', async () => {
		const { close, page } = await fresh('phone', 'Undone');
		await dump(page, 'A', 14_000);
		await dump(page, 'B', 27_500);
		await reload(page);
		const inCart = page.locator('.figure output');
		await inCart.filter({ hasText: '27,500' }).waitFor();
		await page.getByRole('button', { name: /^Undo / }).tap();
		await inCart.filter({ hasText: '14,000' }).waitFor();
		await page.getByRole('button', { name: /^Undo / }).tap();
		await inCart.filter({ hasText: /^0/ }).waitFor();
		await close();
	});

	it('never carries over whether the tank was emptied', async () => {
		const { close, page } = await fresh('tablet', 'Emptied');
		await page.getByRole('button', { name: 'Was the tank empty after this dump?' }).tap();
		await page.getByRole('button', { name: 'Was the tank empty after this dump? tank empty' }).waitFor();
		await dump(page, 'A', 14_000);
		await page.getByRole('button', { name: 'Was the tank empty after this dump? Tank emptied?' }).waitFor();
		await dump(page, 'A', 28_000);
		const book = readBackup(await backup(page));
		expect(book.entries.filter((e) => e.kind === 'dump').map((e) => e.set.emptied)).toEqual(['yes', null]);
		await close();
	});
});

describe('what was left out at first', () => {
	it('is the second cart: the dumps that it weighed are given to it', async () => {
		const { close, page, wrong } = await fresh('tablet', 'Carts');
		await dump(page, 'A', 14_000);
		await goTo(page, 'Book');
		await page.getByRole('button', { name: 'Dump D1' }).tap();
		const sheet = page.getByRole('dialog');
		await sheet.getByLabel('No.').waitFor();
		expect(await sheet.getByRole('combobox', { name: 'Cart' }).count()).toBe(0);
		await sheet.getByRole('button', { name: 'Close' }).tap();

		const book = readBackup(await backup(page));
		const own = book.entries.find((e) => e.kind === 'cart')!;
		const red = { ...own, id: 'x.1', thing: 'second', set: { ...own.set, name: 'Red' } };
		await join_(page, writeBackup(append(book, red)), 'two-carts.json');
		await goTo(page, 'Book');
		await page.getByRole('button', { name: 'Dump D1' }).tap();
		await sheet.getByRole('combobox', { name: 'Cart' }).selectOption({ label: 'Red' });
		await sheet.getByRole('button', { name: 'Save', exact: true }).last().tap();
		await sheet.getByText('→ Red').waitFor();
		await sheet.getByRole('button', { name: 'Close' }).tap();
		const after = readBackup(await backup(page));
		expect(after.entries.at(-1)).toMatchObject({ kind: 'dump', act: 'mend', set: { cart: 'second' } });
		expect(wrong).toEqual([]);
		await close();
	});

	it('is added to a dump later: its monitor as a running total, and a share of another field', async () => {
		const { close, page, wrong } = await fresh('tablet', 'North Forty');
		await goTo(page, 'Fields');
		await page.getByRole('button', { name: 'New field' }).tap();
		await page.getByRole('button', { name: 'Start', exact: true }).tap();
		await dump(page, 'A', 14_000);
		await page.getByRole('button', { name: 'Enter the weight on A’s monitor' }).tap();
		await page.getByRole('button', { name: 'each load, lb, wet' }).tap();
		const how = page.getByRole('dialog');
		await how.getByRole('button', { name: 'running total' }).tap();
		await how.getByRole('button', { name: 'bu', exact: true }).tap();
		await how.getByRole('button', { name: 'Done' }).tap();
		await page.getByRole('button', { name: 'Later' }).tap();

		await goTo(page, 'Monitor check');
		const card = page.getByRole('article', { name: 'A', exact: true });
		await card.getByLabel('Running total on A’s monitor now').fill('1000');
		await card.getByRole('button', { name: 'Save' }).tap();
		await goTo(page, 'Book');
		await page.getByRole('button', { name: 'Dump D1' }).tap();
		const sheet = page.getByRole('dialog');
		await sheet.getByLabel('Monitor of A, dump D1').fill('1260');
		await sheet.getByRole('button', { name: 'Save' }).first().tap();
		await sheet.getByRole('button', { name: '1,260 bu, running total, wet' }).waitFor();
		await sheet.getByLabel('Also holds grain of').selectOption({ label: 'North Forty' });
		await sheet.getByLabel('Share by weight').fill('25');
		await sheet.getByRole('button', { name: 'Save', exact: true }).last().tap();
		await sheet.getByRole('listitem').filter({ hasText: '– → North Forty 25%' }).first().waitFor();
		await sheet.getByRole('button', { name: 'Close' }).tap();
		await goTo(page, 'Totals');
		const row = page.getByRole('row').filter({ hasText: 'North Forty' });
		await row.getByRole('cell', { name: '3,500' }).waitFor();
		expect(wrong).toEqual([]);
		await close();
	});
});

describe('two tablets', () => {
	it('join their books in either order and come to the same, with what they differ on shown', async () => {
		const cart = await fresh('tablet', 'Shared');
		await dump(cart.page, 'A', 14_000);
		const start = await backup(cart.page);

		const cab = await fresh('phone');
		await join_(cab.page, start, 'start.json');
		// Both mend the same dump without knowing of each other, and each writes a row of its own.
		for (const [tablet, reading, next] of [
			[cart, '14100', 29_000],
			[cab, '14200', 41_000],
		] as const) {
			await goTo(tablet.page, 'Book');
			await tablet.page.getByRole('button', { name: 'Dump D1' }).tap();
			const sheet = tablet.page.getByRole('dialog');
			await sheet.getByLabel('Scale reading after it').fill(reading);
			await sheet.getByRole('button', { name: 'Save', exact: true }).last().tap();
			await sheet.getByRole('listitem').filter({ hasText: 'Edited' }).first().waitFor();
			await sheet.getByRole('button', { name: 'Close' }).tap();
			await goTo(tablet.page, 'Now');
			await dump(tablet.page, 'B', next);
		}
		const [a, b] = [await backup(cart.page), await backup(cab.page)];
		await join_(cart.page, b, 'b.json');
		await join_(cab.page, a, 'a.json');
		const [ab, ba] = [readBackup(await backup(cart.page)), readBackup(await backup(cab.page))];
		expect(ab).toEqual(ba);
		expect(ab).toEqual(mergeBooks(readBackup(a), readBackup(b)));

		for (const { page } of [cart, cab]) {
			await goTo(page, 'Book');
			const conflicts = page.getByRole('region', { name: 'Conflicts' });
			const text = await conflicts.textContent();
			expect(text).toContain('14,100 lb');
			expect(text).toContain('14,200 lb');
		}
		const torn = cart.page.getByRole('region', { name: 'Conflicts' });
		await torn.getByRole('button', { name: '14,200 lb' }).tap();
		await torn.waitFor({ state: 'detached' });
		expect([...cart.wrong, ...cab.wrong]).toEqual([]);
		await cart.close();
		await cab.close();
	});

	it('hand a few loads over as codes, read from pictures of the screen and by a camera', async () => {
		const giver = await fresh('tablet', 'By codes');
		await dump(giver.page, 'A', 14_000);
		await dump(giver.page, 'B', 27_000);
		await goTo(giver.page, 'Backup');
		await giver.page.getByRole('button', { name: 'Show codes' }).tap();
		const sheet = giver.page.getByRole('dialog');
		const of = Number(/of (\d+)/.exec((await sheet.getByRole('img').getAttribute('aria-label'))!)![1]);
		expect(of).toBeGreaterThan(1);
		const pause = sheet.getByRole('button', { name: 'Pause' });
		await pause.tap();
		const pictures = new Map<string, string>();
		const frames: Buffer[] = [];
		while (pictures.size < of) {
			const code = sheet.getByRole('img');
			const label = (await code.getAttribute('aria-label'))!;
			const path = join(scratch, `${label}.png`);
			await code.screenshot({ path });
			pictures.set(label, path);
			const { x, y } = (await code.boundingBox())!;
			const frame = await giver.page.screenshot({
				type: 'jpeg',
				quality: 90,
				clip: { x: x - 100, y: y - 20, width: 640, height: 480 },
			});
			frames.push(...Array(12).fill(frame));
			await sheet.getByRole('button', { name: 'Next' }).tap();
			await sheet.getByRole('img', { name: label }).waitFor({ state: 'detached' });
		}
		const taker = await fresh('phone');
		await goTo(taker.page, 'Backup');
		await taker.page.getByRole('button', { name: 'Read codes' }).tap();
		await taker.page.getByLabel('Open pictures of codes').setInputFiles([...pictures.values()].reverse());
		await taker.page.getByText(/^Merged:/).waitFor();
		await goTo(taker.page, 'Now');
		expect(await taker.page.locator('.figure output').textContent()).toContain('27,000');
		// And by a camera that looks at the screen while the codes take turns.
		const film = join(scratch, 'codes.mjpeg');
		writeFileSync(film, Buffer.concat(frames));
		const looking = await launch([
			'--use-fake-ui-for-media-stream',
			'--use-fake-device-for-media-stream',
			`--use-file-for-fake-video-capture=${film}`,
		]);
		const { page, wrong } = await opened(looking, stage.url, 'tablet');
		await goTo(page, 'Backup');
		await page.getByRole('button', { name: 'Read codes' }).tap();
		await page.getByText(/^Merged:/).waitFor();
		await goTo(page, 'Now');
		expect(await page.locator('.figure output').textContent()).toContain('27,000');
		await looking.close();
		expect([...giver.wrong, ...taker.wrong.filter((w) => !/camera|device/i.test(w)), ...wrong]).toEqual([]);
		await giver.close();
		await taker.close();
	});
});

describe('from the scale itself', () => {
	it('takes its list by columns said once, never the same row twice', async () => {
		const { close, page, wrong } = await fresh('tablet', 'From a list');
		const list = (rows: string) => {
			const file = join(scratch, 'list.csv');
			writeFileSync(file, `Load;Date;Time;Net kg;Machine\n${rows}`);
			return file;
		};
		const first = '1;07.10.2026;14:05;6.120,5;A\n2;07.10.2026;14:31;6.080;B\n';
		await goTo(page, 'Backup');
		await page.getByLabel('Open its file').setInputFiles(list(first));
		const sheet = page.getByRole('dialog');
		await sheet.getByRole('button', { name: 'Add 2 rows' }).tap();
		await page.getByText('2 rows added.').waitFor();
		await page
			.getByLabel('Open its file')
			.setInputFiles(list(`${first}3;07.10.2026;15:02;viel;A\n4;07.10.2026;15:20;6.200;A\n`));
		await sheet.getByText('Columns remembered').waitFor();
		await sheet.getByRole('button', { name: /^Add 3 rows/ }).tap();
		await page.getByText('1 row added, 2 already in the book.').waitFor();
		await page.getByText('1 row not read in full').tap();
		await page.getByText('list.csv, row 4, column weight: expected a number (found: viel)').waitFor();
		await goTo(page, 'Book');
		const row = page.getByRole('row').filter({ hasText: '13,493 lb' });
		await row.first().waitFor();
		expect(await row.count()).toBe(1);
		expect(wrong).toEqual([]);
		await close();
	});

	it('fills a live weight in by a tap once it stands still', async () => {
		const { close, page, wrong } = await fresh('tablet', 'Live');
		// A scale on a cable, simulated: lines come as the test sends them.
		await page.evaluate(() => {
			const scale = window as unknown as { send: (line: string) => void };
			const readable = new ReadableStream<Uint8Array>({
				start(controller) {
					// In two pieces, as a cable delivers them.
					scale.send = (line) => {
						const bytes = new TextEncoder().encode(`${line}\r\n`);
						controller.enqueue(bytes.slice(0, 7));
						controller.enqueue(bytes.slice(7));
					};
				},
			});
			const port = { open: async () => {}, close: async () => {}, readable };
			Object.defineProperty(navigator, 'serial', { value: { requestPort: async () => port }, configurable: true });
		});
		const send = (line: string) =>
			page.evaluate((l) => (window as unknown as { send: (x: string) => void }).send(l), line);
		await goTo(page, 'Setup');
		const card = page.getByRole('region', { name: 'Live weight by cable' });
		await goTo(page, 'Now');
		await goTo(page, 'Setup');
		await card.getByRole('button', { name: 'Connect the scale' }).tap();
		await card.getByText('no line yet').waitFor();
		await send('hello');
		await card.getByText('Unexpected line from the scale: “hello”').waitFor();
		await goTo(page, 'Now');
		const tap = page.getByRole('button', { name: 'A', exact: true });
		await send('US,GS,+  13980 lb');
		await page.getByText('13,980 lb in motion').waitFor();
		expect(await tap.isDisabled()).toBe(true);
		await send('ST,GS,+  14020 lb');
		await page.getByText('14,020 lb stable').waitFor();
		await saved(page, () => tap.tap());
		expect(await page.locator('.figure output').textContent()).toContain('14,020');
		expect(wrong).toEqual([]);
		await close();
	});

	it('offers no cable where the browser has none', async () => {
		const { close, page } = await fresh('phone', 'No cable');
		await page.evaluate(() => Object.defineProperty(navigator, 'serial', { value: undefined, configurable: true }));
		await goTo(page, 'Setup');
		await page.getByText('This browser cannot read a serial cable.').waitFor();
		await close();
	});
});

describe('what is said at once', () => {
	it('this load’s error, the error so far, one line, and a dump that does not fit', async () => {
		const { close, page, wrong } = await fresh('tablet', 'Said');
		// A cart checked this season, so that the scale does not drown the answer.
		await goTo(page, 'Setup');
		await page.getByRole('region', { name: 'Carts' }).getByRole('button', { name: /^Cart/ }).tap();
		await page.getByLabel('Scale limit (±)').fill('0.5');
		await page.getByRole('dialog').getByRole('button', { name: 'Save', exact: true }).tap();
		await page.getByRole('listitem').filter({ hasText: 'Edited' }).first().waitFor();
		await page.getByRole('button', { name: 'Close' }).tap();
		await goTo(page, 'Now');
		const answer = page.getByRole('region', { name: 'Monitor check, Said' });
		let level = 0;
		// The running factor follows a moment after the row is saved.
		const says = (what: RegExp) => expect.poll(() => answer.textContent()).toMatch(what);
		const load = async (net: number, monitor: number) => {
			level += net;
			await dump(page, 'A', level);
			await page.getByRole('button', { name: 'Enter the weight on A’s monitor' }).tap();
			await page.keyboard.type(String(monitor));
			await saved(page, () => page.getByRole('button', { name: 'Save', exact: true }).tap());
			await page.getByRole('button', { name: 'A + B' }).waitFor();
		};
		await load(12_000, 13_080);
		await says(/\+9\.0% this dump/);
		await load(11_000, 11_990);
		await load(13_000, 14_170);
		await load(12_000, 13_068);
		await says(/A reads 9\.0% high\. Calibrate it/);
		await load(9000, 11_500);
		await says(/Check this dump\. Expected error/);
		await page.getByRole('button', { name: /^Undo / }).tap();
		await page.getByRole('button', { name: /^Undo / }).tap();
		await goTo(page, 'Monitor check');
		expect(await page.getByRole('article', { name: 'A', exact: true }).textContent()).toContain('13,068 lb');
		expect(wrong).toEqual([]);
		await close();
	});
});

describe('fields of the season', () => {
	it('are found by any word, resumed where one left off, and started in two taps with all carried over', async () => {
		const { close, page } = await fresh('phone', 'North Forty');
		await dump(page, 'A', 14_000);
		await page.getByRole('button', { name: /^North Forty/ }).tap();
		await page.getByRole('button', { name: 'New field' }).tap();
		await page.getByRole('button', { name: 'Start', exact: true }).tap();
		await page.getByRole('button', { name: 'B', exact: true }).waitFor();
		await reload(page);
		await page.getByRole('button', { name: /^Field 2/ }).tap();
		await page.getByLabel('Search season, client, farm, field, crop').fill('forty corn');
		expect(await page.getByRole('listitem').filter({ hasText: 'Field 2' }).count()).toBe(0);
		await page.getByRole('button', { name: /^North Forty/ }).tap();
		await page.getByText('In the cart now').waitFor();
		expect(await page.getByRole('button', { name: /^D1 A/ }).first().isVisible()).toBe(true);
		await close();
	});
});

it('keys on the pad are heard one by one', async () => {
	const { close, page } = await fresh('phone', 'Keys');
	await key(page, '120.5');
	await page.getByRole('button', { name: 'Delete the last digit' }).tap();
	expect(await page.getByLabel('Scale reads').textContent()).toContain('120.');
	await close();
});

describe('unlikely weights', () => {
	it('are asked about: a digit too many, and more than the cart holds', async () => {
		const { close, page } = await fresh('tablet', 'Asked');
		const question = page.getByRole('dialog', { name: 'Please check' });
		const asked = async (reading: number, button: string | RegExp, words: string) => {
			await page.keyboard.type(String(reading));
			await page.getByRole('button', { name: button, exact: true }).tap();
			await question.getByText(words).waitFor();
			await question.getByRole('button', { name: 'Change it' }).tap();
			for (let i = 0; i < 6; i++) await page.keyboard.press('Backspace');
		};
		await asked(72_400, 'A', '72,400 lb in one dump from A?');
		await dump(page, 'A', 7240);
		await asked(27_240, 'A', '20,000 lb in one dump from A?');
		await page.getByRole('button', { name: 'More', exact: true }).tap();
		await page.getByRole('button', { name: 'net weight of each dump' }).tap();
		await page.getByRole('button', { name: 'Done' }).tap();
		await asked(72_400, /^To truck/, '72,400 lb to the truck, and the cart holds 7,240 lb?');
		await close();
	});
});

describe('by keyboard alone', () => {
	it('the focus stays where the work is, from one dump to the next', async () => {
		const { close, page } = await fresh('tablet', 'Keyboard');
		const a = page.getByRole('button', { name: 'A', exact: true });
		for (const reading of ['12000', '24500']) {
			await page.keyboard.type(reading);
			await a.focus();
			await saved(page, () => page.keyboard.press('Enter'));
			expect(await a.evaluate((e) => e === document.activeElement)).toBe(true);
		}
		// A button that is disabled does nothing.
		await page.keyboard.press('Enter');
		await page.getByRole('button', { name: 'Enter the weight on A’s monitor' }).focus();
		await page.keyboard.press('Enter');
		await page.getByRole('button', { name: 'Later' }).waitFor();
		await page.keyboard.type('12900');
		await saved(page, () => page.keyboard.press('Enter'));
		await page.getByText('+3.2% this dump').waitFor();
		// Where the button that led to a page is gone, the page has the focus.
		const field = page.getByRole('button', { name: /^Keyboard/ });
		await field.focus();
		await page.keyboard.press('Enter');
		await expect.poll(() => page.evaluate(() => document.activeElement?.className)).toBe('inside');
		await close();
	});
});
