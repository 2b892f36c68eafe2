import type { Source } from '../../model/index.ts';
import { fileFault } from '../bytes.ts';
import type { RawTable } from '../raw-table.ts';
import { readText } from '../text/read.ts';
import { readWorkbook, type Sheet } from './workbook.ts';

/**
 * Reads a workbook (.xlsx): every sheet with a table. Headers, units and totals are found as in delimited text.
 *
 * @param parts - files of the workbook's zip by their path in it
 * @throws InputFault if it is not a workbook, or no sheet has a table
 */
export async function readSpreadsheet(file: string, parts: ReadonlyMap<string, Source>): Promise<RawTable[]> {
	const sheets = await readWorkbook(file, parts);
	const tables: RawTable[] = [];
	const without: string[] = [];
	for (const sheet of sheets) {
		const table = tableOf(file, sheet, sheets.length > 1);
		if (table) tables.push(table);
		else without.push(sheet.name);
	}
	if (tables.length === 0) {
		throw fileFault(
			file,
			`sheets: ${sheets.map((s) => s.name).join(', ') || 'none'}`,
			'no sheet holds a table of two columns or more',
		);
	}
	if (without.length > 0) tables[0]!.notes.push(`Sheets without a table: ${without.join(', ')}.`);
	return tables;
}

function tableOf(file: string, sheet: Sheet, several: boolean): RawTable | null {
	const width = Math.max(0, ...sheet.rows.map((r) => r.length));
	if (width < 2 || sheet.rows.length < 2) return null;
	const quoted = (cell: string) => (/["\t\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
	const text = sheet.rows.map((r) => Array.from({ length: width }, (_, c) => quoted(r[c] ?? '')).join('\t')).join('\n');
	try {
		const table = readText(file, new TextEncoder().encode(text));
		return {
			...table,
			file: several ? `${file}/${sheet.name}` : file,
			kind: 'spreadsheet',
			meta: { ...table.meta, layer: sheet.name },
			notes: [...sheet.notes, ...table.notes],
		};
	} catch {
		return null;
	}
}
