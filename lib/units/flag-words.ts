import type { Crop, Flag } from '../model/index.ts';
import { FOOT_M, POUND_KG } from './constants.ts';
import { formatNumber, formatQuantity, type UnitSystem } from './display.ts';

/** Why a record is left off the map, in words; '' is a record that is on it. */
export const FLAG_WORDS: Record<Flag, string> = {
	'': 'on the map',
	raised: 'header up',
	standing: 'stopped or creeping',
	turning: 'turning',
	jolt: 'sudden speed change',
	filling: 'start of pass',
	emptying: 'end of pass',
	flowless: 'no flow',
	surge: 'impossible flow',
	dropout: 'sensor dropout',
	moisture: 'bad moisture',
	jump: 'bad position',
	outside: 'outside boundary',
	recut: 'already cut',
	narrow: 'sliver of header width',
	unplaced: 'position unknown',
	lone: 'unlike nearby passes',
};

/** Converts a threshold for display and back; the library's own values are shares, log ratios, rad/m, kg/s, m. */
export interface ThresholdScale {
	unit: string;
	show(value: number): number;
	read(shown: number): number;
}

const times = (unit: string, by: number): ThresholdScale => ({ unit, show: (v) => v * by, read: (x) => x / by });

/** A flag's threshold: how an input field shows it, the limit in words, and how it was found. */
interface Threshold {
	scale(us: boolean): ThresholdScale;
	limit(value: number, system: UnitSystem, crop: Crop): string;
	learned: string;
}

const share = (value: number) => `${formatNumber(100 * value, 1)}%`;
const percent = () => times('%', 100);
const SCATTER = 'scatter of records about their neighbors in the pass';
const OTHER_GROUND: Threshold = {
	scale: percent,
	limit: (v) => `more than ${share(v)} of its flow was cut on other ground`,
	learned: SCATTER,
};
const above: ThresholdScale = { unit: '%', show: (v) => 100 * (Math.exp(v) - 1), read: (x) => Math.log(1 + x / 100) };
const below: ThresholdScale = { unit: '%', show: (v) => 100 * (1 - Math.exp(-v)), read: (x) => -Math.log(1 - x / 100) };
const turn = (us: boolean) => times(us ? '°/ft' : '°/m', (180 / Math.PI) * (us ? FOOT_M : 1));

const THRESHOLDS: { [F in Flag]?: Threshold } = {
	standing: {
		scale: percent,
		limit: (v) => `slower than ${share(v)} of the usual speed`,
		learned: 'fixed share of each combine’s usual speed',
	},
	turning: {
		scale: turn,
		limit(v, system) {
			const us = system === 'us';
			return `more than ${formatNumber(turn(us).show(v), 1)}° per ${us ? 'foot' : 'meter'}`;
		},
		learned: 'fixed',
	},
	filling: OTHER_GROUND,
	emptying: OTHER_GROUND,
	jolt: OTHER_GROUND,
	surge: {
		scale: () => above,
		limit: (v) => `more than ${formatNumber(above.show(v), 0)}% above its neighbors`,
		learned: SCATTER,
	},
	dropout: {
		scale: () => below,
		limit: (v) => `more than ${formatNumber(below.show(v), 0)}% below its neighbors`,
		learned: SCATTER,
	},
	flowless: {
		scale: (us) => (us ? times('lb/s', 1 / POUND_KG) : times('kg/s', 1)),
		limit: (v, system, crop) => `flow below ${formatQuantity(v, 'flow', system, crop, 2)}`,
		learned: '5% of the usual flow',
	},
	moisture: {
		scale: () => times('%', 1),
		limit: (v) => `above ${formatNumber(v, 0)}%, or missing`,
		learned: 'fixed',
	},
	narrow: {
		scale: (us) => (us ? times('ft', 1 / FOOT_M) : times('m', 1)),
		limit: (v, system, crop) => `less than ${formatQuantity(v, 'length', system, crop, 1)} of new width`,
		learned: 'how far receivers wander between passes, and the row spacing',
	},
	recut: { scale: percent, limit: (v) => `less than ${share(v)} of the header width is new`, learned: 'fixed' },
};

/** At what threshold a flag is set and how the threshold was found; null for a flag without a threshold. */
export function thresholdWords(
	flag: string,
	value: number,
	system: UnitSystem,
	crop: Crop,
): { limit: string; learned: string } | null {
	const known = THRESHOLDS[flag as Flag];
	return known ? { limit: known.limit(value, system, crop), learned: known.learned } : null;
}

/** The display scale of a flag's threshold, for an input field. */
export const thresholdScale = (flag: string, system: UnitSystem): ThresholdScale =>
	THRESHOLDS[flag as Flag]?.scale(system === 'us') ?? times('', 1);
