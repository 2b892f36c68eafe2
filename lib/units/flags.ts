import type { Crop, Flag } from '../model/index.ts';
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

/** From where on a flag is set, and how that was learned; '' where nothing is measured against. */
export function thresholdWords(
	flag: string,
	value: number,
	system: UnitSystem,
	crop: Crop,
): { limit: string; learned: string } | null {
	const share = `${formatNumber(100 * value, 1)}%`;
	const change = `${formatNumber(100 * (Math.exp(value) - 1), 0)}%`;
	const noise = 'scatter of records about their neighbors in the pass';
	switch (flag) {
		case 'standing':
			return { limit: `slower than ${share} of the usual speed`, learned: 'fixed share of each combine’s usual speed' };
		case 'turning': {
			const degrees = (value * 180) / Math.PI;
			return {
				limit:
					system === 'us'
						? `more than ${formatNumber(degrees * 0.3048, 1)}° per foot`
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
