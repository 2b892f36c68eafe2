import { describe, expect, test } from 'vitest';
import { type Field, faultText } from '../../lib/model/index.ts';
import { littleField } from '../commands/little.ts';
import { fieldFolder, folder, faultsOf as foundIn, HEADER, logText, read } from './folder.ts';

const faultsOf = async (...given: Parameters<typeof foundIn>) => (await foundIn(...given)).map(faultText);
const cautions = (field: Field) => field.notes.filter((n) => n.level === 'caution').map((n) => n.text);
const both = { logs: ['a', 'b'].map((name) => ({ file: `${name}.csv`, combine: name.toUpperCase() })) };

/** The little field's log, eight passes 6 m apart, each row changed. */
function log(change: (row: string[], k: number) => void, more = ''): string {
	const [head, ...rows] = (littleField()['A.csv'] as string).trim().split('\n') as [string, ...string[]];
	const changed = rows.map((text, k) => {
		const row = text.split(',');
		change(row, k);
		return row.join(',');
	});
	return [head + more, ...changed, ''].join('\n');
}
const readLog = (text: string, plan: object = {}) => read(plan as Record<string, unknown>, { 'a.csv': text });

describe('what cannot be is a fault', () => {
	test.each<[string, Record<string, unknown>, RegExp]>([
		['a file listed twice', { logs: [both.logs[0], { file: './a.csv', combine: 'B' }] }, /logs\.1\.file.*listed twice/],
		['a log as cart log', { cartLog: { file: 'a.csv' } }, /cartLog\.file.*listed twice/],
		['an unknown flag', { flags: { stnding: 0.3 } }, /flags\.stnding.*not known.*standing, turning/],
		['a negative threshold', { flags: { standing: -1 } }, /flags\.standing.*share of the usual speed from 0 to 1.*-1/],
		['an absurd threshold', { flags: { narrow: 1e300 } }, /flags\.narrow.*1e\+300/],
		['an unknown pin', { pins: { clock: 3 } }, /pins\.clock.*not known.*clock_offset_s/],
		['an unknown word of a dump', { pins: { dumps: { D1: { kombine: 'A' } } } }, /pins\.dumps\.D1\.kombine/],
		['an absurd factor', { pins: { factors: { A: { value: 1e300 } } } }, /pins\.factors\.A\.value.*0\.01 to 100/],
		['a factor below nothing', { pins: { factors: { A: { value: -1 } } } }, /pins\.factors\.A\.value/],
		['an absurd offset', { pins: { clock_offset_s: 1e300 } }, /pins\.clock_offset_s/],
		['a level by nothing', { pins: { level: 'dumps' } }, /pins\.level.*expected "seams"/],
		['an absurd lag', { pins: { lags: { A: -4000 } } }, /pins\.lags\.A/],
		['an absurd total', { total: { wet_kg: 1e308 } }, /total\.wet_kg/],
		['a tank in metric tons', { combines: { A: { tank_kg: 9.5 } } }, /combines\.A\.tank_kg.*kilograms from 100 to/],
		['a cart of next to nothing', { scales: { cart: { size_kg: 1e-308 } } }, /scales\.cart\.size_kg/],
		['a width in inches', { combines: { A: { swath_m: 360 } } }, /combines\.A\.swath_m/],
	])('%s', async (_, plan, says) => expect((await faultsOf(fieldFolder(plan))).join('\n')).toMatch(says));

	test.each<[string, number[][], RegExp]>([
		[
			'without area',
			[
				[-93, 42],
				[-92.9, 42.1],
				[-92.8, 42.2],
				[-93, 42],
			],
			/without area/,
		],
		[
			'of a square centimetre',
			[
				[-93, 42],
				[-92.9999999, 42],
				[-93, 42.0000001],
				[-93, 42],
			],
			/without area/,
		],
		[
			'over a pole',
			[
				[0, 85],
				[120, 85],
				[-120, 85],
				[0, 85],
			],
			/pole/,
		],
		[
			'around the globe',
			[
				[-179, 50],
				[0, 60],
				[179, 50],
				[-179, 50],
			],
			/around the globe/,
		],
		[
			'larger than a county',
			[
				[-94, 41],
				[-92, 41],
				[-92, 43],
				[-94, 43],
				[-94, 41],
			],
			/larger than a county/,
		],
	])('a boundary %s', async (_, ring, says) => {
		const boundary = JSON.stringify({ type: 'Polygon', coordinates: [ring] });
		const given = fieldFolder({ boundary: 'b.geojson' }, { 'b.geojson': boundary });
		expect((await faultsOf(given)).join('\n')).toMatch(says);
	});

	test('JSON nested beyond all use, in any file', async () => {
		for (const n of [100, 10_000, 3_000_000]) {
			const deep = '['.repeat(n) + ']'.repeat(n);
			expect((await faultsOf(folder({ 'field.json': `{"crop":\n${deep}}` }))).join()).toMatch(
				/field\.json, row 2.*deep/,
			);
			const given = fieldFolder({ boundary: 'b.geojson' }, { 'b.geojson': deep });
			expect((await faultsOf(given)).join()).toMatch(/b\.geojson.*deep/);
		}
	});

	test('more grain than any machine takes, or any field bears', async () => {
		const flow = log((row) => {
			row[3] = String(Number(row[3]) * 60);
		});
		expect((await faultsOf(fieldFolder({}, { 'a.csv': flow }))).join()).toMatch(
			/a\.csv, column flow_kg_s.*any machine/,
		);
		const narrow = log((row) => {
			row[6] = '0.06';
			row[5] = '0.2';
		});
		expect((await faultsOf(fieldFolder({}, { 'a.csv': narrow }))).join()).toMatch(/column flow_kg_s.*ever yielded/);
	});

	test('a total that no monitor could be so far from', async () => {
		for (const wet_kg of [0.001, 3, 1e8]) {
			const said = (await faultsOf(fieldFolder({ total: { wet_kg } }))).join();
			expect(said).toMatch(/total\.wet_kg: the logs hold 2\d\d kg: check the unit/);
		}
	});

	test('a stray quote that swallows rows, with the line on which it opens', async () => {
		const rows = logText(40).split('\n');
		const quoted = (...lines: number[]) =>
			rows.map((row, k) => (lines.includes(k + 1) ? row.replace(/,([^,]*),([^,]*)$/, ',"$1,$2') : row)).join('\n');
		for (const [text, line] of [
			[quoted(11), 11],
			[quoted(11, 31), 11],
			[quoted(11, 12), 11],
			[quoted(11).replace(/$/, '"'), 11],
		] as const) {
			const said = (await faultsOf(fieldFolder({}, { 'a.csv': text }))).join('\n');
			expect(said).toMatch(new RegExp(`a\\.csv, row ${line}: a quote`));
		}
	});
});

