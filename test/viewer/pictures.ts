/** Pictures of every view of the sample field, for the documents: `npx tsx test/viewer/pictures.ts [folder]`. */

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openBrowser } from '../browser.ts';
import { heronCsv, martenCsv, sheets } from './exports.ts';
import { openPage, pictured, rest, servePages } from './page.ts';
import { sampleRun } from './sample.ts';

const out = process.argv[2] ?? fileURLToPath(new URL('../../viewer/pictures', import.meta.url));
mkdirSync(out, { recursive: true });
const { scene, files } = await sampleRun();
const serving = await servePages(scene);
serving.files = files;
const browser = await openBrowser();
const { page } = await openPage(browser, { viewport: { width: 1440, height: 900 } });
const take = async (name: string) => {
	await rest(page);
	await page.waitForTimeout(600);
	await page.screenshot({ path: join(out, `${name}.png`) });
};
const press = (name: string) => page.getByRole('button', { name, exact: true }).first().click();

await page.goto(serving.url);
await pictured(page);
await take('map');

await press('Swipe');
await page.getByRole('slider', { name: /Swipe line/ }).focus();
for (let i = 0; i < 8; i++) await page.keyboard.press('ArrowRight');
await page.getByRole('slider', { name: /Swipe line/ }).blur();
await take('before-and-after');
await press('Swipe');

await page.locator('.distrust button').first().focus();
await take('a-dump-to-distrust');
await page.locator('.distrust button').first().blur();

await press('Profile');
const box = (await page.locator('.map-canvas').boundingBox())!;
await page.mouse.move(box.x + box.width * 0.5, box.y + box.height * 0.35);
await page.mouse.down();
await page.mouse.move(box.x + box.width * 0.75, box.y + box.height * 0.75, { steps: 5 });
await page.mouse.up();
await press('Move');
await page.getByLabel('Select by…').selectOption({ index: 1 });
await take('profile-and-selection');
await page.keyboard.press('Escape');

await press('Dark');
await page.getByLabel('Color map by').selectOption('grid');
await press('Contours');
await take('dark-grid');
await press('Contours');
await press('Sun');
await page.getByLabel('Color map by').selectOption('change');
await press('Seams');
await take('sun-change-and-seams');
await press('Seams');
await press('Light');
await page.getByLabel('Color map by').selectOption('yield');

await press('Compare');
await page.getByRole('img', { name: /Distribution of yields/ }).waitFor();
await take('compare');
await press('Print');
await page.locator('.report').getByRole('heading').first().waitFor({ timeout: 90_000 });
await take('print');

serving.scene = null;
await page.evaluate('indexedDB.deleteDatabase("steelyard-viewer")');
await page.goto(`${serving.url}?fresh`);
await page.getByRole('heading', { name: 'Open a field' }).waitFor();
await page.getByLabel('Open files…').setInputFiles([
	{ name: 'Heron.csv', mimeType: 'text/csv', buffer: Buffer.from(heronCsv()) },
	{ name: 'Marten.csv', mimeType: 'text/csv', buffer: Buffer.from(martenCsv()) },
	{ name: 'loads.xlsx', mimeType: '', buffer: Buffer.from(sheets()) },
]);
await page.getByRole('heading', { name: 'Check what was read' }).waitFor({ timeout: 90_000 });
await take('mapping');
await browser.close();
await serving.close();
