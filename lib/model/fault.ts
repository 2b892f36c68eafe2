/** Something that the user gave and that is not used. Listed under `set_aside` in result.json. */
export interface SetAside {
	file: string;
	/** The file's line, the header being 1; null where the whole file or no row is meant. */
	row: number | null;
	column: string | null;
	/** What was found there, as text. */
	found: string;
	/** Why it is not used, and what would be accepted. */
	why: string;
}

/** A fault of a whole file, or of one entry in it: what was found there and why it is not used, in the user's words. */
export const wholeFile = (file: string, found: string, why: string, column: string | null = null): SetAside => ({
	file,
	row: null,
	column,
	found,
	why,
});

/** A remark for the reader. A caution limits trust in the result. */
export interface Note {
	level: 'caution' | 'note';
	text: string;
}

/** A remark that limits trust in the result. */
export const caution = (text: string): Note => ({ level: 'caution', text });

/** A remark that does not. */
export const remark = (text: string): Note => ({ level: 'note', text });

/** The input has errors: the run stops (exit status 1) and every fault found is reported. */
export class InputFault extends Error {
	override readonly name = 'InputFault';
	constructor(readonly faults: readonly SetAside[]) {
		super(faults.map(faultText).join('\n'));
	}
}

/** The command or call is wrong (exit status 2): an unknown option, a folder in use. */
export class CallFault extends Error {
	override readonly name = 'CallFault';
}

/** The user stopped the run. */
export class Stopped extends Error {
	override readonly name = 'Stopped';
	constructor() {
		super('stopped');
	}
}

/** One fault as a line of text: file, row, column, what was found, what would be accepted. */
export function faultText(f: SetAside): string {
	const place = [f.file, f.row === null ? '' : `row ${f.row}`, f.column === null ? '' : `column ${f.column}`];
	const found = f.found === '' ? '' : ` (found: ${f.found})`;
	return `${place.filter((p) => p !== '').join(', ')}: ${f.why}${found}`;
}

/** What was found, for a message: a text as it is, anything else as JSON, cut off at 60 characters. */
export function excerpt(found: unknown): string {
	const text = typeof found === 'string' ? found : (JSON.stringify(found) ?? 'nothing');
	return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
