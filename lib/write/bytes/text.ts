import { csvCell } from '../../formats/csv-cell.ts';

const encoder = new TextEncoder();

/** Texts escaped for use as CSV cells. */
export const csvCells = (texts: readonly string[]): Uint8Array[] => texts.map((t) => encoder.encode(csvCell(t)));

/** Texts escaped for use as JSON values; '' becomes null. */
export const jsonTexts = (texts: readonly string[]): Uint8Array[] =>
	texts.map((t) => encoder.encode(t === '' ? 'null' : JSON.stringify(t)));
