// Frames of the map in Chromium: how they grow with the field, and how the thinned picture follows the hand.
import { openBrowser, openPage, servePages } from '../viewer/page.ts';
import { handScene } from '../viewer/scene.ts';

interface Measured {
	records: number;
	first_ms: number;
	dragFrames_s: number;
	colour_ms: number;
}

async function measure(
	browser: Awaited<ReturnType<typeof openBrowser>>,
	passes: number,
	length: number,
): Promise<Measured> {
	const scene = handScene({ passes, length });
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
	await page.waitForTimeout(1500);
	const colour_ms = await page.evaluate(async () => {
		const select = document.querySelectorAll('.legend select')[1] as HTMLSelectElement;
		const from = performance.now();
		select.value = 'viridis';
		select.dispatchEvent(new Event('change', { bubbles: true }));
		await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
		// Reading a pixel waits until the card has drawn.
		const gl = (document.querySelector('.map-canvas canvas') as HTMLCanvasElement).getContext('webgl2')!;
		gl.readPixels(10, 10, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
		return performance.now() - from;
	});
	await context.close();
	await serving.close();
	return {
		records: scene.n,
		first_ms,
		dragFrames_s: (1000 * (frames.length - 1)) / (frames.at(-1)! - frames[0]!),
		colour_ms,
	};
}

const browser = await openBrowser();
const all: Measured[] = [];
for (const [passes, length] of [
	[100, 1000],
	[300, 1000],
	[500, 2000],
] as const)
	all.push(await measure(browser, passes, length));
await browser.close();
const [small] = all;
for (const m of all) {
	console.log(
		`map of ${m.records.toLocaleString('en-US')} swaths: first picture ${(m.first_ms / small!.first_ms).toFixed(2)} × that of 100,000 (${m.first_ms.toFixed(0)} ms), ` +
			`${m.dragFrames_s.toFixed(1)} frames/s under the hand, another colour in ${m.colour_ms.toFixed(0)} ms`,
	);
}
