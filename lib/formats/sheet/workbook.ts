/** A workbook (.xlsx, ECMA-376 part 1): its sheets as rows of cells in text. */

import type { Source } from '../../model/index.ts';
import { fileFault, type Loaded, load } from '../bytes.ts';
import { below, readTree, scanXml } from '../xml/scan-xml.ts';
import { DateForms } from './dates.ts';

export interface Sheet {
	name: string;
	/** Cells as text: numbers with a decimal point, dates as ISO 8601; '' where empty. Rows may differ in length. */
	rows: string[][];
	notes: string[];
}

/** Most rows read of a sheet: longer ones are not lists kept by people. */
const MOST_ROWS = 1_048_576;
const MOST_COLUMNS = 16_384;
/** Workbooks of lists do not unpack to more. */
const MOST_BYTES = 512e6;

/**
 * Reads the sheets of a workbook.
 *
 * @param file - name of the workbook
 * @param parts - files of the zip by their path in it
 * @throws InputFault if it is not a workbook
 */
export async function readWorkbook(file: string, parts: ReadonlyMap<string, Source>): Promise<Sheet[]> {
	const part = async (path: string): Promise<Loaded | null> => {
		const source = parts.get(path);
		return source ? { name: file, bytes: (await load(source, MOST_BYTES)).bytes } : null;
	};
	const main = await part('xl/workbook.xml');
	if (!main) throw fileFault(file, 'no workbook in it', 'expected an Excel workbook (.xlsx); save it again');
	const { root } = readTree(file, main.bytes);
	const from1904 = [...below(root, 'workbookPr')].some((e) => /^(1|true)$/.test(e.attributes.date1904 ?? ''));
	const links = new Map<string, string>();
	const rels = await part('xl/_rels/workbook.xml.rels');
	if (rels)
		for (const e of below(readTree(file, rels.bytes).root, 'Relationship'))
			links.set(e.attributes.Id ?? '', e.attributes.Target ?? '');
	const styles = await part('xl/styles.xml');
	const forms = new DateForms(styles ? readTree(file, styles.bytes).root : null, from1904);
	const shared = await part('xl/sharedStrings.xml');
	const strings = shared ? stringsOf(shared) : [];
	const sheets: Sheet[] = [];
	for (const e of below(root, 'sheet')) {
		const target = links.get(e.attributes['r:id'] ?? e.attributes.id ?? '') ?? '';
		const path = target.startsWith('/') ? target.slice(1) : `xl/${target}`;
		const content = await part(path);
		// A chart sheet has no cells.
		if (!content || /chartsheet/.test(path)) continue;
		sheets.push({ name: e.attributes.name ?? '', ...rowsOf(content, strings, forms) });
	}
	return sheets;
}

function stringsOf(file: Loaded): string[] {
	const strings: string[] = [];
	let text = '';
	let inText = false;
	let aside = 0;
	scanXml(file.name, file.bytes, {
		open(name) {
			if (name === 'si') text = '';
			if (name === 't') inText = true;
			// Phonetic readings are stored next to the text and are not part of it.
			if (name === 'rPh') aside++;
		},
		text(part) {
			if (inText && aside === 0) text += part;
		},
		close(name) {
			if (name === 't') inText = false;
			if (name === 'rPh') aside--;
			if (name === 'si') strings.push(text);
		},
	});
	return strings;
}

function rowsOf(file: Loaded, strings: readonly string[], forms: DateForms): { rows: string[][]; notes: string[] } {
	const rows: string[][] = [];
	let row = -1;
	let column = -1;
	let type = '';
	let style = 0;
	let text = '';
	let reading = false;
	const broke = scanXml(file.name, file.bytes, {
		open(name, a) {
			if (name === 'row') {
				row = a.r ? Number(a.r) - 1 : row + 1;
				column = -1;
			} else if (name === 'c') {
				column = a.r ? columnOf(a.r) : column + 1;
				[type, style, text] = [a.t ?? 'n', Number(a.s ?? 0), ''];
			} else if (name === 'v' || name === 't') reading = true;
			if (!(row < MOST_ROWS && column < MOST_COLUMNS)) {
				throw fileFault(file.name, `row ${row + 1}`, `expected at most ${MOST_ROWS} rows and ${MOST_COLUMNS} columns`);
			}
		},
		text(part) {
			if (reading) text += part;
		},
		close(name) {
			if (name === 'v' || name === 't') reading = false;
			if (name !== 'c' || row < 0 || column < 0 || text === '') return;
			while (rows.length <= row) rows.push([]);
			const cells = rows[row]!;
			while (cells.length < column) cells.push('');
			cells[column] = cellText(type, text, style, strings, forms);
		},
	});
	return { rows, notes: broke ? [`The sheet breaks off at ${broke}; what comes before it is read.`] : [] };
}

function cellText(type: string, text: string, style: number, strings: readonly string[], forms: DateForms): string {
	if (type === 's') return strings[Number(text)] ?? '';
	if (type === 'n') return forms.textOf(Number(text), style) ?? text;
	if (type === 'b') return text === '1' ? 'TRUE' : 'FALSE';
	return type === 'e' ? '' : text;
}

/** "AB12" is column 27, counted from zero. */
function columnOf(place: string): number {
	let n = 0;
	for (let i = 0; i < place.length; i++) {
		const c = place.charCodeAt(i) & ~32;
		if (c < 65 || c > 90) break;
		n = n * 26 + (c - 64);
	}
	return n - 1;
}
