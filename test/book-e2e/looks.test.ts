import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { mergeBooks, writeBackup } from '../../lib/book/index.ts';
import { Writer } from '../book/build.ts';
import { dayActs, dayBook } from '../book/day.ts';
import { onStage } from './stage.ts';
import { type Device, goTo, opened, reload, type Size, saved } from './tablet.ts';

const stage = onStage();

const PAGES = ['Now', 'Monitor check', 'Tickets', 'Book', 'Totals', 'Fields', 'Backup', 'Setup', 'Safety'];
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** A book with something of everything in it: conflicts, struck rows, doubts, waiting dumps. */
function everything(): string {
	const day = dayBook(dayActs());
	const w = new Writer('cart', day.now_s, day.book);
	const dumps = w.book.entries.filter((e) => e.kind === 'dump').map((e) => e.thing);
	w.strike(dumps[2]!, 'written twice');
	w.add('dump', { number: 'D31', cart: 'c', field: 'f', combines: ['A'], reading_kg: 5000, note: 'wet corner' });
	const other = new Writer('cab', day.now_s, day.book);
	w.edit(dumps[5]!, { note: 'ours' });
	other.edit(dumps[5]!, { note: 'theirs' });
	return writeBackup(mergeBooks(w.book, other.book));
}

async function full(size: Size, theme: string): Promise<Device> {
	const device = await opened(stage.chromium, stage.url, size);
	const { page } = device;
	await page.evaluate((t) => localStorage.setItem('steelyard.theme', t), theme);
	await reload(page);
	await goTo(page, 'Backup');
	await page
		.getByLabel('Open a backup file')
		.setInputFiles({ name: 'b.json', mimeType: 'application/json', buffer: Buffer.from(everything()) });
	await page.getByText(/^Merged:/).waitFor();
	return device;
}

/** Everything that can be pressed or written in, with its size as it lies on the screen. */
async function small(page: Page, least: number): Promise<string[]> {
	return page.evaluate((min) => {
		const found: string[] = [];
		for (const e of document.querySelectorAll<HTMLElement>(
			'.fieldside button, .fieldside select, .fieldside summary, .fieldside a, .fieldside input',
		)) {
			// A file's input lies under its button.
			const target = e.matches('[type=file]') ? e.closest('label')! : e;
			const r = target.getBoundingClientRect();
			if (r.width === 0 && r.height === 0) continue;
			if (r.width < min - 0.5 || r.height < min - 0.5)
				found.push(`${e.tagName} ${(e.textContent || e.getAttribute('aria-label')) ?? ''} ${r.width}×${r.height}`);
		}
		return found;
	}, least);
}

/** Graphics in the sun keep 3:1 against the paper, text and figures 7:1. */
async function sunny(page: Page): Promise<void> {
	await goTo(page, 'Now');
	// Its answer is drawn once the factors are there.
	await page.locator('.band .dot').first().waitFor();
	const ratios = await page.evaluate(() => {
		const light = (c: string) => {
			const [r, g, b] = c
				.match(/[\d.]+/g)!
				.slice(0, 3)
				.map((x) => {
					const v = Number(x) / 255;
					return v <= 0.040_45 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
				});
			return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
		};
		const paper = light(getComputedStyle(document.documentElement).backgroundColor);
		const against = (c: string) => (Math.max(light(c), paper) + 0.05) / (Math.min(light(c), paper) + 0.05);
		const all = (selector: string, property: 'stroke' | 'fill' | 'color') =>
			[...document.querySelectorAll(selector)].map((e) => against(getComputedStyle(e)[property]));
		return {
			graphics: Math.min(
				...all('.band .course', 'stroke'),
				...all('.band .dot', 'stroke'),
				...all('.band .zero', 'stroke'),
			),
			text: Math.min(...all('.band .tick', 'fill'), ...all('.huge, .digits, .pad button, .errors b, .line', 'color')),
		};
	});
	// Of nothing the least would be infinite.
	expect(Math.max(ratios.graphics, ratios.text)).toBeLessThanOrEqual(21);
	expect(ratios.graphics).toBeGreaterThanOrEqual(3);
	expect(ratios.text).toBeGreaterThanOrEqual(7);
}

