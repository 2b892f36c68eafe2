import { describe, expect, it } from 'vitest';
import { readSources } from '../../lib/formats/index.ts';
import { understand } from '../../lib/intake/index.ts';
import { source } from '../read/folder.ts';
import { usualColumns, write } from './dialect.ts';
import { cut } from './field.ts';

const columns = usualColumns();
// Two fields 2 km apart, cut at the same time.
const north = cut({ seed: 1 });
const south = cut({ seed: 2, lat: 44.08, combine: 'B' });
const iso = (t: number) => new Date(t * 1000).toISOString();
const moments = [30, 140, 250, 350].map((k) => north[k]?.time as number);
/** The cart is on the north field, then on the south one, and so on; its receiver's clock is twenty seconds off its list's. */
const points = moments.flatMap((t, k) =>
	[-40, 0, 40].map((s) => {
		const { lat: y, lon: x } = (k % 2 === 0 ? north : south)[30] as { lat: number; lon: number };
		return `<trkpt lat="${y}" lon="${x}"><time>${iso(t + s - 20)}</time></trkpt>`;
	}),
);
const gpx = `<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>Cart</name><trkseg>${points.join('')}</trkseg></trk></gpx>`;
const list = `time,weight (kg)\n${moments.map((t, k) => `${iso(t)},${3000 + k}`).join('\n')}\n`;
const logs = { 'north.csv': write(north, columns), 'south.csv': write(south, columns) };
const intake = async (files: Record<string, string | Uint8Array>) =>
	understand(await readSources(Object.entries(files).map(([name, content]) => source(name, content))), {
		crop: 'corn',
	});
const dumps = (done: Awaited<ReturnType<typeof intake>>) => done.report.fields.map((f) => f.dumps);

describe('the cart’s way', () => {
	it('tells in which of two fields a load was taken', async () => {
		const done = await intake({ ...logs, 'list.csv': list, 'cart.gpx': gpx });
		expect(dumps(done)).toEqual([2, 2]);
		expect(done.report.sources.find((s) => s.file === 'cart.gpx')).toMatchObject({ use: 'trace' });
		// Without it all are the field's that was begun first.
		expect(dumps(await intake({ ...logs, 'list.csv': list }))).toEqual([4, 0]);
	});

	it('tells nothing where there is one field, and says why', async () => {
		const done = await intake({ 'north.csv': logs['north.csv'], 'list.csv': list, 'cart.gpx': gpx });
		expect(done.report.sources.find((s) => s.file === 'cart.gpx')).toMatchObject({
			use: 'none',
			why: expect.stringMatching(/one field.*which combine.*names the combine/),
		});
	});
});
