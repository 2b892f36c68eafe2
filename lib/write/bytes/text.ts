const encoder = new TextEncoder();

/** A text as a cell of CSV: quoted where it must be (RFC 4180). */
export function csvCell(text: string, delimiter = ','): string {
	return /["\r\n]/.test(text) || text.includes(delimiter) || text !== text.trim()
		? `"${text.replaceAll('"', '""')}"`
		: text;
}

/** Texts ready to be written as cells of CSV. */
export const csvCells = (texts: readonly string[]): Uint8Array[] => texts.map((t) => encoder.encode(csvCell(t)));

/** Texts ready to be written as values of JSON; '' is null. */
export const jsonTexts = (texts: readonly string[]): Uint8Array[] =>
	texts.map((t) => encoder.encode(t === '' ? 'null' : JSON.stringify(t)));
