import type { RawTable } from '../../formats/index.ts';
import { FOOT_M } from '../../units/index.ts';
import { length, speed as speedText } from '../both-units.ts';
import type { Given, Question } from '../model.ts';
import { type System, UNITS, unitNamed } from '../units.ts';
import { nearestUnit } from './fit.ts';
import { type Motion, passSpacing_m } from './motion.ts';
import { middlePositive, type Reference, type Taken, type Taking } from './numbers.ts';
import type { Sections } from './sections.ts';
import { countersToSteps } from './take.ts';

/** Length and width of each record's ground. */
export interface Ground {
	distance_m: Float64Array;
	swath_m: Float64Array;
	/** From a column of areas, or else distance × width. */
	area_m2: Float64Array;
	speed_m_s: Float64Array;
	elevation_m: Float64Array;
	/** Country of the units that were found. */
	system: System | null;
	questions: Question[];
	notes: string[];
}

export interface GroundContext {
	table: RawTable;
	given: Given;
	motion: Motion;
	/** Center of each record's positions, in one plane. */
	x_m: Float64Array;
	y_m: Float64Array;
	interval_s: Float64Array;
	/** Seconds of the record that a section's row is part of. */
	lead_s: Float64Array;
	sections: Sections | null;
	/** True if seconds are known from a column or from times. */
	timed: boolean;
}

/** What a column is compared with; `anonymous`: how closely it must fit if its name gives no hint. */
export const reference = (
	values: ArrayLike<number>,
	tolerance: number,
	by: string,
	show: (x: number) => string,
	anonymous: number | null,
): Reference => ({ values, tolerance, by, show, anonymous });

/** Finds distance, speed, width and area, each by its name and by the positions. */
export function findGround(taking: Taking, context: GroundContext): Ground {
	const { motion, interval_s, lead_s, sections } = context;
	const n = interval_s.length;
	const notes: string[] = [];
	const questions: Question[] = [];
	countersToSteps(taking, 'distance', motion);
	countersToSteps(taking, 'area', motion);
	const apart = (x: number) => `${length(x)} apart`;
	const distance = taking.take('distance', reference(motion.step_m, 1.12, 'positions are', apart, 0.2));
	const rate = motion.step_m.map((s, i) => s / lead_s[i]!);
	const speed = taking.take(
		'speed',
		context.timed ? reference(rate, 1.12, 'positions move at', speedText, 0.2) : null,
		(m) => m > 0 && m < 400,
	);
	const spacing_m = passSpacing_m(motion, context.x_m, context.y_m) / (sections?.count ?? 1);
	const passes = Number.isNaN(spacing_m)
		? null
		: reference(new Float64Array(n).fill(spacing_m), 1.35, 'neighboring passes are', apart, null);
	const swath = taking.take('swath', passes, (m) => m > 0);
	const system = systemOf([distance, swath, speed]);
	const missing = () => new Float64Array(n).fill(Number.NaN);
	const speed_m_s = inOwnUnit(speed) ?? missing();

	let distance_m = inOwnUnit(distance);
	if (distance_m === null) {
		distance_m = speed
			? speed_m_s.map((v, i) => v * interval_s[i]!)
			: motion.step_m.map((s, i) => (s < 6 * interval_s[i]! + 2 ? s : Number.NaN));
		notes.push(
			speed
				? 'no column of distance: speed × seconds is taken'
				: 'no distance column: distances are computed from the positions',
		);
	}
	const area_m2 = inOwnUnit(taking.take('area', null, (m) => m > 0));
	let swath_m = inOwnUnit(swath) ?? missing();
	if (!swath && area_m2) swath_m = area_m2.map((a, i) => a / distance_m[i]!);
	else if (!swath && Number.isFinite(spacing_m)) swath_m.fill(widthBySpacing(spacing_m, context, questions));
	if (sections && swath && passes) {
		// A width that is the whole header's in every section's row is not the section's.
		const one = middlePositive(swath_m);
		if (Math.abs(Math.log(one / (spacing_m * sections.count))) < 0.2) swath_m = swath_m.map((w) => w / sections.count);
	}
	return {
		distance_m,
		swath_m,
		area_m2: area_m2 ?? distance_m.map((d, i) => d * swath_m[i]!),
		speed_m_s,
		elevation_m: takeElevation(taking, system) ?? missing(),
		system,
		questions,
		notes,
	};
}

const inOwnUnit = (taken: Taken | null): Float64Array | null => taken?.values.map((v) => v * taken.unit.size) ?? null;

/** Without a width column: the user's answer, or else the spacing of passes, and a question. */
function widthBySpacing(spacing_m: number, { given, table }: GroundContext, questions: Question[]): number {
	const answered = widthAnswered(given['combine: header width'], spacing_m);
	if (answered !== null) return answered;
	const width_m = Math.round(spacing_m * 100) / 100;
	questions.push({
		about: 'combine: header width',
		text: `No column holds the header’s width. Neighboring passes are ${length(spacing_m)} apart, and that is taken. How wide is the header (for example 30 ft or 9.14 m)?`,
		choices: [],
		blocking: false,
		taken: length(width_m),
		file: table.file,
	});
	return width_m;
}

/** "30 ft", "360 in", "9.14 m"; a number alone is in the unit that brings it nearest to the spacing of passes. */
function widthAnswered(answer: unknown, spacing_m: number): number | null {
	const [, digits, word] = /^\s*(\d+(?:[.,]\d+)?)\s*(\S*)\s*$/.exec(String(answer ?? '')) ?? [];
	const value = Number(digits?.replace(',', '.'));
	if (!(value > 0)) return null;
	const units = (UNITS.swath ?? []).filter((u) => u.name === 'm' || u.name === 'ft' || u.name === 'in');
	const unit = word ? unitNamed(word, 'swath') : nearestUnit(spacing_m / value, units)?.unit;
	return unit ? value * unit.size : null;
}

function takeElevation(taking: Taking, system: System | null): Float64Array | null {
	const elevation = taking.take('elevation', null, (m) => m > -500);
	if (elevation === null) return null;
	if (elevation.reading.because.some((b) => b.includes('says'))) return inOwnUnit(elevation);
	elevation.reading.because.push('unit by custom of the other columns');
	elevation.reading.sure = 0.6;
	if (system !== 'us') return inOwnUnit(elevation);
	elevation.reading.unit = 'ft';
	return elevation.values.map((v) => v * FOOT_M);
}

function systemOf(taken: readonly (Taken | null)[]): System | null {
	const of = (system: System) => taken.filter((t) => t?.unit.system === system).length;
	const [us, metric] = [of('us'), of('metric')];
	return us > metric ? 'us' : metric > us ? 'metric' : null;
}
