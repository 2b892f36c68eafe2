import type { Factor, Factors } from '../model/index.ts';
import { mixtureInterval, near } from '../stats/index.ts';
import { adviceOverAll } from './report/advice-over-all.ts';

/** Factors under one explanation, with its probability. */
interface Part {
	weight: number;
	/** They are not averaged with the best one's (see `Match.alternatives`). */
	apart?: true;
	factors: Factors;
}

/** Factors that differ by less than this many of their standard uncertainties count as equal. */
const SAME = 0.25;

/**
 * Combines factors over several explanations of the weights by their probabilities: means over those near the best one,
 * uncertainties and intervals over all.
 *
 * @param others - with their probabilities; the best one has the remainder to 1
 * @param names - of the combines, for advice
 */
export function mixed(best: Factors, others: readonly Part[], names: readonly string[]): Factors {
	if (others.length === 0) return best;
	const parts: Part[] = [{ weight: 1 - others.reduce((sum, o) => sum + o.weight, 0), factors: best }, ...others];
	const factor = best.factor.slice();
	const u_rel = best.u_rel.slice();
	const factors = best.factors.map((f, c) => {
		const own = parts
			.map((p) => ({ weight: p.weight, apart: p.apart, f: p.factors.factors[c]! }))
			.filter((p) => p.f.source !== null && p.f.value > 0);
		const same = own.every(
			(p) => Math.abs(Math.log(p.f.value / f.value)) < SAME * f.u_rel && p.f.u_rel < 1.3 * f.u_rel,
		);
		if (f.source === null || own.length < 2 || same) return f;
		return adviceOverAll(f, mixture(f, own), names[c]!);
	});
	if (factors.every((f, c) => f === best.factors[c])) return best;
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	for (let i = 0; i < factor.length; i++) {
		let mean = 0;
		let square = 0;
		let all = 0;
		let averaged = 0;
		for (const p of parts) {
			const w = p.weight / sum;
			const k = p.factors.factor[i]!;
			all += w * k;
			square += w * ((k * p.factors.u_rel[i]!) ** 2 + k * k);
			if (p.apart || !near(k, best.factor[i]!)) continue;
			mean += w * k;
			averaged += w;
		}
		mean /= averaged;
		if (!Number.isFinite(mean)) continue;
		factor[i] = mean;
		u_rel[i] = Math.sqrt(Math.max(0, square - 2 * mean * all + mean * mean)) / mean;
	}
	return { ...best, factors, factor, u_rel, covariance: covarianceOver(best, factors, parts) };
}

/** Covariance of the log factors, within explanations and between them. */
function covarianceOver(
	best: Factors,
	factors: readonly Factor[],
	parts: readonly { weight: number; factors: Factors }[],
): Float64Array {
	const C = factors.length;
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	return Float64Array.from(best.covariance, (own, at) => {
		const [a, b] = [Math.floor(at / C), at % C];
		if (a === b) return factors[a]!.u_rel ** 2;
		let all = 0;
		for (const p of parts) {
			const away = (c: number) => Math.log(p.factors.factors[c]!.value / factors[c]!.value);
			const one = p.factors.covariance[at]! + away(a) * away(b);
			if (!Number.isFinite(one)) return own;
			all += (p.weight / sum) * one;
		}
		return all;
	});
}

function mixture(best: Factor, parts: readonly { weight: number; apart?: true; f: Factor }[]): Factor {
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	const mean = (of: (f: Factor) => number): number => parts.reduce((total, p) => total + (p.weight / sum) * of(p.f), 0);
	const averaged = parts.filter((p) => !p.apart && near(p.f.value, best.value));
	const value =
		averaged.reduce((total, p) => total + p.weight * p.f.value, 0) / averaged.reduce((total, p) => total + p.weight, 0);
	const u = Math.sqrt(mean((f) => (f.u_rel * f.value) ** 2 + (f.value - value) ** 2));
	const scaled = (list: { value: number }[]): void => {
		for (const p of list) p.value *= value / best.value;
	};
	const copy: Factor = structuredClone({
		...best,
		value,
		u_rel: u / value,
		interval: mixtureInterval(parts.map((p) => ({ weight: p.weight, interval: p.f.interval }))),
		next_interval: mixtureInterval(parts.map((p) => ({ weight: p.weight, interval: p.f.next_interval }))),
	});
	scaled(copy.changes);
	scaled(copy.knots);
	scaled(copy.curve);
	return copy;
}