describe('rows that cannot be are set aside', () => {
	test('moisture outside 0 to 100, numbers beyond all sense', async () => {
		const spoiled: Record<number, [number, string]> = { 3: [7, '181'], 4: [7, '-5'], 5: [3, '1e308'], 6: [5, '1e308'] };
		const text = logText(40, (row, k) => {
			const [column, value] = spoiled[k] ?? [0, row[0] as string];
			row[column] = value;
		});
		const { records, setAside } = await readLog(text);
		expect(records.n).toBe(36);
		expect(setAside.map((s) => [s.row, s.column, s.found])).toEqual([
			[5, 'moisture_pct', '181'],
			[6, 'moisture_pct', '-5'],
			[7, 'flow_kg_s', '1e308'],
			[8, 'distance_m', '1e308'],
		]);
	});

	test('places that are of no field here', async () => {
		const far = (every: number) =>
			logText(40, (row, k) => {
				if (k % every === 0) row[1] = '43.1';
			});
		const { records, setAside } = await readLog(far(10));
		expect(records.n).toBe(36);
		expect(setAside[0]).toMatchObject({ row: 2, column: 'lat', why: expect.stringMatching(/more than 50 km/) });
		expect((await faultsOf(fieldFolder({}, { 'a.csv': far(3) }))).join()).toMatch(/a fifth of the rows/);
	});

	test('a note of two lines stays one cell', async () => {
		const cart = 'id,time,event,combine,weight_kg,note\nD1,,dump,A,100,"wet, then\nrain"\nD2,,dump,A,90,\n';
		const { book } = await read({ cartLog: { file: 'c.csv' } }, { 'c.csv': cart });
		expect(book.dumps.map((d) => d.note)).toEqual(['wet, then\nrain', null]);
	});
});

