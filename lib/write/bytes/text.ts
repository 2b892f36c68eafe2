import { csvCell } from '../../formats/cell.ts';

const encoder = new TextEncoder();

/** Texts ready to be written as cells of CSV. */
export const csvCells = (texts: readonly string[]): Uint8Array[] => texts.map((t) => encoder.encode(csvCell(t)));

/** Texts ready to be written as values of JSON; '' is null. */
export const jsonTexts = (texts: readonly string[]): Uint8Array[] =>
	texts.map((t) => encoder.encode(t === '' ? 'null' : JSON.stringify(t)));
