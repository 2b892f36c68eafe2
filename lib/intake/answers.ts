import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { RawTable } from '../formats/index.ts';
import { type Given, USES, type Use } from './model.ts';

/**
 * A signature of a table's header: equal for next year's file of the same program, so that answers given once still
 * apply. It covers kind and column names, in order; values do not matter.
 */
export function signatureOf(table: RawTable): string {
	const names = table.columns.map((c) => c.name.trim().toLowerCase());
	return `header-${bytesToHex(sha256(utf8ToBytes([table.kind, ...names].join('\u001f')))).slice(0, 16)}`;
}

/**
 * All answers that apply to a table: for every table (`*`), then for its header, then for the folders and zips it is
 * in, then for the table itself; later ones override earlier ones.
 */
export function givenFor(answers: Record<string, Given>, file: string, signature: string | null): Given {
	const parts = file.split('/');
	const keys = ['*', ...(signature === null ? [] : [signature])];
	for (let k = 1; k <= parts.length; k++) keys.push(parts.slice(0, k).join('/'));
	if (parts.length > 1) keys.push(parts.at(-1)!);
	return Object.assign({}, ...keys.map((key) => (Object.hasOwn(answers, key) ? answers[key] : {}))) as Given;
}

/** What the user says a source is; null without an answer. */
export function useGiven(given: Given): Use | null {
	return USES.find((use) => use === given.use) ?? null;
}

/** Checks the shape of an answers file: an object of objects. Returns what is wrong, or null. */
export function answersFault(json: unknown): string | null {
	const plain = (v: unknown): v is Record<string, unknown> => typeof v === 'object' && v !== null && !Array.isArray(v);
	if (!plain(json)) return 'expected one object: { "FILE or header signature": { "about": answer } }';
	for (const [key, value] of Object.entries(json)) {
		if (!plain(value)) return `expected an object of answers for "${key}": { "about": answer }`;
		if (value.use !== undefined && useGiven(value) === null)
			return `"${key}": expected "use" to be one of ${USES.join(', ')}, found ${JSON.stringify(value.use)}`;
	}
	return null;
}
