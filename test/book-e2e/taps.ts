// npx tsx test/book-e2e/taps.ts: what each of the day's tasks costs on the tablet, in Chromium by touch: taps on the page,
// characters on the tablet's own keyboard, and seconds. A person is taken to need a second for a tap (gloves; assumed) and
// 0.28 s for a character (Card, Moran and Newell, Communications of the ACM 23:396, 1980); the page's own share is measured.
import type { BrowserContext, Page } from 'playwright-core';
import { openBrowser } from '../browser.ts';
import { goTo, key, opened, type Size, saved, serve, startField, tabletBuild } from './tablet.ts';

const TAP_S = 1;
const CHARACTER_S = 0.28;

const host = await serve(await tabletBuild());
const chromium = await openBrowser();

async function costs(size: Size, locale: string): Promise<void> {
	const counted = (context: BrowserContext) =>
		context.addInitScript(() => {
			const w = window as unknown as { taps: number; characters: number };
			w.taps = 0;
			w.characters = 0;
			addEventListener('touchend', () => w.taps++, true);
			addEventListener(
				'input',
				(e) => {
					if (e.target instanceof HTMLInputElement) w.characters += e.target.value.length;
				},
				true,
			);
		});
	const { context, page } = await opened(chromium, host.url, size, { locale, before: counted });
	await startField(page, 'North Forty');
	const button = (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' });
	const sheet = () => page.getByRole('dialog').last();
	const n = (x: number) => x.toLocaleString(locale);
	const count = (p: Page) =>
		p.evaluate(() => {
			const { taps, characters } = window as unknown as { taps: number; characters: number };
			return [taps, characters] as const;
		});

	/** Each task three times, the middle one of the page's times. */
	const task = async (
		name: string,
		does: (turn: number) => Promise<unknown>,
		before: () => Promise<unknown> = async () => {},
	) => {
		const times: number[] = [];
		let [taps, characters] = [0, 0];
		for (let turn = 0; turn < 3; turn++) {
			await before();
			const from = await count(page);
			const start = performance.now();
			await does(turn);
			times.push((performance.now() - start) / 1000);
			const to = await count(page);
			[taps, characters] = [to[0] - from[0], to[1] - from[1]];
		}
		const own = times.sort((a, b) => a - b)[1]!;
		const person = taps * TAP_S + characters * CHARACTER_S;
		console.log(
			`${locale} ${size.padEnd(7)} ${name.padEnd(44)} ${String(taps).padStart(3)} taps ${String(characters).padStart(3)} characters ` +
				`${person.toFixed(1).padStart(5)} s of a person, ${own.toFixed(1).padStart(4)} s of the page under test`,
		);
	};

	let level = 0;
	const next = () => (level += 12_340);
	const dump = () => saved(page, () => button('A').tap());
	const empty = async () => {
		await saved(page, () => button(/^All to truck/).tap());
		level = 0;
	};
	await task('dump, five digits', async () => {
		await key(page, next());
		await dump();
	});
	await empty();
	await task('dump with monitor, five digits each', async () => {
		await key(page, next());
		await dump();
		await button('Enter the weight on A’s monitor').tap();
		await key(page, 12_700);
		await saved(page, () => button('Save').tap());
	});
	await task('offload: all that is in the cart', empty, async () => {
		if (level > 0) return;
		await key(page, next());
		await dump();
	});
	await task(
		'truck has left, the next one of the list',
		() => saved(page, () => button(/ has left$/).tap()),
		async () => {
			await key(page, next());
			await dump();
			await empty();
		},
	);
	await task('new truck, with its limit', async (turn) => {
		await page.locator('.figure.press').tap();
		await button('New truck').tap();
		await sheet().getByLabel('Name').tap();
		await sheet().getByLabel('Name').fill(`Blue ${turn}`);
		await sheet().getByLabel('Payload limit').tap();
		await sheet().getByLabel('Payload limit').fill(n(54_000));
		await sheet().getByRole('button', { name: 'Add' }).tap();
		await sheet().waitFor({ state: 'detached' });
	});
	// A truckload for each ticket.
	for (let i = 0; i < 2; i++) {
		await key(page, next());
		await dump();
		await empty();
		await saved(page, () => button(/ has left$/).tap());
	}
	await task('ticket: number, net weight, moisture', async (turn) => {
		await goTo(page, 'Tickets');
		await button('Enter a ticket').tap();
		const form = page.getByRole('dialog', { name: 'Enter a ticket' });
		// The net weight has the focus when the sheet opens.
		await form.getByLabel('Net weight').and(page.locator(':focus')).fill(n(12_360));
		for (const [label, value] of [
			['Moisture', (18.4).toLocaleString(locale)],
			['No.', `441${turn}`],
		] as const) {
			await form.getByLabel(label).tap();
			await form.getByLabel(label).fill(value);
		}
		await form.getByRole('button', { name: 'Save ticket' }).tap();
		await form.waitFor({ state: 'detached' });
	});
	await task(
		'correction: undo the last dump, key it again',
		async () => {
			await saved(page, () => button(/^Undo D/).tap());
			await key(page, level);
			await dump();
		},
		async () => {
			await goTo(page, 'Now');
			await key(page, next());
			await dump();
		},
	);
	await context.close();
}

for (const locale of ['en-US', 'de-DE']) for (const size of ['tablet', 'phone'] as const) await costs(size, locale);
await chromium.close();
await host.close();
