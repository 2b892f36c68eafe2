import { joined } from '../../formats/bytes.ts';
import type { SetAside, Source } from '../../model/index.ts';
import { binarySign } from '../csv/csv.ts';
import type { FilesRead } from '../files-read.ts';

/** field.json and boundaries are small; a larger file is something else. */
const LARGEST = 16 * 1024 * 1024;
/** Objects within objects: field.json has four levels, a boundary in collections a dozen. */
const DEEPEST = 64;

/** Reads a JSON file, or reports what is wrong with it. */
export async function readJson(
	source: Source,
	filesRead: FilesRead,
): Promise<{ value: unknown } | { fault: SetAside }> {
	const parts: Uint8Array[] = [];
	let size = 0;
	for await (const chunk of filesRead.watch(source)) {
		size += chunk.length;
		if (size <= LARGEST) parts.push(chunk.slice());
	}
	const fault = (found: string, why: string, row: number | null = null) => ({
		fault: { file: source.name, row, column: null, found, why },
	});
	if (size === 0) return fault('nothing', 'the file is empty');
	if (size > LARGEST) return fault(`${size} bytes`, 'the file is too large for what it should contain');
	const bytes = joined(parts);
	const binary = binarySign(bytes);
	if (binary !== null) return fault(binary.found, binary.why);
	const deep = tooDeep(bytes);
	if (deep !== null) return fault(`${DEEPEST + 1} levels`, 'objects and lists are nested too deeply', deep);
	const text = new TextDecoder().decode(bytes);
	try {
		return { value: JSON.parse(text) as unknown };
	} catch (error) {
		const message = (error as Error).message;
		return fault(plainMessage(message), 'this is not valid JSON', rowOf(text));
	}
}

/** The line on which nesting exceeds the limit, or null; texts in quotes are skipped. */
function tooDeep(bytes: Uint8Array): number | null {
	let depth = 0;
	let line = 1;
	let quoted = false;
	for (let p = 0; p < bytes.length; p++) {
		const c = bytes[p];
		if (c === 10) line++;
		if (quoted) {
			if (c === 92) p++;
			else if (c === 34) quoted = false;
		} else if (c === 34) quoted = true;
		else if (c === 91 || c === 123) {
			if (++depth > DEEPEST) return line;
		} else if (c === 93 || c === 125) depth--;
	}
	return null;
}

/** The JSON parser's message without the excerpt and place it may add. */
function plainMessage(message: string): string {
	return (
		message.replace(/,? (\.{3})?"[\s\S]*" is not valid JSON$/, '').replace(/ in JSON at position[\s\S]*$/, '') ||
		message
	);
}

/** Line of the first fault: the end of the longest beginning that could still become JSON. */
function rowOf(text: string): number {
	let good = 0;
	let bad = text.length + 1;
	while (bad - good > 1) {
		const middle = (good + bad) >> 1;
		if (mayGoOn(text.slice(0, middle))) good = middle;
		else bad = middle;
	}
	return text.slice(0, good).trimEnd().split('\n').length;
}

/** True where a text is JSON or only lacks its end, by the parser's message. */
function mayGoOn(text: string): boolean {
	try {
		JSON.parse(text);
		return true;
	} catch (error) {
		const { message } = error as Error;
		const position = /position (\d+)/.exec(message)?.[1];
		return (
			/end of (JSON|data)|unterminated/i.test(message) || (position !== undefined && Number(position) >= text.length)
		);
	}
}
