import type { ErrorModel } from '../../model/index.ts';
import type { Supports } from '../records/support.ts';
import type { Segments } from './segments.ts';

/** Correlation time of a monitor's slow error, seconds: the middle of 10 to 40 minutes (common practice). */
const SLOW_S = 1200;

/** Table of exp(−d) for d = distance / range. */
const STEP = 1 / 256;
const DECAY = Float64Array.from({ length: 256 * 12 + 2 }, (_, k) => Math.exp(-k * STEP));

/** exp(−d) by linear interpolation in a table; error below 2e−6. */
function decay(d: number): number {
	const at = d * 256;
	const k = at | 0;
	if (k >= 256 * 12) return 0;
	const low = DECAY[k]!;
	return low + (at - k) * (DECAY[k + 1]! - low);
}

/** Beyond this distance, in joint spreads, the shapes of two supports count only by their second moments. */
const FAR = 2.5;

/**
 * Mean of exp(−h / range) over the points of two supports. Far apart, the mean of a function over a spread S is
 * approximated by f + ½ (f″ S along + f′/h S across), with an error below 0.5 % for the exponential.
 */
export function meanDecay(a: Supports, i: number, b: Supports, j: number, range_m: number): number {
	const scale = 1 / range_m;
	const cx = b.middleX_m[j]! - a.middleX_m[i]!;
	const cy = b.middleY_m[j]! - a.middleY_m[i]!;
	const h2 = cx * cx + cy * cy;
	const xx = a.xx_m2[i]! + b.xx_m2[j]!;
	const yy = a.yy_m2[i]! + b.yy_m2[j]!;
	if (h2 > FAR * FAR * (xx + yy)) {
		const xy = a.xy_m2[i]! + b.xy_m2[j]!;
		const along = (cx * cx * xx + 2 * cx * cy * xy + cy * cy * yy) / h2;
		const h = Math.sqrt(h2);
		return decay(h * scale) * (1 + 0.5 * scale * (along * scale - (xx + yy - along) / h));
	}
	let sum = 0;
	const { x_m: xa, y_m: ya } = a;
	const { x_m: xb, y_m: yb } = b;
	const endA = (i + 1) * a.points;
	const endB = (j + 1) * b.points;
	for (let p = i * a.points; p < endA; p++) {
		const x = xa[p]!;
		const y = ya[p]!;
		for (let q = j * b.points; q < endB; q++) {
			const ex = xb[q]! - x;
			const ey = yb[q]! - y;
			sum += decay(Math.sqrt(ex * ex + ey * ey) * scale);
		}
	}
	return sum / (a.points * b.points);
}

/** Correlation of two segments' slow errors, 0…1. */
export function slowCorrelation(segments: Segments, i: number, j: number): number {
	if (segments.combine[i] !== segments.combine[j]) return 0;
	const apart_s = Math.abs(segments.time_s[i]! - segments.time_s[j]!);
	// Records may have no time; the correlation is then unknown.
	return Number.isFinite(apart_s) ? decay(apart_s / SLOW_S) : 0;
}

/** Records in a segment. */
export function recordsIn(segments: Segments, k: number): number {
	return segments.start[k + 1]! - segments.start[k]!;
}

/** Error covariance of two segments, without the crop's part. */
export function errorCovariance(segments: Segments, i: number, j: number, model: ErrorModel): number {
	let sum = 0;
	if (i === j) sum += (model.white * model.white) / recordsIn(segments, i);
	if (segments.pass[i] === segments.pass[j]) sum += model.pass * model.pass;
	return sum + model.slow * model.slow * slowCorrelation(segments, i, j);
}
