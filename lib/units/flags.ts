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

/** At what threshold a flag is set and how the threshold was found; null for a flag without a threshold. */
export function thresholdWords(
	flag: string,
	value: number,
	system: UnitSystem,
	crop: Crop,
): { limit: string; learned: string } | null {
	const share = `${formatNumber(100 * value, 1)}%`;
	const change = `${formatNumber(thresholdScale(flag, system).show(value), 0)}%`;
	const noise = 'scatter of records about their neighbors in the pass';
	switch (flag) {
		case 'standing':
			return { limit: `slower than ${share} of the usual speed`, learned: 'fixed share of each combine’s usual speed' };
		case 'turning': {
			const degrees = (value * 180) / Math.PI;
			return {
				limit:
					system === 'us'
						? `more than ${formatNumber(degrees * FOOT_M, 1)}° per foot`
						: `more than ${formatNumber(degrees, 1)}° per meter`,
				learned: 'fixed',
			};
		}
		case 'filling':
		case 'emptying':
		case 'jolt':
			return { limit: `more than ${share} of its flow was cut on other ground`, learned: noise };
		case 'surge':
			return { limit: `more than ${change} above its neighbors`, learned: noise };
		case 'dropout':
			return { limit: `more than ${change} below its neighbors`, learned: noise };
		case 'flowless':
			return { limit: `flow below ${formatQuantity(value, 'flow', system, crop, 2)}`, learned: '5% of the usual flow' };
		case 'moisture':
			return { limit: `above ${formatNumber(value, 0)}%, or missing`, learned: 'fixed' };
		case 'narrow':
			return {
				limit: `less than ${formatQuantity(value, 'length', system, crop, 1)} of new width`,
				learned: 'how far receivers wander between passes, and the row spacing',
			};
		case 'recut':
			return { limit: `less than ${share} of the header width is new`, learned: 'fixed' };
		default:
			return null;
	}
}

/** Converts a threshold for display and back; the library's own values are shares, log ratios, rad/m, kg/s, m. */
export interface ThresholdScale {
	unit: string;
	show(value: number): number;
	read(shown: number): number;
}

const times = (unit: string, by: number): ThresholdScale => ({ unit, show: (v) => v * by, read: (x) => x / by });

/** The display scale of a flag's threshold, for an input field. */
export function thresholdScale(flag: string, system: UnitSystem): ThresholdScale {
	const us = system === 'us';
	switch (flag) {
		case 'standing':
		case 'filling':
		case 'emptying':
		case 'jolt':
		case 'recut':
			return times('%', 100);
		case 'surge':
			return { unit: '%', show: (v) => 100 * (Math.exp(v) - 1), read: (x) => Math.log(1 + x / 100) };
		case 'dropout':
			return { unit: '%', show: (v) => 100 * (1 - Math.exp(-v)), read: (x) => -Math.log(1 - x / 100) };
		case 'turning':
			return times(us ? '°/ft' : '°/m', (180 / Math.PI) * (us ? FOOT_M : 1));
		case 'flowless':
			return us ? times('lb/s', 1 / POUND_KG) : times('kg/s', 1);
		case 'moisture':
			return times('%', 1);
		case 'narrow':
			return us ? times('ft', 1 / FOOT_M) : times('m', 1);
		default:
			return times('', 1);
	}
}
