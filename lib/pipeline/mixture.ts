import type { Factor, Factors } from '../model/index.ts';
import { normalCdf } from '../stats/index.ts';

/** Explanations that differ by less than this in a combine's factor, in its own standard uncertainties, are one. */
const SAME = 0.25;

/**
 * Factors over several explanations of the weights, each with its probability: means, and intervals of the mixture.
 *
 * @param others - with their weights; what is left to 1 is the best one's
 */
export function mixed(best: Factors, others: readonly { weight: number; factors: Factors }[]): Factors {
	const parts = [{ weight: 1 - others.reduce((sum, o) => sum + o.weight, 0), factors: best }, ...others];
	const cautions = [...(best.cautions ?? [])];
	const factor = best.factor.slice();
	const u_rel = best.u_rel.slice();
	const factors = best.factors.map((f, c) => {
		const own = parts
			.map((p) => ({ weight: p.weight, f: p.factors.factors[c] as Factor }))
			.filter((p) => p.f.source !== null && p.f.value > 0);
		const same = own.every(
			(p) => Math.abs(Math.log(p.f.value / f.value)) < SAME * f.u_rel && p.f.u_rel < 1.3 * f.u_rel,
		);
		if (f.source === null || own.length < 2 || same) return f;
		return mixture(f, own);
	});
	if (factors.every((f, c) => f === best.factors[c])) return best;
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	for (let i = 0; i < factor.length; i++) {
		let mean = 0;
		let square = 0;
		for (const p of parts) {
			const w = p.weight / sum;
			const k = p.factors.factor[i] as number;
			mean += w * k;
			square += w * ((k * (p.factors.u_rel[i] as number)) ** 2 + k * k);
		}
		if (!Number.isFinite(mean)) continue;
		factor[i] = mean;
		u_rel[i] = Math.sqrt(Math.max(0, square - mean * mean)) / mean;
	}
	return { ...best, factors, factor, u_rel, cautions };
}

function mixture(best: Factor, parts: readonly { weight: number; f: Factor }[]): Factor {
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	const mean = (of: (f: Factor) => number): number => parts.reduce((total, p) => total + (p.weight / sum) * of(p.f), 0);
	const value = mean((f) => f.value);
	const u = Math.sqrt(mean((f) => (f.u_rel * f.value) ** 2 + (f.value - value) ** 2));
	const scaled = (list: { value: number }[]): void => {
		for (const p of list) p.value *= value / best.value;
	};
	const copy: Factor = structuredClone({
		...best,
		value,
		u_rel: u / value,
		interval: quantiles(parts, (f) => f.interval),
		next_interval: quantiles(parts, (f) => f.next_interval),
	});
	scaled(copy.changes);
	scaled(copy.knots);
	scaled(copy.curve);
	return copy;
}

/** The 2.5 and 97.5 % points of a mixture of normal distributions with these 95 % intervals. */
function quantiles(
	parts: readonly { weight: number; f: Factor }[],
	of: (f: Factor) => [number, number],
): [number, number] {
	const sum = parts.reduce((total, p) => total + p.weight, 0);
	const ends = parts.flatMap((p) => of(p.f));
	const below = (x: number): number =>
		parts.reduce((total, p) => {
			const [a, b] = of(p.f);
			return total + (p.weight / sum) * normalCdf((1.96 * (x - (a + b) / 2)) / ((b - a) / 2));
		}, 0);
	const solve = (share: number): number => {
		let low = Math.min(...ends) * 0.5;
		let high = Math.max(...ends) * 2;
		for (let n = 0; n < 60; n++) {
			const mid = (low + high) / 2;
			if (below(mid) < share) low = mid;
			else high = mid;
		}
		return (low + high) / 2;
	};
	return [solve(0.025), solve(0.975)];
}
