/** The start of the sample field as other programs would export it: two combines in two dialects, tickets in a workbook. */
import { zipSync } from 'fflate';
import { sampleStart } from './sample.ts';

const text = new TextDecoder();
const files = sampleStart();

function rowsOf(name: string): Record<string, string>[] {
	const [head, ...rows] = text.decode(files.get(name)!).trim().split('\n');
	const names = head!.split(',');
	return rows.map((r) => Object.fromEntries(r.split(',').map((cell, i) => [names[i]!, cell])));
}

/** Calendar day and time of day in the American way. */
function american(iso: string): [string, string] {
	const [, y, m, d, h, min, s] = /^(\d+)-(\d+)-(\d+)T(\d+):(\d+):(\d+)/.exec(iso)!;
	const hour = Number(h);
	return [`${Number(m)}/${Number(d)}/${y}`, `${hour % 12 || 12}:${min}:${s} ${hour < 12 ? 'AM' : 'PM'}`];
}

/** Comma separated, feet and pounds, day and time in two columns, two lines before the header. */
export function heronCsv(): string {
	const rows = rowsOf('combine-Heron.csv').map((r) => {
		const [day, time] = american(r.time!);
		const of = (key: string, size: number, digits: number) =>
			r[key] === '' ? '' : (Number(r[key]) / size).toFixed(digits);
		return [
			day,
			time,
			r.lat,
			r.lon,
			of('flow_kg_s', 0.45359237, 3),
			r.interval_s,
			of('distance_m', 0.3048, 3),
			of('swath_m', 0.3048, 2),
			r.moisture_pct,
			r.header_down === '1' ? 'Down' : 'Up',
		].join(',');
	});
	return `Yield export\nField: Saltlick Bottom\nDate,Time,Latitude,Longitude,Grain Flow (lb/s),Duration (s),Distance (ft),Swath Width (ft),Moisture (%),Header\n${rows.join('\n')}\n`;
}

/** Semicolons and decimal commas, meters, one column of day and time. */
export function martenCsv(): string {
	const comma = (v: string | undefined) => (v ?? '').replace('.', ',');
	const rows = rowsOf('combine-Marten.csv').map((r) => {
		const [, y, m, d, time] = /^(\d+)-(\d+)-(\d+)T(.*)$/.exec(r.time!)!;
		return [
			`${d}.${m}.${y} ${time}`,
			comma(r.lat),
			comma(r.lon),
			comma(r.flow_kg_s),
			comma(r.distance_m),
			comma(r.swath_m),
			comma(r.moisture_pct),
		].join(';');
	});
	return `Zeit;Breite;Länge;Durchsatz [kg/s];Strecke [m];Arbeitsbreite [m];Feuchte [%]\n${rows.join('\n')}\n`;
}

/** Tickets and cart weights as two sheets of a workbook, pounds. */
export function sheets(): Uint8Array {
	const encode = (s: string) => new TextEncoder().encode(`<?xml version="1.0" encoding="UTF-8"?>${s}`);
	const day = (iso: string) => Date.parse(`${iso.slice(0, 19)}Z`) / 86_400_000 + 25_569;
	const cell = (v: string | number, style = 0) =>
		typeof v === 'number'
			? `<c s="${style}"><v>${v}</v></c>`
			: v === ''
				? '<c/>'
				: `<c t="inlineStr"><is><t>${v}</t></is></c>`;
	const sheet = (head: string[], rows: string[]) =>
		encode(
			`<worksheet><sheetData><row>${head.map((h) => cell(h)).join('')}</row>${rows.map((r) => `<row>${r}</row>`).join('')}</sheetData></worksheet>`,
		);
	const lb = (kg: string) => Math.round(Number(kg) / 0.45359237 / 20) * 20;
	const tickets = rowsOf('tickets.csv').map((r) =>
		[
			cell(r.ticket!),
			cell(day(r.time!), 1),
			cell(r.truck_load!),
			cell(lb(r.net_kg!)),
			cell(Number(r.moisture_pct)),
		].join(''),
	);
	const cart = rowsOf('cart.csv').map((r) =>
		[
			cell(r.id!),
			cell(day(r.time!), 1),
			cell(r.event!),
			cell(r.combine!),
			cell(lb(r.weight_kg!)),
			cell(r.truck_load!),
		].join(''),
	);
	return zipSync({
		'xl/workbook.xml': encode(
			'<workbook xmlns:r="r"><sheets><sheet name="Tickets" r:id="a"/><sheet name="Cart" r:id="b"/></sheets></workbook>',
		),
		'xl/_rels/workbook.xml.rels': encode(
			'<Relationships><Relationship Id="a" Target="worksheets/sheet1.xml"/><Relationship Id="b" Target="worksheets/sheet2.xml"/></Relationships>',
		),
		'xl/styles.xml': encode('<styleSheet><cellXfs><xf numFmtId="0"/><xf numFmtId="22"/></cellXfs></styleSheet>'),
		'xl/worksheets/sheet1.xml': sheet(['Ticket', 'Date', 'Truck load', 'Net (lb)', 'Moisture'], tickets),
		'xl/worksheets/sheet2.xml': sheet(['Id', 'Time', 'Event', 'Combine', 'Weight (lb)', 'Truck load'], cart),
	});
}
