import { describe, expect, it } from 'vitest';
import { type Column, flow, interval, lat, length, lon, moisture, time, write } from './dialect.ts';
import { cut, massOf, type Row } from './field.ts';
import { csvOf, intakeOf } from './read.ts';

/** Slips of people in a hurry, each a case of a class: told, asked or put right, never read in silence. */

const POUND_KG = 0.45359237;
const columns = (...places: Column[]): Column[] => [
	...time.iso(),
	...(places.length > 0 ? places : [lat(), lon()]),
	flow.lb('Flow (lb/s)'),
	interval('Duration (s)'),
	length.ft('Distance (ft)', 'distance'),
	length.ft('Swath (ft)', 'swath'),
	moisture('Moisture (%)'),
];
const rows = cut({ seed: 7 });
const log = write(rows, columns());
const text = (s: string) => new TextEncoder().encode(s);
const corn = { crop: 'corn' };

describe('the same records under another name', () => {
	it('shuffled, rounded and saved again they are one log', () => {
		const again = [...rows].reverse();
		const rounded = write(again, columns({ ...lat('Lat'), digits: 5 }, { ...lon('Lon'), digits: 5 }));
		const done = intakeOf({ 'north.csv': log, 'north (1).csv': rounded }, corn);
		expect(done.report.sources.find((s) => s.file === 'north (1).csv')).toMatchObject({
			use: 'none',
			why: 'its records are those of north.csv: they count once',
		});
		expect(done.report.fields[0]?.combines).toHaveLength(1);
		expect(done.report.fields[0]?.combines[0]?.monitor_kg).toBeCloseTo(massOf(rows), -1);
	});

	it('two combines side by side are two', () => {
		const other = cut({ seed: 8, east: 60, combine: 'B' });
		const done = intakeOf({ 'a.csv': log, 'b.csv': write(other, columns()) }, corn);
		expect(done.report.fields[0]?.combines).toHaveLength(2);
	});
});

describe('weights', () => {
	const tickets = (head: string, ...cells: string[][]) =>
		intakeOf(
			{
				'log.csv': log,
				'tickets.csv': text(
					[`Ticket,Date,${head}`, ...cells.map((c, i) => [i + 1, `2026-10-08 1${3 + i}:05`, ...c]), ''].join('\n'),
				),
			},
			corn,
		);
	const net = async (done: ReturnType<typeof intakeOf>) =>
		(await csvOf(done, 0, 'tickets.csv')).map((r) => Number(r.net_kg));

	it('"tons" are short tons beside a log in US units, and it is worth a look', async () => {
		for (const head of ['Net (tons)', 'Net tons', 'Net']) {
			const done = tickets(head, ['25.5'], ['24.75']);
			expect(await net(done)).toEqual([
				expect.closeTo(25.5 * 2000 * POUND_KG, 2),
				expect.closeTo(24.75 * 2000 * POUND_KG, 2),
			]);
			const asked = done.report.fields[0]?.questions.find((q) => q.about === `unit of ${head}`);
			expect(asked).toMatchObject({ choices: ['ton', 't'], blocking: false, taken: 'ton' });
		}
		expect(await net(tickets('Net (tonnes)', ['25.5']))).toEqual([25_500]);
		expect(await net(tickets('Net (cwt)', ['510']))).toEqual([expect.closeTo(51_000 * POUND_KG, 2)]);
	});

	it('gross and tare exchanged, pounds beside bushels, a net that is not their difference', async () => {
		const swapped = tickets('Gross (lb),Tare (lb)', ['27000', '52000'], ['27100', '53000']);
		expect(await net(swapped)).toEqual([expect.closeTo(25_000 * POUND_KG, 2), expect.closeTo(25_900 * POUND_KG, 2)]);
		const notes = (done: ReturnType<typeof intakeOf>) =>
			done.report.sources.find((s) => s.use === 'tickets')?.notes.join(' ');
		expect(notes(swapped)).toMatch(/each other’s column/);
		// 25,000 lb are 446.43 bushels of 56 lb; the second row has no net.
		const mixed = tickets('Gross (lb),Tare (lb),Net (bu)', ['52000', '27000', '446.43'], ['53000', '27100', '']);
		expect(await net(mixed)).toEqual([expect.closeTo(11_340, -1), expect.closeTo(25_900 * POUND_KG, 2)]);
		expect(notes(mixed)).not.toMatch(/not gross less tare/);
		const slip = tickets('Gross (lb),Tare (lb),Net (lb)', ['52000', '27000', '25000'], ['53000', '27100', '29900']);
		expect(notes(slip)).toMatch(/row 3: 29900 lb .* against 25900 lb/);
	});
});

describe('the side of the globe', () => {
	const placeOf = (done: ReturnType<typeof intakeOf>) =>
		[...(done.fields[0]?.tracks[0]?.lonlat.slice(0, 2) ?? [])].map((x) => x.toFixed(5));
	const there = placeOf(intakeOf({ 'log.csv': log }, corn));
	const east = (name = 'Longitude'): Column => ({ name, cell: (r: Row) => -r.lon, digits: 7 });

	it('by a column’s name, or by letters beside the degrees', () => {
		for (const places of [
			[lat(), east('Longitude W')],
			[lat(), { name: 'NS', cell: () => 'N' }, east(), { name: 'EW', cell: () => 'W' }],
		]) {
			expect(placeOf(intakeOf({ 'log.csv': write(rows, columns(...places)) }, corn))).toEqual(there);
		}
	});

	it('a minus sign lost beside US units is asked about, and the answer puts it right', () => {
		const files = { 'log.csv': write(rows, columns(lat(), east())) };
		const asked = intakeOf(files, corn).report.fields[0]?.questions.find((q) => q.about === 'position');
		expect(asked).toMatchObject({ blocking: true, choices: ['west', 'east, as recorded'] });
		const west = intakeOf(files, { ...corn, answers: { 'log.csv': { position: 'west' } } });
		expect(placeOf(west)).toEqual(there);
		expect(west.report.fields[0]?.questions.filter((q) => q.about === 'position')).toEqual([]);
	});
});
