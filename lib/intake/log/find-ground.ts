import { FOOT_M, type System } from '../../units/index.ts';
import { type Question, question } from '../model.ts';
import { middlePositive, nearestUnit } from '../units/fit.ts';
import { length, speed as speedText } from '../units/in-words.ts';
import { UNITS, unitNamed } from '../units/units.ts';
import { type Assigned, type Columns, inOwnUnit } from './column-roles.ts';
import { passSpacing_m } from './follow-rows.ts';
import { countersToSteps } from './named.ts';
import type { Seconds } from './seconds.ts';
import { spread } from './sections.ts';
import type { Way } from './way.ts';

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

/** Finds distance, speed, width and area, each by its name and by the positions. */
export function findGround(columns: Columns, way: Way, seconds: Seconds): Ground {
	const { motion, sections } = way;
	const { interval_s } = seconds;
	const lead_s = spread(interval_s, sections?.first ?? null);
	const notes: string[] = [];
	const questions: Question[] = [];
	countersToSteps(columns, 'distance', motion);
	countersToSteps(columns, 'area', motion);
	const apart = (x: number) => `${length(x)} apart`;
	const steps = { values: motion.step_m, tolerance: 1.12, by: 'positions are', show: apart, anonymous: 0.2 };
	const distance = columns.find('distance', steps);
	const rate = motion.step_m.map((s, i) => s / lead_s[i]!);
	const speed = columns.find(
		'speed',
		seconds.timed ? { values: rate, tolerance: 1.12, by: 'positions move at', show: speedText, anonymous: 0.2 } : null,
		(m) => m > 0 && m < 400,
	);
	const spacing_m = passSpacing_m(motion, way.x_m, way.y_m) / (sections?.count ?? 1);
	const spacings = new Float64Array(interval_s.length).fill(spacing_m);
	const passes = Number.isNaN(spacing_m)
		? null
		: { values: spacings, tolerance: 1.35, by: 'neighboring passes are', show: apart, anonymous: null };
	const swath = columns.find('swath', passes, (m) => m > 0);
	const system = systemOf([distance, swath, speed]);
	const missing = () => new Float64Array(interval_s.length).fill(Number.NaN);
	const speed_m_s = speed ? inOwnUnit(speed) : missing();

	let distance_m: Float64Array;
	if (distance) distance_m = inOwnUnit(distance);
	else if (speed) {
		distance_m = speed_m_s.map((v, i) => v * interval_s[i]!);
		notes.push('no column of distance: speed × seconds is taken');
	} else {
		distance_m = motion.step_m.map((s, i) => (s < 6 * interval_s[i]! + 2 ? s : Number.NaN));
		notes.push('no distance column: distances are computed from the positions');
	}
	const area = columns.find('area', null, (m) => m > 0);
	const area_m2 = area && inOwnUnit(area);
	let swath_m = swath ? inOwnUnit(swath) : missing();
	if (!swath && area_m2) swath_m = area_m2.map((a, i) => a / distance_m[i]!);
	else if (!swath && Number.isFinite(spacing_m)) swath_m.fill(widthBySpacing(spacing_m, columns, questions));
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
		elevation_m: findElevation(columns, system) ?? missing(),
		system,
		questions,
		notes,
	};
}

/** Without a width column: the user's answer, or else the spacing of passes, and a question. */
function widthBySpacing(spacing_m: number, { given, table }: Columns, questions: Question[]): number {
	const answered = widthAnswered(given['combine: header width'], spacing_m);
	if (answered !== null) return answered;
	const width_m = Math.round(spacing_m * 100) / 100;
	questions.push(
		question(table.file, {
			about: 'combine: header width',
			text: `No column holds the header’s width. Neighboring passes are ${length(spacing_m)} apart, and that is taken. How wide is the header (for example 30 ft or 9.14 m)?`,
			taken: length(width_m),
		}),
	);
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

function findElevation(columns: Columns, system: System | null): Float64Array | null {
	const elevation = columns.find('elevation', null, (m) => m > -500);
	if (elevation === null) return null;
	const { column, reading } = elevation;
	if (reading.because.some((b) => b.includes('says'))) return inOwnUnit(elevation);
	reading.because.push('unit by custom of the other columns');
	reading.sure = 0.6;
	if (system !== 'us') return inOwnUnit(elevation);
	reading.unit = 'ft';
	return column.numbers.map((v) => v * FOOT_M);
}

function systemOf(assigned: readonly (Assigned | null)[]): System | null {
	const of = (system: System) => assigned.filter((a) => a?.unit.system === system).length;
	const [us, metric] = [of('us'), of('metric')];
	return us > metric ? 'us' : metric > us ? 'metric' : null;
}
