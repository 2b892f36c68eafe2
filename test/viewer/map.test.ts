import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { chromiumPath } from '../browser.ts';
import { differing, pixels, rest } from './page.ts';
import { handScene } from './scene.ts';
import { sharedPage } from './shared.ts';

/**
 * The smallest archive: one PNG that covers the world at zoom 0. PMTiles specification, version 3
 * (https://github.com/protomaps/PMTiles/blob/main/spec/v3/spec.md): a header of 127 bytes, a root directory, metadata,
 * the tile.
 */
function onePmtile(tile: Uint8Array): Uint8Array {
	const varint = (n: number): number[] => (n < 128 ? [n] : [(n & 127) | 128, ...varint(n >>> 7)]);
	// One entry: tile 0, run of 1, its length, its offset + 1.
	const root = [...varint(1), ...varint(0), ...varint(1), ...varint(tile.length), ...varint(1)];
	const metadata = [...new TextEncoder().encode('{}')];
	const bytes = new Uint8Array(127 + root.length + metadata.length + tile.length);
	const view = new DataView(bytes.buffer);
	bytes.set(new TextEncoder().encode('PMTiles'));
	view.setUint8(7, 3);
	const at = (place: number, value: number) => view.setBigUint64(place, BigInt(value), true);
	at(8, 127);
	at(16, root.length);
	at(24, 127 + root.length);
	at(32, metadata.length);
	at(40, 0);
	at(48, 0);
	at(56, 127 + root.length + metadata.length);
	at(64, tile.length);
	for (const place of [72, 80, 88]) at(place, 1);
	view.setUint8(96, 1); // clustered
	view.setUint8(97, 1); // directories not compressed
	view.setUint8(98, 1); // tiles not compressed
	view.setUint8(99, 2); // PNG
	bytes.set([...root, ...metadata], 127);
	bytes.set(tile, 127 + root.length + metadata.length);
	return bytes;
}

