import { expect, it } from 'vitest';
import { sampleStart } from '../viewer/sample.ts';
import { onStage } from './stage.ts';
import { goTo, installed, startField } from './tablet.ts';

const stage = onStage();

const files = sampleStart();
const sample = (name: string) => ({ name, mimeType: 'text/csv', buffer: Buffer.from(files.get(name)!) });

it('works before any log exists; when the logs come, both are joined on the map, offline all the same', async () => {
	const { context, page, wrong } = await installed(stage.chromium, stage.url, 'tablet');
	await startField(page, 'Saltlick');
	await goTo(page, 'Setup');
	for (const [old, name] of [
		['A', 'Heron'],
		['B', 'Marten'],
	]) {
		await page
			.getByRole('region', { name: 'Combines' })
			.getByRole('button', { name: new RegExp(`^${old} ?each load`) })
			.tap();
		const sheet = page.getByRole('dialog');
		await sheet.getByLabel('Name', { exact: true }).fill(name!);
		await sheet.getByRole('button', { name: 'Save', exact: true }).tap();
		await sheet.getByRole('listitem').filter({ hasText: 'Edited' }).first().waitFor();
		await sheet.getByRole('button', { name: 'Close' }).tap();
	}
	// The scale head's own list stands in for a day of keying.
	await goTo(page, 'Backup');
	await page.getByLabel('Open its file').setInputFiles(sample('cart.csv'));
	await page.getByRole('button', { name: /^Add \d+ rows$/ }).tap();
	await page.getByText(/rows added\./).waitFor();
	await page.getByLabel('Add logs').setInputFiles([sample('combine-Heron.csv'), sample('combine-Marten.csv')]);
	expect(await page.getByLabel('combine-Marten.csv').inputValue()).toBe('Marten');
	await page.getByRole('button', { name: 'Open together on the map' }).tap();
	await page.getByRole('heading', { name: 'Saltlick', exact: true }).waitFor({ timeout: 90_000 });
	expect(wrong).toEqual([]);
	await context.close();
}, 180_000);
