import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { unzipSync } from 'fflate';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { few } from '../campaign.ts';
import { onStage } from './stage.ts';
import { goTo, key, opened, reload, SIZES, type Size, saved, startField } from './tablet.ts';

const stage = onStage();
const root = fileURLToPath(new URL('../../', import.meta.url));

/**
 * One day, told once: whatever the size of the screen and the locale, the same taps and the same digits, in pounds or
 * in kilograms. Each step goes on from the one before, on the other of two screens. In English and pounds the other
 * files go.
 */
describe.each<[Size, Size, string]>(
	few(
		[
			['phone', 'tablet', 'de-DE'],
			['tablet', 'phone', 'en-US'],
			['upright', 'lying', 'de-DE'],
		],
		1,
	),
)('a day in the cab on a %s and a %s in %s', (size, other, locale) => {
	let page: Page;
	let wrong: string[];
	const unit = locale === 'en-US' ? 'lb' : 'kg';
	const n = (x: number) => x.toLocaleString(locale);
	const w = (x: number) => `${n(x)} ${unit}`;
	const figures = () => page.locator('.figures');
	const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });
	const sheet = () => page.getByRole('dialog').last();

	/** Keys a reading over whatever stood there, and taps. */
	const weigh = async (reading: number) => {
		const shown = page.locator('.digits:not(.idle)');
		const digits = (await shown.allTextContents()).join('').replace(/\D/g, '').length;
		await key(page, `${'⌫'.repeat(digits)}${reading}`);
	};
	const asked = async (what: RegExp, answer: 'Change it' | RegExp) => {
		await page.getByRole('alert').filter({ hasText: what }).waitFor();
		await sheet().getByRole('button', { name: answer }).tap();
	};
	const to = async (name: string) => {
		await goTo(page, name);
		await page.locator('.inside > *').first().waitFor();
	};

	/** What happened so far is what the next step goes on from, so that all of them are one test. */
	const steps: [string, () => Promise<void>][] = [];
	const step = (name: string, act: () => Promise<void>) => steps.push([name, act]);

	step('a weight keyed says what it means, one tap puts it down, and its monitor goes on the same keys', async () => {
		await weigh(14_000);
		const net = page.locator('.net');
		expect(await net.textContent()).toBe(`${w(14_000)} in`);
		const box = (await net.boundingBox())!;
		expect(box.y + box.height).toBeLessThanOrEqual(page.viewportSize()!.height);
		await saved(page, () => button('A').tap());
		await button('Enter the weight on A’s monitor').tap();
		await key(page, 26_320);
		await button('Save').tap();
		// 26,320 against 14,000 is +88 %: a first load like that is asked about.
		await asked(/error of \+88%/, 'Change it');
		await key(page, '⌫⌫⌫⌫⌫14560');
		await button(/^Moisture/).tap();
		await key(page, locale === 'en-US' ? '17.5' : '17,5');
		await saved(page, () => button('Save').tap());
		const check = page.getByRole('region', { name: 'Monitor check, North Forty' });
		// 14,560 ÷ 14,000 = 1.04.
		await check
			.getByText(`+${(4).toLocaleString(locale, { minimumFractionDigits: 1 })}%`)
			.first()
			.waitFor();
	});

	step('what can hardly be is asked about before it is written', async () => {
		const entries = await page.locator('[data-entries]').getAttribute('data-entries');
		await weigh(14_000);
		await button('B').tap();
		await asked(/same as before/, 'Change it');
		await weigh(13_000);
		// A lower reading is grain that left: the truck's button is the filled one.
		expect(await button(/^To truck/).getAttribute('class')).toContain('main');
		expect(await button('B').getAttribute('class')).not.toContain('main');
		await button('B').tap();
		await asked(new RegExp(`${w(1000)} lower than before`), 'Change it');
		await weigh(15_000);
		await button(/^To truck/).tap();
		await asked(new RegExp(`${w(1000)} higher than before`), 'Change it');
		await weigh(14_030);
		await button('B').tap();
		await asked(new RegExp(`Only ${w(30)} from B`), 'Change it');
		await weigh(0);
		await button('Delete the last digit').tap();
		expect(await page.locator('[data-entries]').getAttribute('data-entries')).toBe(entries);
	});

	step('the truck on the screen is the truck that gets it', async () => {
		await page.locator('.figure.press').tap();
		await button('New truck').tap();
		await sheet().getByLabel('Name').fill('Blue');
		await sheet().getByLabel('Payload limit').fill(n(30_000));
		await sheet().getByRole('button', { name: 'Add' }).tap();
		await figures().getByText('Room left on Blue').waitFor();
		await saved(page, () => button(/^All to truck/).tap());
		await figures().getByText('Truckload 1, Blue').waitFor();
		expect(await figures().textContent()).toContain(n(16_000));
		// Another truck for the next grain: the open load keeps its own.
		const chips = page.getByRole('group', { name: 'Trucks' });
		await chips.getByRole('button', { name: 'Truck 1', exact: true }).tap();
		await figures().getByText('Next truckload').waitFor();
		await weigh(20_000);
		await saved(page, () => button('A').tap());
		await saved(page, () => button(/^All to truck/).tap());
		await figures().getByText('Truckload 2, Truck 1').waitFor();
		await chips.getByRole('button', { name: /^Blue/ }).tap();
		await figures().getByText('Truckload 1, Blue').waitFor();
		expect(await figures().textContent()).toContain(n(16_000));
	});

	step('going over the limit is loud, and a load closed by mistake is opened again', async () => {
		await weigh(20_000);
		await saved(page, () => button('B').tap());
		await weigh(0);
		const over = `Over the limit of Blue by ${w(4000)}`;
		await page.locator('.net').getByText(over).waitFor();
		await button(/^To truck/).tap();
		await saved(page, () => asked(/over its payload limit/, /^Yes/));
		await figures().getByRole('alert').filter({ hasText: over }).waitFor();
		await saved(page, () => button('Blue has left').tap());
		await figures().getByText('Truckload 2, Truck 1').waitFor();
		await page.locator('.figure.press').tap();
		await sheet()
			.getByRole('button', { name: /^Reopen Truckload 1, Blue/ })
			.tap();
		await figures().getByText('Truckload 1, Blue').waitFor();
	});

	step('undo says what it undoes, stays in sight, and is undone itself', async () => {
		await weigh(21_000);
		await saved(page, () => button('A').tap());
		await page
			.locator('.figure output')
			.filter({ hasText: n(21_000) })
			.waitFor();
		await saved(page, () => button(`Undo D4, A, ${w(21_000)}`).tap());
		const said = page.getByRole('status').filter({ hasText: `Undone: D4, A, ${w(21_000)}` });
		await said.waitFor();
		await page.locator('.figure output').filter({ hasText: /^0/ }).waitFor();
		await saved(page, () => said.getByRole('button', { name: /^Redo/ }).tap());
		await page
			.locator('.figure output')
			.filter({ hasText: n(21_000) })
			.waitFor();
		await said.waitFor({ state: 'detached' });
		// And after the page was closed.
		await reload(page);
		await button(`Undo D4, A, ${w(21_000)}`).tap();
		await said.getByRole('button', { name: 'History' }).tap();
		expect(await sheet().getByRole('listitem').first().textContent()).toContain('undone');
		// The sheet's own step in the history is there a moment after the sheet.
		await page.waitForFunction(() => history.state !== null);
		await page.goBack();
		await sheet().waitFor({ state: 'detached' });
		expect(page.url()).toContain('#/book/now');
	});

	step('a ticket: numbers as they are typed, the load suggested by its weight', async () => {
		await to('Tickets');
		await button('Enter a ticket').tap();
		const form = page.getByRole('dialog', { name: 'Enter a ticket' });
		// The weight can be typed at once.
		await form.getByLabel('Net weight').and(page.locator(':focus')).waitFor();
		await form.getByLabel('Net weight').fill('39');
		await form.getByRole('button', { name: 'Save ticket' }).tap();
		await asked(new RegExp(`39 ${unit} on a truck\\?`), 'Change it');
		await form.getByLabel('Net weight').fill(n(20_200));
		// Truckload 1 is older and holds 34,000; this weight belongs to the second.
		const chosen = form.getByLabel(/^Truckload/);
		expect(await chosen.evaluate((s: HTMLSelectElement) => s.selectedOptions[0]!.text)).toContain('Truckload 2');
		await form.getByLabel('Moisture').fill((18.4).toLocaleString(locale));
		await form.getByLabel('No.').fill('4411');
		await form.getByRole('button', { name: 'Save ticket' }).tap();
		await form.waitFor({ state: 'detached' });
		await button(new RegExp(`^Ticket 4411: ${w(20_200)}`)).tap();
		expect(await sheet().getByLabel('Moisture').inputValue()).toBe((18.4).toLocaleString(locale));
		await button('Close').tap();
		// "38,800" where commas group is thirty-eight thousand, everywhere it can be typed.
		await to('Setup');
		await page.getByRole('region', { name: 'Carts' }).getByRole('button', { name: /^Cart/ }).tap();
		await sheet().getByLabel('Cart holds').fill(n(38_800));
		await sheet().getByRole('button', { name: 'Save', exact: true }).tap();
		await sheet()
			.getByRole('listitem')
			.filter({ hasText: w(38_800) })
			.first()
			.waitFor();
		await button('Close').tap();
	});

	step('combines come and go, each with its own monitor; what was typed is not dropped unasked', async () => {
		const list = page.getByRole('region', { name: 'Combines' });
		await list.getByRole('button', { name: 'B: Here today' }).tap();
		await list.getByText('Not here today').waitFor();
		await to('Now');
		await button('A').waitFor();
		expect(await button('B').count()).toBe(0);
		await to('Setup');
		await list.getByRole('button', { name: 'B: Here today' }).tap();
		await list.getByRole('button', { name: /^B / }).tap();
		await sheet().getByRole('button', { name: 'dry', exact: true }).tap();
		await sheet().getByRole('button', { name: 'Save', exact: true }).tap();
		await sheet().getByRole('listitem').filter({ hasText: 'dry' }).first().waitFor();
		await sheet().getByLabel('Header width').fill('30');
		await sheet().getByRole('button', { name: 'Save', exact: true }).tap();
		const wide = `30${locale === 'en-US' ? '.0 ft' : ',0 m'}`;
		await sheet().getByRole('listitem').filter({ hasText: wide }).first().waitFor();
		await sheet().getByLabel('Tank holds').fill('9');
		await page.goBack();
		await page.getByText('What you typed is not saved yet.').waitFor();
		await sheet().getByRole('button', { name: 'Keep editing' }).tap();
		expect(await sheet().getByLabel('Tank holds').inputValue()).toBe('9');
		await button('Close').tap();
		await sheet().getByRole('button', { name: 'Close without saving' }).tap();
		await sheet().waitFor({ state: 'detached' });
		expect(await list.textContent()).toMatch(new RegExp(`A ?each load, ${unit}, wet.*B ?each load, ${unit}, dry`));
		await list.getByRole('button', { name: /^B / }).tap();
		await sheet().getByRole('button', { name: 'Void' }).tap();
		await page.goBack();
		await sheet().waitFor({ state: 'detached' });
		await list.getByRole('button', { name: 'Restore' }).tap();
		await list.getByRole('button', { name: 'B: Here today' }).waitFor();
	});

	step('another field: its own answer, what carries over, its own crop, its own undo', async () => {
		await to('Fields');
		await button('New field').tap();
		await page.getByLabel('Name', { exact: true }).fill('South');
		await page.locator('form').getByLabel('Crop').selectOption({ label: 'Soybeans' });
		await button('Start').tap();
		const check = page.getByRole('region', { name: 'Monitor check, South' });
		await check.waitFor();
		expect(await check.textContent()).not.toContain('D1');
		expect(await page.getByRole('button', { name: /^Undo/ }).isDisabled()).toBe(true);
		await weigh(11_000);
		await saved(page, () => button('A').tap());
		await to('Totals');
		const corn = page.getByRole('region', { name: 'Totals: Corn' });
		const beans = page.getByRole('region', { name: 'Totals: Soybeans' });
		const sum = async (of: typeof corn) =>
			(await of.getByRole('row').filter({ hasText: 'Sum' }).getByRole('cell').first().textContent())!;
		// 14,000 and 20,000 on Blue, and 20,200 by the ticket; nothing of it among the soybeans.
		expect(await sum(beans)).not.toBe(await sum(corn));
		await beans.getByText('South').waitFor();
		expect(await corn.textContent()).not.toContain('South');
	});

	step('a recalibration is asked about, and taken back', async () => {
		await to('Monitor check');
		await button('Record a recalibration of A').tap();
		await asked(/recalibrated just now/, /^Yes, recalibrated/);
		await button(/^Recalibrated .*: counted since then/).waitFor();
		await to('Now');
		await button('Undo recalibration of A').tap();
		await page.getByText('Undone: recalibration of A').waitFor();
		await to('Monitor check');
		expect(await button(/^Recalibrated .*: counted since then/).count()).toBe(0);
	});

	step('a list of the scale head keeps its own names, asks for unknown ones once, and is one act', async () => {
		const list =
			'Load,Date,Time,Net,Combine,Field\n901,2026-10-07,14:05,12100,JD,Creek\n902,2026-10-07,14:31,12300,A,Creek\n';
		await to('Backup');
		await page
			.getByLabel('Open its file')
			.setInputFiles({ name: 'list.csv', mimeType: 'text/csv', buffer: Buffer.from(list) });
		const unknown = sheet().getByRole('region', { name: 'Names not in the book yet' });
		await unknown.getByLabel('Combine “JD” is').selectOption({ label: 'B' });
		expect(await unknown.getByLabel('Field “Creek” is').inputValue()).toBe('');
		await button('Add 2 rows').tap();
		await page.getByText('2 rows added.').waitFor();
		await to('Fields');
		await page.getByRole('button', { name: /^Creek/ }).waitFor();
		await page.getByRole('button', { name: /^South/ }).tap();
		// One act, undone as one; one's own numbers go on.
		await button('Undo list of 2 rows').waitFor();
		await weigh(22_000);
		await saved(page, () => button('B').tap());
		await button(/^Undo D6, B/).waitFor();
	});

	step('the book shows monitor, error and truckload in its rows; tickets show date and field, and filter', async () => {
		await to('Fields');
		await page.getByRole('button', { name: /^North Forty/ }).tap();
		await to('Book');
		const row = page.getByRole('row').filter({ hasText: 'D1' });
		const text = (await row.textContent())!;
		expect(text).toContain(w(14_560));
		// The ticket makes the cart ratio 20,200 ÷ 20,000 = 1.01: 14,560 ÷ 14,140 = +3.0 %.
		expect(text).toContain(`+${(3).toLocaleString(locale, { minimumFractionDigits: 1 })}%`);
		expect(text).toContain('Truckload 1, Blue');
		await to('Tickets');
		expect(await page.getByRole('listitem').filter({ hasText: 'Truckload 2' }).textContent()).toContain('North Forty');
		await button('Without a ticket').tap();
		expect(await page.getByRole('listitem').filter({ hasText: 'Truckload 2' }).count()).toBe(0);
		await page.getByRole('listitem').filter({ hasText: 'Truckload 1' }).waitFor();
	});

	step('the last backup’s date is in sight, keys keep their places, the bare address opens the book', async () => {
		await to('Now');
		await button('No backup yet').tap();
		await Promise.all([page.waitForEvent('download'), button('Save backup file').tap()]);
		await to('Now');
		await button(/^Backup: /).waitFor();
		const keys = page.getByRole('group', { name: 'Number pad' }).getByRole('button');
		const places = await keys.evaluateAll((all) =>
			all
				.map((b) => ({ b, r: b.getBoundingClientRect() }))
				.sort((p, q) => p.r.top - q.r.top || p.r.left - q.r.left)
				.map(({ b }) => b.textContent),
		);
		expect(places.join(' ')).toBe(`7 8 9 4 5 6 1 2 3 ${locale === 'en-US' ? '.' : ','} 0 ⌫`);
		await page.goto(stage.url);
		await figures().waitFor();
		expect(wrong).toEqual([]);
	});

	it('from the first weight to the backup', async () => {
		const device = await opened(stage.chromium, stage.url, size, { locale });
		({ page, wrong } = device);
		page.setDefaultTimeout(20_000);
		await startField(page, 'North Forty');
		for (const [k, [name, act]] of steps.entries()) {
			await page.setViewportSize(SIZES[k % 2 === 0 ? size : other]);
			try {
				await act();
			} catch (cause) {
				throw new Error(`${name}: ${cause instanceof Error ? cause.message : cause}`, { cause });
			}
		}
		await device.close();
	}, 240_000);
});

