import type { SetAside, Source } from '../model/index.ts';
import { binarySign } from './csv.ts';
import type { Tally } from './tally.ts';

/** field.json and boundaries are small; a file beyond this is something else. */
const LARGEST = 64 * 1024 * 1024;

/** Reads a JSON file, or says what is wrong with it. */
export async function readJson(source: Source, tally: Tally): Promise<{ value: unknown } | { fault: SetAside }> {
	const parts: Uint8Array[] = [];
	let size = 0;
	for await (const chunk of tally.watch(source)) {
		size += chunk.length;
		if (size <= LARGEST) parts.push(chunk.slice());
	}
	const fault = (found: string, why: string, row: number | null = null) => ({
		fault: { file: source.name, row, column: null, found, why },
	});
	if (size === 0) return fault('nothing', 'the file is empty');
	if (size > LARGEST) return fault(`${size} bytes`, 'the file is too large for what it should hold');
	const bytes = new Uint8Array(size);
	let at = 0;
	for (const part of parts) {
		bytes.set(part, at);
		at += part.length;
	}
	const binary = binarySign(bytes);
	if (binary !== null) return fault(binary.found, binary.why);
	const text = new TextDecoder().decode(bytes);
	try {
		return { value: JSON.parse(text) as unknown };
	} catch (error) {
		const message = (error as Error).message;
		return fault(plainMessage(message), 'this is not valid JSON', rowOf(message, text));
	}
}

/** What the JSON parser says without the excerpt and place it may add. */
function plainMessage(message: string): string {
	return message.replace(/,? ?"[\s\S]*" is not valid JSON$/, '').replace(/ in JSON at position[\s\S]*$/, '') || message;
}

/** Engines that name a position let us name the line. */
function rowOf(message: string, text: string): number | null {
	const position = /position (\d+)/.exec(message)?.[1];
	if (position !== undefined) return text.slice(0, Number(position)).split('\n').length;
	return /end of JSON input|end of data/i.test(message) ? text.trimEnd().split('\n').length : null;
}