test('a ticket whose net is not its gross less its tare is used, and said', async () => {
	const tickets = 'ticket,time,net_lb,gross_lb,tare_lb\nK1,,25000,52000,27000\nK2,,29900,53000,27100\nK3,,25000,,\n';
	const field = await read({ tickets: { file: 't.csv' } }, { 't.csv': tickets });
	expect(field.book.tickets).toHaveLength(3);
	expect(cautions(field).join()).toMatch(/t\.csv: net is not gross less tare in row 3\./);
});

test('an hour that clocks show twice is told apart by the order of rows, and said', async () => {
	const text = logText(40, (row, k) => {
		const utc_s = Date.UTC(2026, 10, 1, 5, 20) / 1000 + k * 180;
		row[0] = new Date((utc_s - (utc_s < Date.UTC(2026, 10, 1, 7) / 1000 ? 5 : 6) * 3600) * 1000)
			.toISOString()
			.slice(0, 19);
	});
	const field = await readLog(text, { timeZone: 'America/Chicago' });
	const steps = [...field.records.time_s].slice(1).map((t, k) => t - (field.records.time_s[k] as number));
	expect(new Set(steps)).toEqual(new Set([180]));
	expect(cautions(field).join('\n')).toMatch(/hour that clocks in America\/Chicago show twice on 2026-11-01/);
});

describe('records that stand twice count once', () => {
	test('a copy of a log under another combine, whole or in part', async () => {
		for (const n of [20, 5]) {
			const { records, setAside, notes } = await read(both, {
				'b.csv': logText(20, (row, k) => {
					if (k >= n) row[2] = '-93.4';
				}),
			});
			expect(records.n).toBe(40 - n);
			expect(setAside.length).toBe(n);
			expect(setAside[0]).toMatchObject({ file: 'b.csv', row: 2, why: expect.stringMatching(/in a\.csv, row 2;/) });
			expect(notes.map((m) => m.text).join()).toMatch(new RegExp(`b\\.csv: ${n} records are equal.*A and B.*count`));
		}
		const stop = fieldFolder(both, { 'b.csv': logText() });
		expect((await faultsOf(stop, true)).length).toBeGreaterThan(19);
	});

	const one = log(() => {});
	const shifted = log((row) => {
		row[0] = new Date(Date.parse(row[0] as string) + 1000).toISOString();
		row[1] = (Number(row[1]) + 1e-6).toFixed(7);
	});
	const [head, ...rows] = one.trim().split('\n') as [string, ...string[]];
	const other = shifted.trim().split('\n').slice(1);
	test.each<[string, string[], number]>([
		['a stretch pasted again', [...rows, ...rows.slice(300, 500)], 200],
		['one row again', [...rows.slice(0, 400), rows[399] as string, ...rows.slice(400)], 1],
		['each row twice', rows.flatMap((row) => [row, row]), rows.length],
		['an overlapping export, a second and a decimetre off', [...rows, ...other.slice(300, 500)], 200],
	])('%s', async (_, all, n) => {
		const field = await readLog([head, ...all, ''].join('\n'));
		// Where a stretch ends one record more or less is its neighbor's.
		expect(Math.abs(field.setAside.length - n)).toBeLessThanOrEqual(n > 1 ? 3 : 0);
		expect(cautions(field).join()).toMatch(/a\.csv: \d+ rows repeat/);
	});

	test('rows out of order, a clock that stands still for a moment, a slow or fast log: all are records', async () => {
		const stuck = log((row, k) => {
			if (k % 50 < 4) row[0] = new Date(Date.parse(row[0] as string) - (k % 50) * 1000).toISOString();
		});
		const shuffled = rows.map((row, k) => [Math.sin(k * 7919), row] as const).sort((a, b) => a[0] - b[0]);
		const half = log((row) => {
			const t = Date.parse(row[0] as string);
			row[0] = new Date(
				Math.floor((t - Date.UTC(2026, 9, 3, 15)) / 2000) * 1000 + Date.UTC(2026, 9, 3, 15),
			).toISOString();
			row[4] = '0.5';
			row[3] = '9';
		});
		const standing = log((row, k) => {
			if (k > 300 && k < 360) Object.assign(row, { 1: '42.0001', 2: '-93', 3: '0', 5: '0' });
		});
		for (const text of [stuck, [head, ...shuffled.map((s) => s[1]), ''].join('\n'), half, standing]) {
			const { records, setAside } = await readLog(text);
			expect(setAside).toEqual([]);
			expect(records.n).toBe(rows.length);
		}
	});
});