describe.skipIf(!chromiumPath)('the map', () => {
	const scene = handScene();
	const on = sharedPage(scene);
	const legend = (page: Page) => page.getByRole('region', { name: 'Legend' });
	/** Where the ground lies: right of the legend, below the buttons. */
	const ground = async (page: Page) => {
		const box = (await page.locator('.map-canvas').boundingBox())!;
		return { x: box.x + box.width * 0.66, y: box.y + box.height * 0.55, box };
	};

	it('draws each layer in its own way', () =>
		on(async (page) => {
			const seen = new Map<string, string>();
			for (const name of [
				'yield',
				'change',
				'uncertainty',
				'moisture',
				'speed',
				'combine',
				'fill',
				'flag',
				'grid',
				'gridError',
			]) {
				await page.getByLabel('Color map by').selectOption(name);
				await rest(page);
				seen.set(name, JSON.stringify(await pixels(page, 40)));
			}
			// Uncertainty, speed and the grid's error are flat in this scene: one color each, but drawn.
			expect(new Set(seen.values()).size).toBeGreaterThanOrEqual(8);
			// A standard error is half as far as the interval's half-width.
			expect(await legend(page).textContent()).toContain('about twice as far');
			await page.getByLabel('Color map by').selectOption('uncertainty');
			await expect.poll(() => legend(page).textContent()).toContain('interval of a record reaches this far');
			await page.getByLabel('Color map by').selectOption('flag');
			await expect.poll(() => legend(page).textContent()).toMatch(/on the map.+start of pass.+end of pass/);
		}));

	it('moves a break by key and by hand, and the picture follows', () =>
		on(async (page) => {
			const how = legend(page).getByRole('combobox').first();
			const usual = await how.inputValue();
			await how.selectOption('equal');
			await rest(page);
			const before = await pixels(page, 40);
			const handle = page.getByRole('slider', { name: 'Break 4 of 8' });
			const was = await handle.getAttribute('aria-valuetext');
			await handle.focus();
			for (let i = 0; i < 8; i++) await page.keyboard.press('ArrowRight');
			await rest(page);
			expect(await handle.getAttribute('aria-valuetext')).not.toBe(was);
			const byKey = await pixels(page, 40);
			expect(differing(before, byKey)).toBeGreaterThan(5);
			const box = (await handle.boundingBox())!;
			await page.mouse.move(box.x + box.width / 2, box.y + 20);
			await page.mouse.down();
			await page.mouse.move(box.x + box.width / 2 - 25, box.y + 20, { steps: 3 });
			await page.mouse.up();
			await rest(page);
			expect(differing(byKey, await pixels(page, 40))).toBeGreaterThan(5);
			await page.getByRole('button', { name: 'Reset breaks' }).click();
			await rest(page);
			expect(differing(before, await pixels(page, 40))).toBe(0);
			await how.selectOption(usual);
		}));

	it('shows both sides of a swipe line at once', () =>
		on(async (page) => {
			const after = await pixels(page, 40);
			await page.keyboard.press('b');
			await rest(page);
			const before = await pixels(page, 40);
			await page.getByRole('button', { name: 'Swipe', exact: true }).click();
			const line = page.getByRole('slider', { name: /Swipe line/ });
			await line.focus();
			for (let i = 0; i < 8; i++) await page.keyboard.press('ArrowRight');
			await rest(page);
			const both = await pixels(page, 40);
			// Left of the line as recorded, right of it corrected: pixels run down in columns of 39.
			const columns = Array.from({ length: 39 }, (_, c) => ({
				before: differing(both.slice(39 * c, 39 * c + 39), before.slice(39 * c, 39 * c + 39)),
				after: differing(both.slice(39 * c, 39 * c + 39), after.slice(39 * c, 39 * c + 39)),
			}));
			const split = Math.round(39 * 0.66);
			expect(columns.slice(0, split - 1).every((c) => c.before === 0)).toBe(true);
			expect(columns.slice(split + 1).every((c) => c.after === 0)).toBe(true);
			expect(columns.slice(0, split - 1).some((c) => c.after > 3)).toBe(true);
		}));

	it('tells what a rectangle, a combine and a range of values amount to', () =>
		on(async (page) => {
			const at = await ground(page);
			await page.getByRole('button', { name: 'Select', exact: true }).click();
			await page.mouse.move(at.x - 60, at.y - 60);
			await page.mouse.down();
			await page.mouse.move(at.x + 60, at.y + 60, { steps: 4 });
			await page.mouse.up();
			const panel = page.getByRole('region', { name: 'Selection' });
			await expect.poll(() => panel.textContent()).toMatch(/Yield[\d.]+ ± [\d.]+ bu\/ac.*Dry grain[\d,]+ ± [\d,]+ bu/);
			await page.getByLabel('Select by…').selectOption({ label: 'Combine B' });
			await expect.poll(() => panel.textContent()).toContain('Combine B');
			// Combine B was made to read low by 1.2 %.
			await expect.poll(() => panel.textContent()).toContain('+1.2%');
			const bars = (await legend(page).locator('.histogram svg').boundingBox())!;
			await page.mouse.move(bars.x + bars.width * 0.3, bars.y + 10);
			await page.mouse.down();
			await page.mouse.move(bars.x + bars.width * 0.5, bars.y + 10);
			await page.mouse.up();
			await expect.poll(() => panel.textContent()).toContain('range of values');
			await page.keyboard.press('Escape');
			await expect.poll(() => panel.count()).toBe(0);
		}));

	it('replays the harvest', () =>
		on(async (page) => {
			const whole = await pixels(page, 40);
			const slider = page.getByRole('slider', { name: 'Harvest replayed up to' });
			await slider.focus();
			await page.keyboard.press('Home');
			await rest(page);
			const none = await pixels(page, 40);
			expect(differing(whole, none)).toBeGreaterThan(150);
			for (let i = 0; i < 5; i++) await page.keyboard.press('PageUp');
			await rest(page);
			const half = await pixels(page, 40);
			expect(differing(half, none)).toBeGreaterThan(50);
			expect(differing(half, whole)).toBeGreaterThan(50);
			expect(await slider.getAttribute('aria-valuetext')).toContain('2026');
			// The dumps taken so far lie on the map.
			const marks = await page.locator('.dump-marks circle').count();
			expect(marks).toBeGreaterThan(2);
			expect(marks).toBeLessThan(scene.facts.result.dumps.length);
			await slider.press('End');
		}));

	it('profiles a pass and a drawn line', () =>
		on(async (page) => {
			const at = await ground(page);
			await page.getByRole('button', { name: 'Profile', exact: true }).click();
			await page.mouse.move(at.x, at.y);
			await page.mouse.down();
			await page.mouse.up();
			const panel = page.getByRole('region', { name: 'Profile' });
			await expect.poll(() => panel.textContent()).toMatch(/Along pass \d+/);
			await expect.poll(() => panel.getByRole('img').count()).toBe(1);
			await page.mouse.move(at.x - 90, at.y);
			await page.mouse.down();
			await page.mouse.move(at.x + 90, at.y, { steps: 4 });
			await page.mouse.up();
			await expect.poll(() => panel.textContent()).toContain('Along the line');
		}));

	it('saves the map as a picture with legend, scale and north', () =>
		on(async (page) => {
			await page.getByRole('button', { name: 'Field', exact: true }).click();
			const [download] = await Promise.all([
				page.waitForEvent('download'),
				page.getByRole('button', { name: 'Map as a picture (PNG)' }).click(),
			]);
			expect(download.suggestedFilename()).toBe('Lower-Bend-2026-yield.png');
			const chunks: Buffer[] = [];
			for await (const chunk of await download.createReadStream()) chunks.push(chunk as Buffer);
			const bytes = Buffer.concat(chunks);
			expect(bytes.subarray(1, 4).toString()).toBe('PNG');
			const canvas = await page.evaluate(() => {
				const c = document.querySelector('.map-canvas canvas') as HTMLCanvasElement;
				return { w: c.width, h: c.height };
			});
			// The map, a title above it and the legend below.
			expect(bytes.readUInt32BE(16)).toBe(canvas.w);
			expect(bytes.readUInt32BE(20)).toBe(canvas.h + 140);
			expect(bytes.length).toBeGreaterThan(20_000);
		}));

	it('is read by keyboard alone', () =>
		on(async (page) => {
			await page.getByRole('region', { name: 'Map of the field' }).focus();
			await page.keyboard.press('ArrowRight');
			const readout = page.getByRole('region', { name: 'Record under the pointer' });
			await expect.poll(() => readout.textContent(), { timeout: 10_000 }).toMatch(/Combine[AB]/);
			await page.keyboard.press('p');
			await expect.poll(() => page.getByRole('region', { name: 'Profile' }).count()).toBe(1);
		}, false));

	/** Drops a file made of one color on the page. */
	const drop = (page: Page, name: string, bytes: Uint8Array) =>
		page.evaluate(
			({ called, content }) => {
				const data = new DataTransfer();
				data.items.add(new File([new Uint8Array(content)], called));
				window.dispatchEvent(new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
			},
			{ called: name, content: [...bytes] },
		);
	const square = async (page: Page, size: number, color: string) =>
		Uint8Array.from(
			await page.evaluate(
				async ([side, fill]) => {
					const c = new OffscreenCanvas(side, side);
					const g = c.getContext('2d')!;
					g.fillStyle = fill;
					g.fillRect(0, 0, side, side);
					return [...new Uint8Array(await (await c.convertToBlob()).arrayBuffer())];
				},
				[size, color] as const,
			),
		);

	it('lays the user’s own picture under the ground, then an own PMTiles file', () =>
		on(async (page) => {
			const plain = await pixels(page, 40);
			await drop(page, 'aerial.png', await square(page, 64, '#ff0000'));
			// The ends of passes are flagged and not drawn: there the picture shows.
			await expect.poll(async () => differing(plain, await pixels(page, 40)), { timeout: 10_000 }).toBeGreaterThan(5);
			await drop(page, 'aerial.pmtiles', onePmtile(await square(page, 256, '#0000ff')));
			const blue = async () => (await pixels(page, 40)).filter(([r, g, b]) => b > 200 && r < 40 && g < 40).length;
			await expect.poll(blue, { timeout: 15_000 }).toBeGreaterThan(100);
			expect(differing(plain, await pixels(page, 40))).toBeGreaterThan(100);
		}, false));
});
