/** The one line of advice, in words. */
import { type Advice, advise, type Caution, doubts, type RunningFactor } from '../../../lib/book/index.ts';
import { CART } from '../../../lib/model/index.ts';
import { number } from '../../state/format.ts';
import { cautions, field, ratio } from './state.ts';
import { mass, nameOfThing, range, t } from './words.ts';

export const tolerance = (): number => field.value?.v.tolerance_pct ?? 2;

/** Advice on one combine; a doubt about `dump`, the one just weighed, comes first. */
export function adviceOn(factor: RunningFactor, dump: string | null): Advice {
	const found = doubts(factor, tolerance());
	const doubt = found.find((d) => dump !== null && d.dumps.includes(dump)) ?? null;
	return advise(factor, ratio.value?.parts ?? [], tolerance(), doubt, cautions.value);
}

/** What is said where no ticket checks the cart's scale; null where one does. */
export function noTickets(): string | null {
	const r = ratio.value;
	return r?.source === 'tickets' ? null : t.noTicketYet(number(100 * (r?.limit_rel ?? CART.unchecked_rel), 0));
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
		case 'check tickets':
			return { text: t.advice.checkTickets, tone: 'warn' };
		case 'weigh trucks':
			return { text: noTickets() ?? t.advice.weighTrucks(number(advice.scaleHalf_pct, 1)), tone: 'warn' };
	}
}

/** A cause common to many weights, in words. */
export function cautionWords(c: Caution): string {
	const size = (pct: number) => number(Math.abs(pct), 1);
	switch (c.kind) {
		case 'monitor':
			return t.caution.monitor(nameOfThing(c.combine), nameOfThing(c.dump), size(c.more_pct), c.more_pct > 0);
		case 'cart':
			return t.caution.cart(nameOfThing(c.dump), size(c.more_pct), c.more_pct > 0, c.checked);
		case 'drift':
			return t.caution.drift(size(c.more_pct), c.more_pct > 0, c.checked);
		case 'two':
			return t.caution.two(nameOfThing(c.dump), size(c.more_pct), c.more_pct > 0);
		case 'zero':
			return t.caution.zero(mass(Math.abs(c.more_kg)), c.more_kg > 0);
		case 'names':
			return t.caution.names(nameOfThing(c.combines[0]), nameOfThing(c.combines[1]), nameOfThing(c.dump));
		case 'rests':
			return t.caution.rests;
		case 'hasty':
			return t.caution.hasty;
		case 'either':
			return t.caution.either(c.dumps.map(nameOfThing).join(', '), c.dumps.length);
		case 'dry':
			return t.caution.dry(size(c.off_pct), c.off_pct > 0, size(c.drying_pct));
		case 'tickets':
			return t.caution.tickets(size(c.off_pct), c.off_pct > 0);
	}
}
