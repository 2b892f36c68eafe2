import { zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { readSpreadsheet } from '../../lib/formats/sheet/index.ts';
import { unzip } from '../../lib/formats/zip/unpack.ts';
import { seeded } from '../../lib/stats/random.ts';
import { hurt, readAll } from './sources.ts';

const text = (s: string) => new TextEncoder().encode(`<?xml version="1.0" encoding="UTF-8"?>${s}`);

/** A workbook as a spreadsheet program writes it; cells as XML. */
function workbook(sheets: Record<string, string>, from1904 = false): Uint8Array {
	const names = Object.keys(sheets);
	return zipSync({
		'[Content_Types].xml': text('<Types/>'),
		'xl/workbook.xml': text(
			`<workbook xmlns:r="r"><workbookPr${from1904 ? ' date1904="1"' : ''}/><sheets>${names.map((n, i) => `<sheet name="${n}" sheetId="${i + 1}" r:id="rId${i + 1}"/>`).join('')}</sheets></workbook>`,
		),
		'xl/_rels/workbook.xml.rels': text(
			`<Relationships>${names.map((_, i) => `<Relationship Id="rId${i + 1}" Target="worksheets/sheet${i + 1}.xml"/>`).join('')}</Relationships>`,
		),
		'xl/sharedStrings.xml': text(
			'<sst><si><t>ticket</t></si><si><r><t>net </t></r><r><t>weight</t></r></si><si><t>time</t></si><si><t xml:space="preserve"> a "b"&#10;c </t></si></sst>',
		),
		'xl/styles.xml': text(
			'<styleSheet><numFmts><numFmt numFmtId="164" formatCode="[$-409]m/d/yyyy\\ h:mm\\ AM/PM;@"/><numFmt numFmtId="165" formatCode="0.00&quot; days&quot;"/></numFmts><cellStyleXfs><xf numFmtId="0"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="20"/></cellXfs></styleSheet>',
		),
		...Object.fromEntries(
			names.map((n, i) => [
				`xl/worksheets/sheet${i + 1}.xml`,
				text(`<worksheet><sheetData>${sheets[n]}</sheetData></worksheet>`),
			]),
		),
	});
}

const HEAD =
	'<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>2</v></c><c r="D1" t="s"><v>1</v></c><c r="E1" t="inlineStr"><is><t>note</t></is></c></row>';
// 8 October 2026 is day 46303 (date -d 1899-12-30+46303days); 13:05 is 0.54513888889 of a day.
const row = (n: number, day: number, style: number, kg: number) =>
	`<row r="${n}"><c r="A${n}"><v>${4400 + n}</v></c><c r="B${n}" s="${style}"><v>${day}</v></c><c r="D${n}" s="3"><v>${kg}</v></c><c r="E${n}" t="s"><v>3</v></c></row>`;

describe('workbooks', () => {
	it('give each sheet with a table; days and times by their style, whatever the calendar', async () => {
		const sheets = {
			Loads: HEAD + row(2, 46303.54513888889, 2, 21_780.5) + row(3, 46304, 1, 20_010),
			Notes: '<row><c t="inlineStr"><is><t>hello</t></is></c></row>',
		};
		const { tables, files } = await readAll({ 'a.xlsx': workbook(sheets) });
		expect(files).toMatchObject([{ file: 'a.xlsx', kind: 'spreadsheet', why: null }]);
		expect(tables).toMatchObject([{ file: 'a.xlsx/Loads', kind: 'spreadsheet', n: 2, meta: { layer: 'Loads' } }]);
		const column = (name: string) => tables[0]!.columns.find((c) => c.name === name)!;
		expect(column('time').text).toEqual(['2026-10-08 13:05:00', '2026-10-09']);
		expect(Array.from(column('net weight').numbers!)).toEqual([21_780.5, 20_010]);
		expect(column('note').text![0]).toContain('a "b"');
		expect(tables[0]!.notes.join()).toContain('Sheets without a table: Notes');
		const mac = await readAll({
			'a.xlsx': workbook({ Loads: HEAD + row(2, 46303.5 - 1462, 2, 1) + row(3, 0.25, 4, 2) }, true),
		});
		expect(mac.tables[0]!.columns.find((c) => c.name === 'time')!.text).toEqual(['2026-10-08 12:00:00', '06:00:00']);
	});

	it('of old forms, or of other programs, are named with what would help', async () => {
		const old = Uint8Array.from([0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1, 0, 0]);
		const open = zipSync({ 'content.xml': text('<x/>'), 'META-INF/manifest.xml': text('<x/>') });
		const { files } = await readAll({ 'a.xls': old, 'a.ods': open, 'b.xlsx': workbook({ Notes: '' }) });
		expect(Object.fromEntries(files.map((f) => [f.file, f.why]))).toEqual({
			'a.ods': expect.stringContaining('save it as .xlsx'),
			'b.xlsx': expect.stringContaining('sheets: Notes'),
			'a.xls': expect.stringContaining('save it as .xlsx'),
		});
	});

	it('stand any bytes', async () => {
		const bytes = workbook({ Loads: HEAD + row(2, 46303.5, 2, 1) });
		await hurt(bytes, 'a.xlsx', seeded(5).uniform, 150, async (b) => {
			const zip = { name: 'a.xlsx', bytes: b };
			await readSpreadsheet('a.xlsx', new Map(unzip(zip).map((s) => [s.name.slice(7), s])));
		});
		const sheet = text(`<worksheet><sheetData>${HEAD}</sheetData></worksheet>`);
		await hurt(sheet, 'a.xlsx', seeded(7).uniform, 150, async (b) => {
			const parts = new Map(unzip({ name: 'a.xlsx', bytes }).map((s) => [s.name.slice(7), s]));
			parts.set('xl/worksheets/sheet1.xml', {
				name: 'a.xlsx',
				chunks: async function* () {
					yield b;
				},
			});
			await readSpreadsheet('a.xlsx', parts);
		});
	});
});