it('the folder that the book saves is corrected as it is, with a combine that has left', async () => {
	const { close, page } = await opened(stage.chromium, stage.url, 'tablet');
	await startField(page, 'Office');
	for (const reading of [12_000, 24_000]) {
		await key(page, reading);
		await saved(page, () => page.getByRole('button', { name: 'A', exact: true }).tap());
	}
	await goTo(page, 'Setup');
	await page.getByRole('region', { name: 'Combines' }).getByRole('button', { name: 'A: Here today' }).tap();
	await goTo(page, 'Backup');
	const start = Date.now() / 1000 - 3600;
	const rows = Array.from({ length: 600 }, (_, i) => {
		const time = new Date((start + i * 4) * 1000).toISOString().slice(0, 19);
		return `${time}Z,${(42 + i * 5.4e-5).toFixed(7)},-93.6,9,4,6,9.144,17.5`;
	});
	const log = `time,lat,lon,flow_kg_s,interval_s,distance_m,swath_m,moisture_pct\n${rows.join('\n')}\n`;
	await page
		.getByLabel('Add logs')
		.setInputFiles({ name: 'a-log.csv', mimeType: 'text/csv', buffer: Buffer.from(log) });
	await page.getByLabel('a-log.csv').selectOption('A');
	const [file] = await Promise.all([
		page.waitForEvent('download'),
		page.getByRole('button', { name: 'Save the field folder' }).tap(),
	]);
	const dir = mkdtempSync(join(tmpdir(), 'steelyard-office-'));
	const folder = join(dir, 'Office');
	mkdirSync(folder);
	for (const [name, bytes] of Object.entries(unzipSync(readFileSync(await file.path()))))
		writeFileSync(join(folder, name), bytes);
	const plan = JSON.parse(readFileSync(join(folder, 'field.json'), 'utf8'));
	expect(plan.logs).toEqual([{ file: 'a-log.csv', combine: 'A' }]);
	expect(Object.keys(plan.combines)).toEqual(['A']);
	const out = join(dir, 'out');
	const main = join(root, 'dist/lib/commands/main.js');
	const done = spawnSync(process.execPath, [main, 'correct', folder, '--out', out], { encoding: 'utf8' });
	expect(done.stderr + done.stdout).toContain('A');
	expect(done.status).toBe(0);
	const result = JSON.parse(readFileSync(join(out, 'result.json'), 'utf8'));
	expect(JSON.stringify(result)).toContain('D2');
	rmSync(dir, { recursive: true, force: true });
	await close();
});

