import type { ErrorModel, Track } from '../../model/index.ts';
import { learnErrors, neighborMisses } from './errors.ts';
import type { Segments } from './segments.ts';

/** The error model with the smear accounted for if that predicts neighbors better, else without. */
export function learn(
	segments: Segments,
	relative: Float64Array,
	track: Track,
	combines: number,
	report: (share: number) => void,
): { model: ErrorModel; smear_s: number[]; gain_pct: number } {
	const none = Array.from({ length: combines }, () => 0);
	const smear_s = none.map((_, c) => {
		const smear = track.lags.find((l) => l.combine === c)?.smear_s ?? 0;
		return Number.isFinite(smear) ? Math.max(0, smear) : 0;
	});
	const plain = learnErrors(segments, relative, none);
	report(0.6);
	if (smear_s.every((s) => s === 0)) return { model: plain.model, smear_s: none, gain_pct: 0 };
	const undone = learnErrors(segments, relative, smear_s, plain.model);
	report(0.8);
	// With prediction from all neighbors, including the segment's own pass, any gain is enough.
	const gain_pct = clearGain(
		neighborMisses(segments, relative, none, plain.model),
		neighborMisses(segments, relative, smear_s, undone.model),
		undone.logLikelihood > plain.logLikelihood ? 0 : 1,
	);
	if (gain_pct === 0) return { model: plain.model, smear_s: none, gain_pct };
	return { model: undone.model, smear_s, gain_pct };
}

/**
 * Relative reduction of the root mean square from the first squares to the second, percent; 0 unless the mean paired
 * difference exceeds `errors` of its standard errors. The worst 2 % are taken to be faults and left out.
 */
function clearGain(before: Float64Array, after: Float64Array, errors: number): number {
	const pairs = Array.from(before, (b, k) => [b, after[k]!] as const).filter(([b, a]) => Number.isFinite(a + b));
	pairs.sort((p, q) => p[0] + p[1] - q[0] - q[1]);
	pairs.length = Math.ceil(0.98 * pairs.length);
	const n = pairs.length;
	const mean = (f: (b: number, a: number) => number) => pairs.reduce((s, [b, a]) => s + f(b, a), 0) / n;
	const less = mean((b, a) => b - a);
	const u = Math.sqrt(mean((b, a) => (b - a - less) ** 2) / n);
	if (!(less > errors * u)) return 0;
	return 100 * (1 - Math.sqrt(mean((_, a) => a) / mean((b) => b)));
}
