import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { bookOf, type Entry, kept, moistureOffsets, runningFactors, scaleRatio, totals } from '../../lib/book/index.ts';
import { POUND_KG } from '../../lib/units/index.ts';
import { dayActs, dayBook } from '../book/day.ts';
import { few, WHOLE } from '../campaign.ts';
import { onStage } from './stage.ts';
import { goTo, installed, key, type Size, saved, startField } from './tablet.ts';

const stage = onStage();

const lb = (kg: number) => Math.round(kg / POUND_KG).toLocaleString('en-US');
const four = (x: number) => x.toFixed(4);

/** What the tablet keeps on its disk. */
const entriesOf = (page: Page): Promise<Entry[]> =>
	page.evaluate(
		() =>
			new Promise<Entry[]>((done, failed) => {
				const open = indexedDB.open('steelyard-book');
				open.onerror = () => failed(open.error);
				open.onsuccess = () => {
					const all = open.result.transaction('entries').objectStore('entries').getAll();
					all.onsuccess = () => {
						open.result.close();
						done(all.result as Entry[]);
					};
				};
			}),
	);

// The first loads of the day by hand, and their tickets; the whole day in a campaign (the rest is the same taps), and a phone
// too, on which the day in the cab is keyed.
describe.each<[Size, number]>(
	few(
		[
			['tablet', WHOLE ? 10 : 3],
			['phone', 1],
		],
		1,
	),
)('a day keyed by hand on a %s, with no network', (size, loads) => {
	it('gives the factors, intervals and totals that the library gives', async () => {
		const { context, page, wrong } = await installed(stage.chromium, stage.url, size);
		await startField(page, 'Day field');
		const acts = dayActs(loads);
		let trucks = 0;
		// Finger by finger for the first load; later ones by a keyboard, which the pad hears too and which is quicker.
		const put = (n: number) => (trucks === 0 ? key(page, n) : page.keyboard.type(String(n)));
		for (const a of acts) {
			if (a.do === 'dump') {
				await put(a.reading_lb);
				// One tap beside the digits.
				await saved(page, () => page.getByRole('button', { name: a.combine, exact: true }).tap());
				await page.getByRole('button', { name: `Enter the weight on ${a.combine}’s monitor` }).tap();
				await put(a.monitor_lb);
				await saved(page, () => page.getByRole('button', { name: 'Save', exact: true }).tap());
				await page.getByRole('button', { name: 'A + B' }).waitFor();
			} else if (a.do === 'offload') {
				trucks++;
				await saved(page, () => page.getByRole('button', { name: 'All to truck' }).tap());
				await saved(page, () => page.getByRole('button', { name: 'Truck 1 has left' }).tap());
			} else {
				await goTo(page, 'Tickets');
				const line = page
					.getByRole('listitem')
					.filter({ has: page.getByRole('button', { name: `Truckload ${a.load}, Truck 1` }) });
				await line.getByRole('button', { name: 'Add ticket' }).tap();
				const sheet = page.getByRole('dialog');
				await sheet.getByLabel('No.').fill(`T${a.load}`);
				await sheet.getByLabel('Net weight').fill(String(a.net_lb));
				await sheet.getByLabel('Moisture').fill(String(a.moisture_pct));
				await sheet.getByRole('button', { name: 'Save ticket' }).tap();
				await sheet.waitFor({ state: 'detached' });
			}
		}

		const told = dayBook(acts).book;
		const ratio = scaleRatio(told, 'c', 2026);
		if (ratio.source === 'tickets') {
			await goTo(page, 'Tickets');
			const card = page.getByRole('region', { name: 'Cart ratio' });
			expect(await card.textContent()).toContain(four(ratio.ratio));
			expect(await card.textContent()).toContain(`${four(ratio.interval[0])} to ${four(ratio.interval[1])}`);
		}

		await goTo(page, 'Monitor check');
		// The factor goes by when dumps were saved as well: the page's own entries, in the library.
		const own = bookOf(await entriesOf(page));
		const names = new Map(kept(own, 'combine').map((c) => [c.id, c.v.name]));
		const byHand = runningFactors(told, { field: 'f', season: 2026 });
		for (const f of runningFactors(own, { field: kept(own, 'field')[0]!.id, season: 2026 })) {
			const name = names.get(f.combine)!;
			expect(f.value! / byHand.find((x) => x.combine === name)!.value!).toBeCloseTo(1, 2);
			const card = page.getByRole('article', { name, exact: true });
			const text = await card.textContent();
			expect(text).toContain(four(f.value!));
			expect(text).toContain(`${four(f.interval![0])} to ${four(f.interval![1])}`);
			expect(text).toMatch(new RegExp(`Tank loads used\\s*${f.n}`));
		}
		expect(moistureOffsets(told)).toEqual([]);

		await goTo(page, 'Totals');
		const { sum } = totals(told, 'field', () => '', { season: 2026 });
		const row = page.getByRole('row').filter({ hasText: 'Sum' });
		await row.waitFor();
		const cells = await row.getByRole('cell').allTextContents();
		expect(cells[0]).toBe(lb(sum.wet_kg));
		if (sum.moisture_pct !== null) {
			expect(cells[2]).toBe(lb(sum.dry_kg));
			expect(cells[3]).toBe(sum.dry_bu.toLocaleString('en-US', { minimumFractionDigits: 1, maximumFractionDigits: 1 }));
		}
		expect(wrong).toEqual([]);
		await context.close();
	}, 240_000);
});
