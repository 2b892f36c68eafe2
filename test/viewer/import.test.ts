/** Files as they come, dropped on the page: to a map without a manual, in few actions, by hand or by keyboard. */
import { existsSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chromiumPath, openBrowser } from '../browser.ts';
import { OPEN_LOG, openLogThere } from '../open-log.ts';
import { heronCsv, martenCsv, sheets } from './exports.ts';
import { openPage, servePages } from './page.ts';
import { ran, sampleStart } from './sample.ts';

const file = (name: string, content: string | Uint8Array) => ({ name, mimeType: '', buffer: Buffer.from(content) });
const TASKS = new URL('../../../shared/data/task-data.zip', import.meta.url);

describe.skipIf(!chromiumPath)('files as they come', () => {
	let browser: Browser;
	let served: Awaited<ReturnType<typeof servePages>>;
	beforeAll(async () => {
		served = await servePages(null);
		browser = await openBrowser();
	});
	afterAll(async () => {
		await served?.close();
	});

	/** A fresh page, and a count of what a person does on it. */
	async function begin() {
		const watched = await openPage(browser);
		await watched.page.goto(served.url);
		await watched.page.getByRole('heading', { name: 'Open a field' }).waitFor();
		let actions = 0;
		const act = async (action: Promise<unknown>) => {
			actions++;
			await action;
		};
		return { ...watched, act, count: () => actions };
	}
	const checkShown = (page: Page) =>
		page.getByRole('heading', { name: 'Check what was read' }).waitFor({ timeout: 60_000 });
	const mapShown = (page: Page) => page.waitForSelector('html[data-pictured]', { timeout: 120_000 });
	const fileInput = (page: Page) => page.getByLabel('Open files…');

	it('two combines’ exports and a workbook of loads come to a map in three actions', async () => {
		const { page, close, errors, act, count } = await begin();
		await act(
			fileInput(page).setInputFiles([
				file('Heron 2026.csv', heronCsv()),
				file('Marten.csv', martenCsv()),
				file('loads.xlsx', sheets()),
			]),
		);
		await checkShown(page);
		await page.getByRole('img', { name: /Records of Saltlick Bottom/ }).waitFor();
		expect(await page.getByText('13 dumps with a cart weight, 2 tickets').count()).toBe(1);
		expect(await page.locator('h2:focus').textContent()).toBe('Check what was read');
		for (const why of await page.locator('.because').allTextContents()) {
			const reasons = why.split('; ');
			expect(reasons).toEqual([...new Set(reasons)]);
		}
		expect(await page.getByRole('button', { name: 'Open the map' }).isDisabled()).toBe(true);
		await act(page.getByLabel('Which crop was cut on Saltlick Bottom?').selectOption('corn'));
		await act(page.getByRole('button', { name: 'Open the map' }).click());
		await mapShown(page);
		expect(count()).toBe(3);
		expect(await page.locator('main:focus').count()).toBe(1);
		// The same weights and logs, in other units and rounded: the same factors within what rounding does.
		const { run } = await ran(sampleStart());
		const found = (await page.locator('.factors .numeral').allTextContents()).map(Number);
		Object.values(run.result.combines).forEach((c, k) => {
			expect(Math.abs(found[k]! / c.factor!.value - 1)).toBeLessThan(0.01);
		});
		// Back at what was read, nothing is lost.
		await page.getByRole('button', { name: 'Field', exact: true }).click();
		await page.getByRole('button', { name: 'Back to what was read' }).click();
		await checkShown(page);
		expect(errors.filter((e) => !e.includes('404'))).toEqual([]);
		await close();
	});

	it.skipIf(!openLogThere)('the open Mankato log comes to a map in two actions', async () => {
		const { page, close, act, count } = await begin();
		const { readFileSync } = await import('node:fs');
		await act(fileInput(page).setInputFiles(file('mankato-corn.csv', readFileSync(OPEN_LOG))));
		await checkShown(page);
		await act(page.getByRole('button', { name: 'Open the map' }).click());
		await mapShown(page);
		expect(count()).toBeLessThanOrEqual(3);
		await close();
	});

	it.skipIf(!existsSync(TASKS))('task data shows its five fields, and one crop answers for all', async () => {
		const { page, close } = await begin();
		const { readFileSync } = await import('node:fs');
		await fileInput(page).setInputFiles(file('task-data.zip', readFileSync(TASKS)));
		await checkShown(page);
		expect(await page.getByRole('img', { name: /^Records of/ }).count()).toBe(5);
		await page.getByLabel('Crop of every field').selectOption('wheat');
		await expect
			.poll(() => page.getByRole('button', { name: /^Open the map of/, disabled: false }).count(), { timeout: 60_000 })
			.toBe(5);
		await close();
	});

	it('keyboard alone reaches every reading, and an answer outlives the page', async () => {
		const { page, close } = await begin();
		const log = file('Heron.csv', heronCsv().replace('Grain Flow (lb/s)', 'Grain Flow'));
		await fileInput(page).setInputFiles(log);
		await checkShown(page);
		const unit = page.getByLabel('Unit of column Grain Flow');
		await unit.waitFor();
		const reached = new Set<string>();
		await page.getByRole('heading', { name: 'Check what was read' }).click();
		for (let k = 0; k < 60; k++) {
			await page.keyboard.press('Tab');
			reached.add(
				await page.evaluate(
					() => document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.id ?? '',
				),
			);
		}
		expect([...reached]).toEqual(
			expect.arrayContaining(['Name of combine Heron', 'Column Grain Flow is read as', 'Unit of column Grain Flow']),
		);
		await unit.focus();
		// Home picks the first option, as anywhere.
		await page.keyboard.press('Home');
		await page.getByText('unit as answered').waitFor();
		expect(await unit.inputValue()).toBe('kg/s');
		await page.reload();
		await page.getByRole('heading', { name: 'Open a field' }).waitFor();
		await fileInput(page).setInputFiles({ ...log, name: 'Heron 2027.csv' });
		await checkShown(page);
		expect(await unit.inputValue()).toBe('kg/s');
		await close();
	});

	it('says of every file that is not used what it is and what would help', async () => {
		const { page, close } = await begin();
		const old = Uint8Array.from([0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1, 0, 0, 0, 0]);
		await fileInput(page).setInputFiles([
			file('tickets.xls', old),
			file('notes.txt', 'call Jo about the gate\n'),
			file('field.pdf', '%PDF-1.7 x'),
			file('logs.zip', 'PK\u0003\u0004 cut off'),
		]);
		await checkShown(page);
		await page.getByText('No yield monitor log was found').waitFor();
		await page.getByText('save it as .xlsx or CSV').waitFor();
		expect(await page.locator('.unused li').count()).toBe(4);
		await page.getByRole('button', { name: 'Cancel' }).click();
		await page.getByRole('heading', { name: 'Open a field' }).waitFor();
		await close();
	});

	it('a field folder whose log has other columns is looked at instead', async () => {
		const { page, close } = await begin();
		const files = [...sampleStart()].map(([name, bytes]) =>
			file(
				name,
				name === 'combine-Heron.csv'
					? new TextDecoder().decode(bytes).replace('flow_kg_s', 'Grain flow (kg/s)')
					: bytes,
			),
		);
		await fileInput(page).setInputFiles(files);
		await page.getByRole('button', { name: 'Check what was read' }).click();
		await checkShown(page);
		await page.getByLabel('Name of combine Heron').waitFor();
		await close();
	});
});
