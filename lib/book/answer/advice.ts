import { isPlausible } from '../../model/index.ts';
import { halfWidth, type Part, repeatsNeeded } from '../../stats/index.ts';
import type { Caution } from './cautions.ts';
import type { Doubt } from './doubt.ts';
import type { FillPoint, RunningFactor } from './running-answer.ts';

/** One line of advice for the operator. The screens put it into words. */
export type Advice =
	/** Nothing weighed and recorded by the monitor yet. */
	| { kind: 'nothing' }
	/** This dump does not fit the others. */
	| { kind: 'check dump'; doubt: Doubt }
	/** The whole interval lies within the tolerance. */
	| { kind: 'leave'; error_pct: number; interval_pct: [number, number] }
	/** Further off than any monitor is: a unit is wrong, or these are other dumps' readings. */
	| { kind: 'check units'; error_pct: number }
	/** The whole interval lies outside: the loads to enter in the manufacturer's calibration procedure. */
	| { kind: 'key in'; error_pct: number; interval_pct: [number, number]; loads: FillPoint[] }
	/** Not enough data yet. `more` null = how many more dumps are needed cannot be estimated. */
	| { kind: 'more'; error_pct: number; interval_pct: [number, number]; more: number | null }
	/** At the edge of the tolerance: leaving it and recalibrating are both fine. */
	| { kind: 'edge'; error_pct: number; interval_pct: [number, number] }
	/** The cart scale is more uncertain than the tolerance: more dumps do not help, truckload tickets do. */
	| { kind: 'weigh trucks'; error_pct: number; scaleHalf_pct: number }
	/** The tickets may be wrong: more of the same do not help. */
	| { kind: 'check tickets'; error_pct: number };

/** Never ask for more additional dumps than this. */
const MOST = 40;

/**
 * What to do about one monitor. The advice goes by where its mean error will lie from here on, the scale's part
 * included: what was cut so far is known better than that once it is weighed, and the monitor can no longer change it.
 * A dump that does not fit comes first, since it spoils all other advice.
 */
export function advise(
	factor: RunningFactor,
	scaleParts: readonly Part[],
	tolerance_pct: number,
	doubt: Doubt | null,
	cautions: readonly Caution[] = [],
): Advice {
	if (doubt) return { kind: 'check dump', doubt };
	if (factor.n === 0 || factor.error_pct === null || factor.levelError_pct === null) return { kind: 'nothing' };
	const scaleHalf_pct = 100 * halfWidth(scaleParts);
	const [low, high] = factor.levelError_pct;
	// What is still to come decides: a monitor that changed errs by what it errs now.
	const error_pct = factor.now_pct ?? factor.error_pct;
	const interval_pct = factor.levelError_pct;
	if (low >= -tolerance_pct && high <= tolerance_pct) return { kind: 'leave', error_pct, interval_pct };
	if (!isPlausible(1 + error_pct / 100)) return { kind: 'check units', error_pct };
	// Where the tickets may be wrong, or the scale may have changed, which only further tickets show, no reference weight is fit
	// to be entered.
	if (cautions.some((c) => c.kind === 'dry' || c.kind === 'tickets')) return { kind: 'check tickets', error_pct };
	if (cautions.some(onlyTicketsTell)) return { kind: 'weigh trucks', error_pct, scaleHalf_pct: (high - low) / 2 };
	if (low > tolerance_pct || high < -tolerance_pct)
		return {
			kind: 'key in',
			error_pct,
			interval_pct,
			loads: factor.points.slice(factor.since).filter((p) => !p.wrong),
		};
	if (scaleHalf_pct >= tolerance_pct) return { kind: 'weigh trucks', error_pct, scaleHalf_pct };
	const more = moreDumps(factor, tolerance_pct / 100, scaleHalf_pct / 100);
	// Dumps in quick succession share a slow error, so they carry less information than their number suggests.
	const wide = high - low > 2 * tolerance_pct;
	if (more > 0 || wide) return { kind: 'more', error_pct, interval_pct, more: more > MOST ? null : Math.max(1, more) };
	// The interval is as narrow as the tolerance and still straddles its edge: only the distance to the edge counts.
	const distance = Math.abs(Math.abs(error_pct) - tolerance_pct) / 100;
	const further = moreDumps(factor, distance, scaleHalf_pct / 100);
	return further > MOST || further <= 0
		? { kind: 'edge', error_pct, interval_pct }
		: { kind: 'more', error_pct, interval_pct, more: further };
}

const onlyTicketsTell = (c: Caution): boolean =>
	(c.kind === 'cart' || c.kind === 'drift' || c.kind === 'two') && !c.checked;

/** How many more dumps until ± E, of which all share U; Infinity where no number of them reaches it. */
function moreDumps({ scatter_rel, n }: RunningFactor, E_rel: number, U_rel: number): number {
	return repeatsNeeded(scatter_rel, E_rel, U_rel, n) - n;
}