describe('units by geometry', () => {
	const times = (column: number, factor: number) => (row: string[]) => {
		row[column] = String(Number(row[column]) * factor);
	};
	test.each<[string, (row: string[], k: number) => void, RegExp]>([
		['distance in feet', times(5, 3.28084), /column distance_m is 3\.28 times.*unit.*feet read as meters/],
		['distance in inches', times(5, 39.3701), /column distance_m is 39\.\d times.*unit.*inches read as meters/],
		['width in feet', times(6, 3.28084), /column swath_m is 3\.28 times.*unit.*feet read as meters/],
		['width in inches', times(6, 39.3701), /column swath_m is 39\.\d times.*unit.*inches/],
		['an interval of 5 s', times(4, 5), /column interval_s is 5 times.*unit/],
		['moisture as a share', times(7, 0.01), /column moisture_pct.*0\.18.*unit.*fraction/],
		['moisture in tenths, of a dry crop', times(7, 4.5), /column moisture_pct.*81\.9.*unit.*tenths/],
	])('%s', async (_, change, says) => {
		const said = cautions(await readLog(log(change))).filter((text) => text.includes('unit'));
		expect(said.join('\n')).toMatch(says);
		expect(said.length).toBe(1);
	});

	test('a width that no pass leaves room for is read in its unit; one that passes are apart stays', async () => {
		const width = async (factor: number) => (await readLog(log(times(6, factor)))).records.swath_m[0]!;
		expect(await width(3.28084)).toBeCloseTo(6, 4);
		expect(await width(39.3701)).toBeCloseTo(6, 4);
		expect(await width(0.3048)).toBeCloseTo(6 * 0.3048, 6);
	});

	test('speed in km/h', async () => {
		const text = log((row) => row.push(String(Number(row[5]) * 3.6)), ',speed_m_s');
		expect(cautions(await readLog(text)).join()).toMatch(/column speed_m_s is 3\.6 times.*unit.*km\/h read as m\/s/);
	});

	test('flow against a yield of the same rows', async () => {
		const text = (pounds: number) =>
			log((row) => row.push(String(((Number(row[3]) / pounds) * 1e4) / (Number(row[5]) * 6))), ',dry');
		const columns = {
			flow: { column: 'flow_kg_s', unit: 'kg/s' },
			yield: { column: 'dry', unit: 'kg/ha', basis: 'wet' },
		};
		const said = async (pounds: number) =>
			cautions(await readLog(text(pounds), { logs: [{ file: 'a.csv', combine: 'A', columns }] })).join();
		expect(await said(2.2046)).toMatch(/column flow_kg_s says 2\.2 times.*column dry.*unit.*pounds read as kilograms/);
		expect(await said(1)).toBe('');
	});

	test('nothing of a log that fits', async () => {
		expect(cautions(await readLog(log(() => {})))).toEqual([]);
		expect(HEADER).toContain('distance_m');
	});

	test('rows lost while grain came through', async () => {
		const kept = log(() => {})
			.split('\n')
			.filter((_, k) => !(k > 50 && k <= 80) && !(k > 400 && k <= 420));
		expect(cautions(await readLog(kept.join('\n'))).join()).toMatch(
			// Twenty seconds straight on are filled in; half a minute is more than is known.
			/a\.csv: 1 gap of 30 s.*about 6\d0 lb \(\d\d\d kg\).*a\.csv: rows for 20 s are missing within passes/,
		);
	});
});

