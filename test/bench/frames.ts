/** The map in Chromium, drawn by software: first picture from a cold start, frames under the hand. */
import { launch } from '../browser.ts';
import { openPage, servePages } from '../viewer/page.ts';
import { sampleRun } from '../viewer/sample.ts';
import { handScene } from '../viewer/scene.ts';
import type { Row } from './row.ts';

type Browser = Awaited<ReturnType<typeof launch>>;

async function measure(browser: Browser, scene: ReturnType<typeof handScene>) {
	const serving = await servePages(scene);
	const { page, context } = await openPage(browser);
	await page.goto(serving.url);
	await page.waitForSelector('html[data-pictured]', { timeout: 120_000 });
	const first_ms = await page.evaluate(() => performance.getEntriesByName('first-picture')[0]?.startTime ?? Number.NaN);
	await page.waitForTimeout(1500);
	const box = (await page.locator('.map-canvas').boundingBox())!;
	const [x, y] = [box.x + box.width * 0.6, box.y + box.height * 0.5];
	// As text: a bundled function may name helpers that the page does not have.
	await page.evaluate(
		'window.frames_=[];window.tick_=n=>{window.frames_.push(n);window.next_=requestAnimationFrame(window.tick_)};requestAnimationFrame(window.tick_);0',
	);
	await page.mouse.move(x, y);
	await page.mouse.down();
	for (let i = 0; i < 60; i++) await page.mouse.move(x + 2 * i, y + i);
	await page.mouse.up();
	const frames = (await page.evaluate('cancelAnimationFrame(window.next_);window.frames_')) as number[];
	await context.close();
	await serving.close();
	return { first_ms, frames_s: (1000 * (frames.length - 1)) / (frames.at(-1)! - frames[0]!) };
}

export async function frames(): Promise<Row[]> {
	const browser = await launch(['--use-gl=angle', '--use-angle=swiftshader']);
	try {
		const sample = await measure(browser, (await sampleRun()).scene);
		const large = await measure(browser, handScene({ passes: 300, length: 1000 }));
		const first = { unit: 's', note: 'served scene to first picture, software GL' };
		return [
			{ what: 'first picture, sample field', value: sample.first_ms / 1000, bound: 2, ...first },
			{ what: 'first picture, 300,000 records', value: large.first_ms / 1000, bound: 3, ...first },
			{
				what: 'panning, 300,000 records',
				value: large.frames_s,
				unit: 'frames/s',
				bound: 10,
				least: true,
				note: 'under the hand, software GL',
			},
		];
	} finally {
		await browser.close();
	}
}
