import { existsSync } from 'node:fs';
import { unzipSync } from 'fflate';
import { ISOXMLManager } from 'isoxml';
import { beforeAll, describe, expect, it } from 'vitest';
import type { RawTable } from '../../lib/formats/index.ts';
import { readTaskData } from '../../lib/formats/taskdata/index.ts';
import { held, readTimeLog } from '../../lib/formats/taskdata/timelog.ts';
import { seeded } from '../../lib/stats/random.ts';
import { faultOf, fileBytes, hurt, loaded, readAll } from './sources.ts';

const OPEN = new URL('../../../shared/data/task-data.zip', import.meta.url);
const there = existsSync(OPEN);
if (!there) console.warn('SKIPPED: ../shared/data/task-data.zip is absent.');

const column = (t: RawTable, as: string) => t.columns.find((c) => c.as === as)!.numbers!;

describe.skipIf(!there)('the open task data', () => {
	const files: Record<string, Uint8Array> = {};
	let tables: RawTable[] = [];
	beforeAll(async () => {
		Object.assign(files, unzipSync(fileBytes(OPEN)));
		tables = (await readAll({ 'task-data.zip': fileBytes(OPEN) })).tables;
	});

	it('is read record for record as the npm package isoxml reads it', async () => {
		const other = new ISOXMLManager();
		await other.parseISOXMLFile(fileBytes(OPEN), 'application/zip');
		const tasks = other.rootElement.attributes.Task!;
		expect(tasks).toHaveLength(5);
		for (const task of tasks) {
			const log = task.attributes.TimeLog![0] as unknown as import('isoxml').ExtendedTimeLog;
			const name = log.attributes.Filename;
			const theirs = log.parseBinaryFile();
			const ours = readTimeLog(
				loaded('h', files[`TASKDATA/${name}.xml`]!),
				loaded('r', files[`TASKDATA/${name}.bin`]!),
			);
			expect(ours.n).toBe(theirs.timeLogs.length);
			expect(Array.from(ours.time_s)).toEqual(theirs.timeLogs.map((r) => r.time.getTime() / 1000));
			expect(Array.from(ours.lat_deg!)).toEqual(theirs.timeLogs.map((r) => r.position.PositionNorth));
			expect(Array.from(ours.lon_deg!)).toEqual(theirs.timeLogs.map((r) => r.position.PositionEast));
			for (const [k, info] of theirs.valuesInfo.entries()) {
				expect(ours.logged[k]!.entry).toBe(info.DDINumber);
				expect(Array.from(ours.logged[k]!.values)).toEqual(
					theirs.timeLogs.map((r) => r.values[info.valueKey] ?? Number.NaN),
				);
			}
			const filled = log.getFilledTimeLogs();
			for (const [k, info] of theirs.valuesInfo.entries()) {
				expect(Array.from(held(ours.logged[k]!.values))).toEqual(
					filled.map((r) => r.values[info.valueKey] ?? Number.NaN),
				);
			}
		}
	});

	// By the machine's own counters, as the data's README states them.
	it.each([
		[0, 259_618, 48_300],
		[1, 242_481, 40_500],
		[2, 91_885, 19_500],
		[3, 167_911, 30_100],
		[4, 99_312, 18_000],
	])('log %i sums to the machine’s mass', (i, mass_kg, area_m2) => {
		const t = tables[i]!;
		const [time, flow] = [column(t, 'time'), column(t, 'flow')];
		let kg = 0;
		for (let r = 1; r < t.n; r++) kg += flow[r]! * 1e-6 * (time[r]! - time[r - 1]!);
		expect(Math.abs(kg / mass_kg - 1)).toBeLessThan(0.003);
		expect(column(t, 'mass_total').at(-1)).toBe(mass_kg);
		expect(Math.abs(t.totals!.wet_kg! / mass_kg - 1)).toBeLessThan(0.001);
		expect(column(t, 'area_total').at(-1)).toBe(area_m2);
	});

	it('knows fields, boundaries, task, machine and whose they are', async () => {
		const { boundaries } = await readAll({ 'task-data.zip': fileBytes(OPEN) });
		expect(tables.map((t) => t.meta.fieldId)).toEqual(['PFD-2', 'PFD-3', 'PFD-4', 'PFD-5', 'PFD-6']);
		for (const t of tables) {
			expect(boundaries.filter((b) => b.fieldId === t.meta.fieldId)).toHaveLength(1);
			expect(t.meta).toMatchObject({ timeScale: 'local', farm: 'hWTWDXQdCTr', device: 'uqfOhjIQhhe7sA0' });
			expect(t.columns.find((c) => c.as === 'swath')).toMatchObject({
				unit: 'm',
				title: 'Aktuelle Arbeitsbreite (entry 67)',
			});
		}
	});
});

