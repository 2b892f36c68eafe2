import type { Role } from '../../formats/index.ts';
import { LOG_WORDS, OTHER, plain, type Words } from './words.ts';

/** A column's name as lower-case words without accents, brackets and signs; the text in brackets separately. */
export interface PlainName {
	words: string[];
	/** The texts in brackets, in order: "(lb/s)" gives "lb/s". */
	brackets: string[];
}

export function plainName(name: string): PlainName {
	const brackets: string[] = [];
	const bare = name.replace(/[([{]([^)\]}]*)[)\]}]/g, (_, inner: string) => {
		brackets.push(inner.trim());
		return ' ';
	});
	const words = plain(bare.replace(/([a-z\d])([A-Z][a-z])/g, '$1 $2').replace(/([a-z]{2})([A-Z])/g, '$1 $2'))
		.toLowerCase()
		.replace(/[^a-z\d%/°]+/g, ' ')
		.trim()
		.split(' ')
		.filter((w) => w !== '');
	return { words, brackets };
}

const consonants = (word: string): string => word[0] + word.slice(1).replace(/[aeiou]/g, '');

/** How well a word of a name matches a word of the dictionary: 1 in full, less if cut short or without vowels, 0 not. */
function wordFit(found: string, wanted: string): number {
	if (found === wanted || `${found}s` === wanted || found === `${wanted}s`) return 1;
	if (wanted.length < 4 || found.length < 3) return 0;
	if (found.length >= 4 && found.length > 0.55 * wanted.length && wanted.startsWith(found)) return 0.97;
	// Abbreviated by leaving out vowels, some or all, and perhaps cut: "dstnc", "elevtn", "hdng", "mostr".
	const skeleton = consonants(wanted);
	const own = consonants(found);
	// "tim" is time; but words that share only two consonants may be anything.
	if (own.length < 3) return wanted.length === 4 && wanted.startsWith(found) ? 0.85 : 0;
	if (own === skeleton) return 0.95;
	return own.length >= 4 && own.length > 0.6 * skeleton.length && skeleton.startsWith(own) ? 0.88 : 0;
}

/** How strongly a name points to each role, from 0 to 1. */
export function rolesByName(name: string, dictionary: Words): Map<Role, number> {
	const { words: found } = plainName(name);
	const out = new Map<Role, number>();
	if (dictionary === LOG_WORDS && OTHER.test(found.join(' '))) return out;
	for (const { role, strength, words } of dictionary) {
		let fit = strength;
		const used = new Set<number>();
		for (const word of words) {
			let at = -1;
			let most = 0;
			found.forEach((w, i) => {
				const f = used.has(i) ? 0 : wordFit(w, word);
				if (f > most) {
					most = f;
					at = i;
				}
			});
			fit *= most;
			used.add(at);
		}
		// Two matching words count more than one; words without a match count less.
		const spare = found.filter((w, i) => !used.has(i) && w.length > 2).length;
		const score = fit * (1 - 0.04 * Math.min(4, spare)) + (fit > 0 ? 0.02 * (words.length - 1) : 0);
		if (score > (out.get(role) ?? 0.4)) out.set(role, Math.min(0.99, score));
	}
	return out;
}