/** There are examples worked by hand beside the screens that use them. */
async function examples(page: Page): Promise<void> {
	for (const [where, what, answer] of [
		['Tickets', 'ratio of cart', '1.0168'],
		['Totals', 'water shrink', '881.7 lb'],
		['Totals', 'dry bushels', '917.4 bu'],
		['Monitor check', 'error of a monitor', '+5%'],
		['Monitor check', 'how many more dumps', '4 more'],
	] as const) {
		await goTo(page, where);
		const example = page.getByRole('group').filter({ hasText: what }).last();
		await example.getByText(what).tap();
		await example.getByText(answer).waitFor();
	}
}

// Rules of accessibility: all of them in two sizes, those of color in each theme; sizes of targets everywhere.
describe.each<[Size, string, 'every' | 'color' | 'no']>([
	['phone', 'sun', 'every'],
	['tablet', 'light', 'every'],
	['upright', 'dark', 'color'],
	['lying', 'light', 'no'],
])('on a %s in the %s theme, %s rule', (size, theme, rules) => {
	it('every target is 56 px at least, nothing runs off the side, nobody is shut out', async () => {
		const { page, wrong, close } = await full(size, theme);
		await page.evaluate(axe);
		const faults: string[] = [];
		const check = async (where: string) => {
			for (const f of await small(page, 56)) faults.push(`${where}: too small: ${f}`);
			const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
			if (over > 0) faults.push(`${where}: ${over} px run off the side`);
			if (rules === 'no') return;
			const found = await page.evaluate(
				async ([sun, color]) => {
					const { axe } = window as unknown as {
						axe: { run: (c: object, o: object) => Promise<{ violations: Found[] }> };
					};
					interface Found {
						id: string;
						nodes: { html: string; failureSummary: string }[];
					}
					const { violations } = await axe.run(document, {
						runOnly: color
							? { type: 'rule', values: ['color-contrast', 'link-in-text-block'] }
							: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] },
						resultTypes: ['violations'],
						// In the sun 7:1 is asked for, of all text.
						rules: sun ? { 'color-contrast-enhanced': { enabled: true } } : {},
					});
					return violations.map(
						(v) =>
							`${v.id}: ${v.nodes
								.map((n) => `${n.html} ${n.failureSummary}`)
								.join(' | ')
								.slice(0, 600)}`,
					);
				},
				[theme === 'sun', rules === 'color'] as const,
			);
			for (const f of found) faults.push(`${where}: ${f}`);
		};
		for (const p of PAGES) {
			await goTo(page, p);
			await page.locator('.inside > *').first().waitFor();
			await check(p);
		}
		await goTo(page, 'Book');
		await page.getByRole('button', { name: 'Dump D6' }).tap();
		await page.getByRole('dialog').waitFor();
		await check('a row’s sheet');
		await page.getByRole('button', { name: 'Close' }).tap();
		await goTo(page, 'Now');
		await saved(page, () => page.getByRole('button', { name: /^All to truck/ }).tap());
		await page.locator('.figure.press').tap();
		await page.getByRole('button', { name: /on it$/ }).waitFor();
		await check('the trucks’ sheet');
		expect(faults).toEqual([]);
		if (theme === 'sun') {
			await page.getByRole('button', { name: 'Close' }).tap();
			await sunny(page);
			await examples(page);
		}
		expect(wrong).toEqual([]);
		await close();
	});
});

it('long names leave every button of the working page in sight', async () => {
	const { close, page } = await full('tablet', 'dark');
	await goTo(page, 'Setup');
	for (const [list, name] of [
		['Combines', 'The big red combine with the twelve-row corn head'],
		['Trucks', 'Second tractor-trailer of the hauler from town'],
	] as const) {
		await page.getByRole('region', { name: list }).getByRole('button').first().tap();
		const sheet = page.getByRole('dialog');
		await sheet.getByLabel('Name').fill(name);
		await sheet.getByRole('button', { name: 'Save', exact: true }).tap();
		await sheet.getByRole('listitem').filter({ hasText: 'Edited' }).first().waitFor();
		await sheet.getByRole('button', { name: 'Close' }).tap();
	}
	await goTo(page, 'Now');
	await page.setViewportSize({ width: 1024, height: 768 });
	const rest = await page
		.locator('.entry')
		.evaluate((e) => [
			e.scrollHeight - e.clientHeight,
			...[...e.querySelectorAll('button')].map((b) => b.scrollHeight - b.clientHeight),
		]);
	expect(rest.filter((px) => px > 0)).toEqual([]);
	await close();
});