const MAIN = (inside: string, version = 4) =>
	`<?xml version="1.0" encoding="UTF-8"?><ISO11783_TaskData VersionMajor="${version}" VersionMinor="0">${inside}</ISO11783_TaskData>`;

/** A log of two machines: one combine that reports by two sections and by itself, and a cart. */
const DEVICES = `
<CTR A="CTR1" B="Vale" C="Ida"/><FRM A="FRM1" B="Low Farm" I="CTR1"/><CTP A="CTP1" B="winter wheat"/><WKR A="WKR1" B="Ash" C="Jo"/>
<PFD A="PFD1" C="Long &amp; Low" D="20000" E="CTR1" F="FRM1" G="CTP1"><PLN A="1"><LSG A="1">
<PNT A="2" C="50" D="9"/><PNT A="2" C="50.001" D="9"/><PNT A="2" C="50.001" D="9.002"/><PNT A="2" C="50" D="9.002"/></LSG>
<LSG A="2"><PNT A="2" C="50.0004" D="9.0004"/><PNT A="2" C="50.0006" D="9.0004"/><PNT A="2" C="50.0006" D="9.0008"/></LSG></PLN></PFD>
<DVC A="DVC1" B="Heron" D="A0" E="S-77"><DET A="DET1" B="1" C="1" D="Heron" E="0" F="0"/>
<DET A="DET2" B="2" C="4" D="left" E="1" F="1"><DOR A="9"/></DET><DET A="DET3" B="3" C="4" D="right" E="2" F="1"/>
<DPD A="1" B="0057" C="1" D="1" E="Flow"/><DPT A="9" B="0043" C="4500" D="half"/></DVC>
<DVC A="DVC2" B="Cart"><DET A="DET9" B="1" C="1" D="Cart" E="0" F="0"/></DVC>
<TSK A="TSK1" B="Harvest" C="CTR1" E="PFD1" F="WKR1" G="4"><TIM A="2024-07-30T10:00:00+02:00" D="4"/><TLG A="TLG00001" C="1"/></TSK>`;

const HEADER = (ptn = 'A="" B="" C="" D=""') =>
	`<TIM A="" D="4"><PTN ${ptn}/><DLV A="0057" B="" C="DET2"/><DLV A="0057" B="" C="DET3"/><DLV A="0063" B="" C="DET1"/><DLV A="00F0" B="" C="DET1"/><DLV A="004B" B="" C="DET9"/></TIM>`;

function record(
	time_s: number,
	lat: number,
	lon: number,
	values: [number, number][],
	gps?: [number, number],
): number[] {
	const b = new DataView(new ArrayBuffer(6 + 13 + (gps ? 6 : 0) + 1 + values.length * 5));
	b.setUint32(0, time_s * 1000, true);
	b.setUint16(4, 16_282, true);
	b.setInt32(6, lat * 1e7, true);
	b.setInt32(10, lon * 1e7, true);
	b.setInt32(14, 123_450, true);
	b.setUint8(18, 4);
	let at = 19;
	if (gps) {
		b.setUint32(at, gps[1] * 1000, true);
		b.setUint16(at + 4, gps[0], true);
		at += 6;
	}
	b.setUint8(at++, values.length);
	for (const [k, v] of values) {
		b.setUint8(at, k);
		b.setInt32(at + 1, v, true);
		at += 5;
	}
	return [...new Uint8Array(b.buffer)];
}

const LOG = Uint8Array.from([
	...record(36_000, 50.0001, 9.0001, [
		[0, 2e6],
		[1, 3e6],
		[2, 140_000],
		[3, 0],
		[4, 5e6],
	]),
	...record(36_001, 50.0002, 9.0001, [
		[0, 2.5e6],
		[3, 1 | 4],
	]),
	...record(36_002, 0, 0, [
		[1, 3.5e6],
		[2, -2_147_483_648],
	]),
]);

const folder = (main: string, header = HEADER(), log = LOG) => ({
	'T/TASKDATA.XML': main,
	'T/TLG00001.XML': header,
	'T/TLG00001.BIN': log,
});