describe('columns and lists that hold nothing of what they should', () => {
	const cartAt = (day: string) =>
		`id,time,event,combine,weight_kg\nD1,2026-10-${day}T14:05:00Z,dump,A,3000\nD2,2026-10-${day}T14:15:00Z,dump,A,3100\n`;
	const withCart = { cartLog: { file: 'cart.csv' } };
	const said = async (plan: object, files: Record<string, string>) =>
		cautions(await read(plan as Record<string, unknown>, files)).join('\n');

	test('a cart log of another day, unless its offset is set by hand', async () => {
		expect(await said(withCart, { 'cart.csv': cartAt('04') })).toMatch(/cart\.csv: its dumps are about 1 day after/);
		expect(await said(withCart, { 'cart.csv': cartAt('01') })).toMatch(/about 2 days before the logs.*date/);
		expect(await said(withCart, { 'cart.csv': cartAt('03') })).not.toMatch(/days? (after|before)/);
		const pinned = { ...withCart, pins: { clock_offset_s: -86_400 } };
		expect(await said(pinned, { 'cart.csv': cartAt('04') })).not.toMatch(/about 1 day/);
	});

	test('dumps of more than the cart holds', async () => {
		const plan = { ...withCart, scales: { cart: { size_kg: 3050 } } };
		expect(await said(plan, { 'cart.csv': cartAt('03') })).toMatch(/dump D2 weighed more than the cart holds.*size_kg/);
	});

	test('intervals that the times contradict, beside which a machine that stands repeats nothing', async () => {
		const [, lat, lon] = (log(() => {}).split('\n')[300] as string).split(',') as [string, string, string];
		const field = await readLog(
			log((row, k) => {
				if (k >= 299 && k < 359) row.splice(1, 3, lat, lon, '9.00');
				row[4] = '2';
			}),
		);
		expect(cautions(field).join()).toMatch(/column interval_s is 2 times the time between rows/);
		expect(field.setAside).toEqual([]);
	});

	test('a flow that stays the same for minutes', async () => {
		const stuck = (rows: number) => log((row, k) => void (k >= 200 && k < 200 + rows && (row[3] = '9.30')));
		expect(cautions(await readLog(stuck(400))).join()).toMatch(
			/a\.csv: column flow_kg_s stays the same from 2026-10-03T15:03:20Z for 7 min/,
		);
		expect(cautions(await readLog(stuck(100))).join()).not.toMatch(/stays the same/);
	});

	test('an auger that hardly stops', async () => {
		const auger = (on: (k: number) => boolean) => ({
			'a.csv': logText(20, (row, k) => void row.push(on(k) ? '1' : '0'), `${HEADER},auger_on`),
		});
		const inverted = await read(
			{},
			auger((k) => k > 4),
		);
		expect(cautions(inverted).join()).toMatch(/column auger_on says that the unloading auger ran for 75% of the rows/);
		expect(inverted.records.augerOn.every((on) => on === -1)).toBe(true);
		expect(
			cautions(
				await read(
					{},
					auger((k) => k < 4),
				),
			).join(),
		).not.toMatch(/auger_on/);
	});

	test('no grain, no width, a header exchanged', async () => {
		const change = (k: number, value: string) => ({ 'a.csv': logText(20, (row) => void (row[k] = value)) });
		expect(await said({}, change(3, '0'))).toMatch(/column flow_kg_s is never above 0/);
		expect(await said({}, change(6, '0'))).toMatch(/column swath_m is never above 0/);
		const header = (up: string) => ({
			'a.csv': logText(20, (row) => void row.push(up), `${HEADER},header_down`),
		});
		expect(await said({}, header('0'))).toMatch(/100% of the grain came while column header_down/);
		expect(await said({}, header('1'))).not.toMatch(/header_down/);
	});
});
