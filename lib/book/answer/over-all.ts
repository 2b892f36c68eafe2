import { mixtureInterval, near } from '../../stats/index.ts';
import type { Against } from './combine-pairs.ts';
import { errorOf_pct, type RunningFactor } from './running-factor.ts';

/** A result under one explanation, with its probability. */
type Weighted<T> = { weight: number } & T;

/**
 * A factor over all explanations, likeliest first: its mean over those near the best one, as in the report, and intervals
 * over all. The rest is the likeliest one's.
 */
export function factorOverAll(list: readonly Weighted<{ factor: RunningFactor }>[]): RunningFactor {
	const best = list[0]!.factor;
	const all = list.filter((e) => e.factor.value !== null);
	if (all.length < 2 || best.value === null) return best;
	const close = all.filter((e) => near(e.factor.value!, best.value!));
	const value = mean(close, (e) => e.factor.value!);
	const over = (of: (f: RunningFactor) => [number, number]) =>
		mixtureInterval(all.map((e) => ({ weight: e.weight, interval: of(e.factor) })));
	const interval = over((f) => f.interval!);
	return {
		...best,
		value,
		interval,
		next: over((f) => f.next!),
		error_pct: errorOf_pct(value),
		now_pct: mean(close, (e) => e.factor.now_pct!),
		errorInterval_pct: [errorOf_pct(interval[1]), errorOf_pct(interval[0])],
		nextError_pct: over((f) => f.nextError_pct!),
		levelError_pct: over((f) => f.levelError_pct!),
		course: best.course.map((p, i) => {
			if (i === best.course.length - 1) return { ...p, value, low: interval[0], high: interval[1] };
			const then = all.flatMap(({ weight, factor: { course } }) => {
				const own = course.find((q) => q.load === p.load);
				return own ? [{ weight, interval: [own.low, own.high] as const, value: own.value }] : [];
			});
			const [low, high] = mixtureInterval(then);
			return { ...p, value: mean(then, (t) => t.value), low, high };
		}),
	};
}

/** Differences of combines, likewise. */
export function againstOverAll(list: readonly Weighted<{ against: Against[] }>[]): Against[] {
	if (list.length < 2) return list[0]?.against ?? [];
	return list[0]!.against.map((best) => {
		const all = list.flatMap(({ weight, against }) =>
			against.filter((a) => a.first === best.first && a.second === best.second).map((a) => ({ weight, ...a })),
		);
		const interval_pct = mixtureInterval(all.map((a) => ({ weight: a.weight, interval: a.interval_pct })));
		const real = interval_pct[0] > 0 || interval_pct[1] < 0;
		return { ...best, diff_pct: mean(all, (a) => a.diff_pct), interval_pct, real };
	});
}

function mean<T extends { weight: number }>(list: readonly T[], of: (one: T) => number): number {
	const sum = list.reduce((s, e) => s + e.weight, 0);
	return list.reduce((s, e) => s + (e.weight / sum) * of(e), 0);
}