describe('task data', () => {
	it('adds up sections, holds what is not logged anew, tells machines apart', async () => {
		const { tables, boundaries } = await readAll(folder(MAIN(DEVICES, 3)));
		expect(tables).toHaveLength(1);
		const [t] = tables as [RawTable];
		expect(Array.from(column(t, 'flow'))).toEqual([5e6, 5.5e6, 6e6]);
		expect(Array.from(column(t, 'moisture'))).toEqual([140_000, 140_000, 140_000]);
		expect(Array.from(column(t, 'auger'))).toEqual([0, 1, 1]);
		expect(column(t, 'lat')[2]).toBeNaN();
		expect(column(t, 'elevation')[0]).toBe(123.45);
		expect(t.notes.join(' ')).toContain('their sum is taken');
		expect(t.columns.some((c) => c.name.includes('mass content'))).toBe(false);
		expect(t.meta).toEqual({
			device: 'Heron',
			task: 'Harvest',
			field: 'Long & Low',
			fieldId: 'PFD1',
			client: 'Ida Vale',
			farm: 'Low Farm',
			crop: 'winter wheat',
			timeScale: 'utc',
		});
		// 30 July 2024, 10:00 on the controller's clock, two hours ahead of UTC as the task says.
		expect(t.columns[0]).toMatchObject({ as: 'time', since: '1970-01-01T00:00:00+02:00' });
		expect(new Date(column(t, 'time')[0]! * 1000).toISOString()).toBe('2024-07-30T10:00:00.000Z');
		expect(boundaries[0]!.geometry.coordinates.map((r) => r.length)).toEqual([4, 3]);
	});

	it('takes the receiver’s UTC where it is logged', async () => {
		const log = Uint8Array.from([1, 2].flatMap((s) => record(36_000 + s, 50, 9, [[0, 1e6]], [16_282, 28_800 + s])));
		const { tables } = await readAll(folder(MAIN(DEVICES), HEADER('A="" B="" C="" D="" H="" I=""'), log));
		expect(tables[0]!.columns[0]!.since).toBe('1970-01-01T00:00:00Z');
		expect(new Date(column(tables[0]!, 'time')[0]! * 1000).toISOString()).toBe('2024-07-30T08:00:01.000Z');
	});

	it('follows tasks that stand in a file of their own', async () => {
		const cut = DEVICES.indexOf('<TSK');
		const { tables } = await readAll({
			...folder(MAIN(`${DEVICES.slice(0, cut)}<XFR A="TSK00001" B="1"/>`)),
			'T/TSK00001.XML': `<XFC>${DEVICES.slice(cut)}</XFC>`,
		});
		expect(tables[0]!.n).toBe(3);
	});

	it('gives what a cut-off log or a broken list holds, and says so', async () => {
		const cut = await readAll(folder(MAIN(DEVICES), HEADER(), LOG.subarray(0, LOG.length - 3)));
		expect(cut.tables[0]!.n).toBe(2);
		expect(cut.tables[0]!.notes.join(' ')).toContain('cut off in its last record: 2 records');
		const main = MAIN(DEVICES);
		const broken = await readAll(folder(main.slice(0, main.indexOf('</TSK>'))));
		expect(broken.boundaries).toHaveLength(1);
		expect(broken.tables[0]!.notes.join(' ')).toContain('breaks off at line 10');
		const wrong = LOG.slice();
		wrong[20] = 77;
		expect((await readAll(folder(MAIN(DEVICES), HEADER(), wrong))).tables[0]).toMatchObject({ n: 0 });
	});

	it('refuses entities and a document type, and names missing parts', async () => {
		const entity = MAIN(DEVICES).replace('?>', '?><!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>');
		expect((await readAll(folder(entity))).files[0]!.why).toContain('document type');
		expect((await readAll(folder(MAIN(DEVICES.replace('Heron', '&b;'))))).files[0]!.why).toContain('entities');
		const { files } = await readAll({ 'T/TASKDATA.XML': MAIN(DEVICES) });
		expect(files[0]!.why).toContain('two files, .XML and .BIN');
		const lone = await readAll({ 'TLG00001.XML': HEADER(), 'TLG00001.BIN': LOG });
		expect(lone.files.map((f) => f.why)).toEqual([
			expect.stringContaining('TASKDATA.XML'),
			expect.stringContaining('TASKDATA.XML'),
		]);
	});

	it('stands any bytes', async () => {
		const random = seeded(2).uniform;
		const beside = new Map([
			['TLG00001.XML', loaded('T', HEADER())],
			['TLG00001.BIN', loaded('T', LOG)],
		]);
		const main = loaded('T', MAIN(DEVICES));
		await hurt(main.bytes, 'T', random, 200, (bytes) => readTaskData({ main: { name: 'T', bytes }, beside }));
		for (const part of beside.keys()) {
			await hurt(beside.get(part)!.bytes, 'T', random, 200, (bytes) =>
				readTaskData({ main, beside: new Map([...beside, [part, { name: 'T', bytes }]]) }),
			);
		}
		expect(await faultOf(() => readTimeLog(loaded('T', '<TIM/>'), loaded('T', '')))).toBe('');
	});
});
