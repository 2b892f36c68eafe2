import type { Crop } from '../../model/index.ts';
import { cropNamed } from '../../units/index.ts';

/** Names of crops in files: languages of the countries that grow them, and monitors' abbreviations. */
const WORDS: readonly (readonly [string, RegExp])[] = [
	['corn', /^(corn|maize|mais|maïs|maiz|maíz|milho|körnermais|field corn)$/],
	['soybeans', /^(soy|soya|soybeans?|soya ?beans?|soja|sojabohnen?|sb|beans)$/],
	[
		'wheat',
		/^(wheat|weizen|winterweizen|sommerweizen|blé|ble|trigo|hrw|srw|hrs|swh|durum|ww|sw|hard red (winter|spring)|wht)$/,
	],
	['barley', /^(barley|gerste|wintergerste|sommergerste|orge|cebada|bar|brl|bly)$/],
	['oats', /^(oats?|hafer|avoine|avena)$/],
	['rye', /^(rye|roggen|seigle|centeno)$/],
	['sorghum', /^(sorghum|milo|sorgo|hirse|grain sorghum)$/],
	['canola', /^(canola|rapeseed|oilseed rape|raps|winterraps|colza|rape|osr)$/],
];

/** The crop of a word or abbreviation, or null. */
export function cropOf(text: string): Crop | null {
	const plain = text.trim().toLowerCase();
	if (plain === '') return null;
	const named = cropNamed(plain);
	if (named) return named;
	const cleaned = plain
		.replace(/[^\p{L}\s]/gu, ' ')
		.replace(/\s+/g, ' ')
		.trim();
	for (const [name, pattern] of WORDS) if (pattern.test(cleaned)) return cropNamed(name);
	for (const word of cleaned.split(' ')) {
		if (word.length < 3) continue;
		for (const [name, pattern] of WORDS) if (pattern.test(word)) return cropNamed(name);
	}
	return null;
}

/** The crop in a file's name as a separate word, or null; also null if there are two. */
export function cropInName(file: string): Crop | null {
	const found = new Set<Crop>();
	for (const word of file.toLowerCase().split(/[^\p{L}]+/u)) {
		if (word.length < 4) continue;
		const crop = cropOf(word);
		if (crop) found.add(crop);
	}
	return found.size === 1 ? [...found][0]! : null;
}

/** An answer's crop: a name or an object as in field.json. */
export function cropGiven(answer: unknown): Crop | null {
	if (typeof answer === 'string') return cropOf(answer);
	if (typeof answer !== 'object' || answer === null) return null;
	const raw = answer as Record<string, unknown>;
	const name = typeof raw.name === 'string' ? raw.name : null;
	if (name === null) return null;
	const known = cropNamed(name);
	const bushel_kg = Number(raw.bushel_kg ?? known?.bushel_kg ?? 25.401);
	const market_moisture_pct = Number(raw.market_moisture_pct ?? known?.market_moisture_pct ?? 14);
	return bushel_kg > 0 && market_moisture_pct >= 0 ? { name, bushel_kg, market_moisture_pct } : null;
}

/** Plausible yields, kg/ha wet: the median, and the spread of its logarithm. Wide, from national averages and records. */
export function usualYield(crop: Crop | null): { middle: number; spread: number } {
	const middle = {
		corn: 10_500,
		soybeans: 3400,
		wheat: 4500,
		barley: 4500,
		oats: 3300,
		rye: 4000,
		sorghum: 5000,
		canola: 2400,
	};
	const known = crop === null ? undefined : middle[crop.name as keyof typeof middle];
	return known === undefined ? { middle: 5000, spread: 0.75 } : { middle: known, spread: 0.5 };
}
