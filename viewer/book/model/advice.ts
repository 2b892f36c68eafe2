/** The one line of advice, in words. */
import { type Advice, advise, doubts, type RunningFactor } from '../../../lib/book/index.ts';
import { number } from '../../state/format.ts';
import { field, ratio } from './state.ts';
import { nameOfThing, range, t } from './words.ts';

export const tolerance = (): number => field.value?.v.tolerance_pct ?? 2;

/** Advice on one combine; a doubt about `dump`, the one just weighed, comes first. */
export function adviceOn(factor: RunningFactor, dump: string | null): Advice {
	const found = doubts(factor, tolerance());
	const doubt = found.find((d) => dump !== null && d.dumps.includes(dump)) ?? null;
	return advise(factor, ratio.value?.parts ?? [], tolerance(), doubt);
}

export type Tone = 'good' | 'warn' | 'bad' | 'plain';

export function adviceWords(advice: Advice, combine: string): { text: string; tone: Tone } {
	const name = nameOfThing(combine);
	switch (advice.kind) {
		case 'nothing':
			return { text: t.advice.nothing(name), tone: 'plain' };
		case 'check dump':
			return { text: t.advice.checkDump(range(advice.doubt.expected_pct)), tone: 'bad' };
		case 'leave':
			return { text: t.advice.leave(range(advice.interval_pct)), tone: 'good' };
		case 'key in':
			return {
				text: t.advice.keyIn(name, number(Math.abs(advice.error_pct), 1), advice.error_pct > 0),
				tone: 'warn',
			};
		case 'check units':
			return { text: t.advice.checkUnits(name), tone: 'bad' };
		case 'more':
			return { text: advice.more === null ? t.advice.moreSome : t.advice.more(advice.more), tone: 'plain' };
		case 'edge':
			return { text: t.advice.edge, tone: 'plain' };
		case 'weigh trucks':
			return { text: t.advice.weighTrucks(number(advice.scaleHalf_pct, 1)), tone: 'warn' };
	}
}
