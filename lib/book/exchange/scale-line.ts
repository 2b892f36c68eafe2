import { POUND_KG } from '../../units/index.ts';

/**
 * Lines that a scale indicator sends over a serial cable: plain ASCII, one reading per line, in as many formats as
 * there are indicators. A pattern describes the format: words in braces stand for parts, anything else for itself.
 * `{status}` is the stable or moving mark, `{kind}` the gross or net mark, `{weight}` the number, sign and blanks
 * allowed, `{unit}` kg, lb or t, and `{any}` anything.
 *
 * A blank in the pattern matches any number of blanks, including none.
 */
export interface LinePattern {
	pattern: string;
	/** Marks for stable and moving; compared without regard to case. */
	stable: readonly string[];
	moving: readonly string[];
	/** The unit where the line gives none. */
	unit: 'kg' | 'lb' | 't';
}

/** A usual format of such a line: `ST,GS,+ 012340 lb`. Common practice of indicators, no standard. */
export const usualLine: LinePattern = {
	pattern: '{status},{kind},{weight}{unit}',
	stable: ['ST', 'S'],
	moving: ['US', 'M', 'D'],
	unit: 'lb',
};

/** One reading of an indicator, taken from its line. */
export interface LineReading {
	/** In the line's own unit. */
	value: number;
	unit: 'kg' | 'lb' | 't';
	kg: number;
	/** Marked as stable; null = the line has no mark. */
	stable: boolean | null;
}

/** A line in another format: reported, not dropped. */
export class LineFault extends Error {
	override readonly name = 'LineFault';
}

const PARTS: Record<string, string> = {
	status: '(?<status>[A-Za-z?*]{0,4})',
	kind: '[A-Za-z]{0,4}',
	weight: '(?<weight>[+-]?[ \\t]*[0-9]+(?:[.,][0-9]+)?)',
	unit: '(?<unit>[A-Za-z]{0,3})',
	any: '[^\\r\\n]{0,40}?',
};

const KG: Record<string, number> = { kg: 1, lb: POUND_KG, lbs: POUND_KG, t: 1000 };

/** Compiles a pattern. Throws `LineFault` where it names an unknown part or has no `{weight}`. */
export function lineReader(p: LinePattern): (line: string) => LineReading {
	if (!p.pattern.includes('{weight}')) throw new LineFault('The pattern has no {weight}.');
	const used = new Set<string>();
	const source = p.pattern
		.split(/(\{[^}]*\})/)
		.map((piece) => {
			const name = /^\{(.*)\}$/.exec(piece)?.[1];
			if (name === undefined) return piece.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&').replace(/\s+/g, '\\s*');
			const part = PARTS[name];
			if (part === undefined)
				throw new LineFault(`{${name}} is not a part; there are {status}, {kind}, {weight}, {unit} and {any}.`);
			if (name !== 'any' && used.has(name)) throw new LineFault(`{${name}} is in the pattern twice.`);
			used.add(name);
			return part;
		})
		.join('\\s*');
	const shape = new RegExp(`^\\s*${source}\\s*$`);
	const stable = new Set(p.stable.map((s) => s.toUpperCase()));
	const moving = new Set(p.moving.map((s) => s.toUpperCase()));

	return (line) => {
		// Control characters that frame the line (STX, ETX, NUL) are not part of it.
		const plain = [...line].filter((c) => c >= ' ' && c !== '\u007f').join('');
		const found = shape.exec(plain)?.groups;
		if (!found) throw new LineFault(`"${plain.trim()}" does not look like ${p.pattern}.`);
		const value = Number(found.weight!.replace(/[ \t]/g, '').replace(',', '.'));
		const word = (found.unit ?? '').toLowerCase();
		const unit = word === '' ? p.unit : word === 'lbs' ? 'lb' : (word as LineReading['unit']);
		const size = KG[unit];
		if (size === undefined) throw new LineFault(`"${found.unit}" is not a unit of weight; expected kg, lb or t.`);
		const status = (found.status ?? '').toUpperCase();
		return { value, unit, kg: value * size, stable: stable.has(status) ? true : moving.has(status) ? false : null };
	};
}

/** The last readings with their times, and whether the scale is stable. */
export interface ScaleState {
	readings: { t_s: number; kg: number; stable: boolean | null }[];
	still: boolean;
	kg: number | null;
}

/** The state before the first reading. */
export const noReading: ScaleState = { readings: [], still: false, kg: null };

/** Readings of a weight at rest stay within this for so long. */
const BAND_KG = 10;
const HOLD_S = 2;

/**
 * Adds one reading. Stable = the indicator marks it so, or, if it sends no marks, all readings of the last `HOLD_S`
 * seconds lie within `BAND_KG`. A moving mark always means moving.
 */
export function addReading(
	before: ScaleState,
	reading: { t_s: number; kg: number; stable: boolean | null },
): ScaleState {
	const readings = [...before.readings, reading].filter((r) => r.t_s >= reading.t_s - HOLD_S * 2);
	const recent = readings.filter((r) => r.t_s >= reading.t_s - HOLD_S);
	const spread = Math.max(...recent.map((r) => r.kg)) - Math.min(...recent.map((r) => r.kg));
	const longEnough = readings.some((r) => r.t_s <= reading.t_s - HOLD_S);
	const still = reading.stable ?? (longEnough && spread <= BAND_KG);
	return { readings, still, kg: reading.kg };
}
