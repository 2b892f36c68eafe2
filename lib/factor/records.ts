import type { Factor } from '../model/index.ts';
import type { Shares } from './interval.ts';
import { basisAt, size } from './shape.ts';
import { type FactorInput, functional, type Solved, shares, valueAt } from './solved.ts';

/** The factor of every record, and its relative uncertainty: of the coefficients, of the scale, and the slow error. */
export function overRecords(input: FactorInput, solved: Solved, factors: readonly Factor[]) {
	const { records, reference } = input;
	const factor = new Float64Array(records.n).fill(Number.NaN);
	const u_rel = new Float64Array(records.n).fill(Number.NaN);
	factors.forEach((f, c) => {
		if (f.source === null) return;
		const shape = solved.shapes[c]!;
		const p = size(shape);
		const unit = Array.from({ length: p }, (_, j) =>
			functional(
				solved,
				c,
				Array.from({ length: p }, (_, k) => +(k === j)),
			),
		);
		const cov = unit.map((a) => unit.map((b) => total(shares(solved, a, b))));
		const cart = unit.map((a) => shares(solved, a).cart);
		for (const i of solved.time.orders[c]!) {
			const basis = basisAt(shape, records.time_s[i]!, solved.flow[i]!);
			const value = valueAt(solved, c, basis);
			let variance = 0;
			let level = 0;
			for (let j = 0; j < p; j++) {
				level += basis[j]! * cart[j]!;
				for (let k = 0; k < p; k++) variance += basis[j]! * basis[k]! * cov[j]![k]!;
			}
			factor[i] = value;
			const common = (level * reference.u_rel) / value;
			u_rel[i] = Math.sqrt(Math.max(0, variance) / value ** 2 + common ** 2 + solved.scatter.sigma ** 2);
		}
	});
	return { factor, u_rel };
}

function total(s: Shares): number {
	return s.readings + s.rests + s.slow + s.seam + s.curve;
}

/** Covariance of the log factors, the reference included: what two combines weighed by one cart share cancels. */
export function covarianceOf(input: FactorInput, solved: Solved, factors: readonly Factor[]): Float64Array {
	const C = factors.length;
	const out = new Float64Array(C * C).fill(Number.NaN);
	const f = factors.map((_, c) => functional(solved, c, solved.system.mean[c]!));
	const own = f.map((v) => shares(solved, v));
	for (let a = 0; a < C; a++) {
		for (let b = 0; b < C; b++) {
			if (factors[a]!.source === null || factors[b]!.source === null) continue;
			let v: number;
			if (a === b) v = factors[a]!.u_rel ** 2;
			else {
				const both = shares(solved, f[a]!, f[b]!);
				v = total(both) + own[a]!.cart * own[b]!.cart * input.reference.u_rel ** 2;
				v /= factors[a]!.value * factors[b]!.value;
			}
			out[a * C + b] = v;
		}
	}
	return out;
}
