import { describe, expect, it } from 'vitest';
import { chromiumPath } from '../browser.ts';
import { differing, pixels, rest } from './page.ts';
import { handScene } from './scene.ts';
import { sharedPage } from './shared.ts';

describe.skipIf(!chromiumPath)('a field whose monitor errs by flow', () => {
	const scene = handScene();
	const factor = scene.facts.result.combines.A!.factor!;
	factor.form = 'flow';
	factor.curve = [
		{ flow_kg_s: 5, value: 0.9 },
		{ flow_kg_s: 15, value: 1.1 },
	];
	scene.facts.result.dumps.find((d) => d.combine === 'B')!.error_pct = 45;
	const on = sharedPage(scene);

	it('says at the chart of dumps why dots lie outside the band', () =>
		on(async (page) => {
			const text = await page.getByRole('region', { name: 'Dumps' }).textContent();
			expect(text).toContain('where more of a dump came at high flow, A read lower');
			expect(text).not.toContain('B’s error changes');
			expect(text).toContain('Some dumps that are used lie far outside the band. See the cautions.');
		}));
});

describe.skipIf(!chromiumPath)('the chain of evidence', () => {
	const on = sharedPage(handScene());

	it('tells its links in the order in which trust is passed on, each with its verdict', () =>
		on(async (page) => {
			const chain = page.getByRole('complementary', { name: 'From scale to map' });
			const names = await chain.locator('.link > h2').allTextContents();
			expect(names).toEqual(['Certified scale', 'Cart', 'Dumps', 'Factors', 'Seams', 'Map']);
			const text = (await chain.textContent())!;
			expect(text).toContain('The cart scale reads 3.0% low over 4 truckloads (95% interval 2.7 to 3.3%).');
			expect(text).toContain('A reads 8.1% high (95% interval');
			expect(text).toContain('0.919 to 0.931');
			expect(text).not.toContain('outside the band');
			expect(text).toContain(
				'On the same ground A read 9.4% more than B (95% interval 8.5 to 10.3%). No difference shown after correction (+0.2%; 95% interval −0.6 to +1.0%).',
			);
			await expect.poll(() => chain.getByRole('img').count()).toBeGreaterThanOrEqual(3);
		}));

	it('shows without any search which dump to distrust, and why', () =>
		on(async (page) => {
			const odd = page.getByRole('button', { name: 'D05' }).first();
			// In sight as the page opens, without scrolling.
			await expect.poll(async () => (await odd.boundingBox())!.y).toBeLessThan(800);
			expect(await odd.locator('..').textContent()).toContain('lighter than its fill by 9 %');
		}));

	it('lights a dump’s ground, row and dot together, by pointer and by keyboard', () =>
		on(async (page) => {
			const dark = await pixels(page, 40);
			await page.getByText('All dumps').click();
			const row = page.getByRole('row', { name: /^D03/ });
			await row.hover();
			await rest(page);
			const lit = await pixels(page, 40);
			expect(differing(dark, lit)).toBeGreaterThan(100);
			expect(await row.getAttribute('class')).toContain('lit');
			await expect.poll(() => page.getByRole('region', { name: 'Dumps' }).locator('.dots circle.lit').count()).toBe(1);
			await page.mouse.move(5, 5);
			await rest(page);
			expect(differing(dark, await pixels(page, 40))).toBe(0);
			// Held by a press, let go by Escape.
			await page.getByRole('button', { name: 'D03' }).focus();
			await page.keyboard.press('Enter');
			await page.getByText('All dumps').focus();
			await rest(page);
			expect(differing(lit, await pixels(page, 40))).toBe(0);
			await page.keyboard.press('Escape');
			await rest(page);
			expect(differing(dark, await pixels(page, 40))).toBe(0);
			await page.getByText('All dumps').click();
		}));

	it('lights the row of the record under the pointer', () =>
		on(async (page) => {
			await page.getByText('All dumps').click();
			const box = (await page.locator('.map-canvas').boundingBox())!;
			await page.mouse.move(box.x + box.width * 0.66, box.y + box.height * 0.55);
			await expect.poll(() => page.locator('.table-box tr.lit').count()).toBe(1);
			await page.getByText('All dumps').click();
		}));

	it('lights a seam’s line from its row', () =>
		on(async (page) => {
			await page.getByText('All seams').click();
			const dark = await pixels(page, 120);
			await page.getByRole('row', { name: /^Seam 3/ }).hover();
			await rest(page);
			expect(differing(dark, await pixels(page, 120))).toBeGreaterThan(3);
			await page.getByText('All seams').click();
		}));

	it('tells a seam’s jump from its line on the map', () =>
		on(async (page) => {
			await page.getByRole('button', { name: 'Seams', exact: true }).click();
			await rest(page);
			const box = (await page.locator('.map-canvas').boundingBox())!;
			const readout = page.getByRole('region', { name: 'Record under the pointer' });
			// Seams run north and south: a walk across the field meets one.
			for (let x = 0.55; x < 0.8; x += 0.004) {
				await page.mouse.move(box.x + box.width * x, box.y + box.height * 0.55);
				if ((await readout.textContent())!.startsWith('Seam, A over B')) break;
			}
			expect(await readout.textContent()).toMatch(/^Seam, A over B: \+\d+\.\d% as recorded/);
			await page.getByRole('button', { name: 'Seams', exact: true }).click();
		}));

	it('takes names from files as text, never as markup', () =>
		on(async (page) => {
			await page.getByText('1 item not used').click();
			expect(await page.getByText('<b>many</b>').count()).toBe(1);
		}));
});