it('finds the cable again after a reload, and says its loss where the weight is', async () => {
	const { close, page } = await opened(stage.chromium, stage.url, 'tablet', {
		before: (fresh) =>
			fresh.addInitScript(() => {
				const scale = window as unknown as { send: (line: string) => void; pull: () => void };
				const port = {
					open: async () => {},
					close: async () => {},
					readable: new ReadableStream<Uint8Array>({
						start(controller) {
							scale.send = (line) => controller.enqueue(new TextEncoder().encode(`${line}\r\n`));
							scale.pull = () => controller.error(new Error('The device has been lost.'));
						},
					}),
				};
				const serial = { requestPort: async () => port, getPorts: async () => [port] };
				Object.defineProperty(navigator, 'serial', { value: serial, configurable: true });
			}),
	});
	await startField(page, 'Cable');
	await goTo(page, 'Setup');
	await page.getByRole('button', { name: 'Connect the scale' }).tap();
	await page.getByText('no line yet').waitFor();
	await reload(page);
	await page.getByText('no line yet').waitFor();
	await goTo(page, 'Now');
	await page.evaluate(() => (window as unknown as { send: (l: string) => void }).send('ST,GS,+  14020 lb'));
	await page.getByText('14,020 lb stable').waitFor();
	await page.evaluate(() => (window as unknown as { pull: () => void }).pull());
	await page.locator('.display').getByRole('alert').filter({ hasText: 'has stopped sending' }).waitFor();
	await page.locator('.display').getByRole('button', { name: 'Connect again' }).waitFor();
	await close();
});
