import type { Segments } from '../surface/segments.ts';

/**
 * The ground over which a segment's yield is a mean, as a few points of equal weight across its width and along its
 * travel. A smeared flow is a mean over more ground than the segment's own, since grain that entered at once arrives over
 * some seconds (a first-order response with time constant τ). With the mean delay removed by the lag, the ground of a
 * moment is from τ·v ahead of it to a long tail behind.
 */
export interface Supports {
	/** Points per segment. */
	points: number;
	x_m: Float64Array;
	y_m: Float64Array;
	/** Middle of a segment's points and their second moments about it. */
	middleX_m: Float64Array;
	middleY_m: Float64Array;
	xx_m2: Float64Array;
	xy_m2: Float64Array;
	yy_m2: Float64Array;
}

const ACROSS = 2;
const ALONG = 2;
/** Two points at ± this share of the width have the variance of a uniform spread: 1 / √12. */
const ACROSS_SHARE = 1 / Math.sqrt(12);

/** @param smear_s - time constant of each combine, 0 or NaN where none */
export function supportsOf(segments: Segments, smear_s: readonly number[]): Supports {
	const points = ACROSS * ALONG;
	const supports = noSupports(points, segments.n);
	const { x_m, y_m } = supports;
	for (let k = 0; k < segments.n; k++) {
		const smear_m = (smear_s[segments.combine[k]!] || 0) * segments.speed_m_s[k]!;
		let p = k * points;
		for (let a = 0; a < ALONG; a++) {
			const along_m = alongOffset_m(a, segments.length_m[k]!, smear_m);
			for (let b = 0; b < ACROSS; b++) {
				const across_m = (b === 0 ? -1 : 1) * ACROSS_SHARE * segments.width_m[k]!;
				x_m[p] = segments.x_m[k]! + along_m * segments.dx[k]! + across_m * segments.dy[k]!;
				y_m[p] = segments.y_m[k]! + along_m * segments.dy[k]! - across_m * segments.dx[k]!;
				p++;
			}
		}
	}
	setMoments(supports);
	return supports;
}

/** One square, as `side` points per side; `moveSquare` puts it somewhere. */
export function squareSupport(side: number): Supports {
	return noSupports(side * side, 1);
}

export function moveSquare(square: Supports, x_m: number, y_m: number, side_m: number): void {
	const side = Math.sqrt(square.points);
	for (let p = 0; p < square.points; p++) {
		square.x_m[p] = x_m + (((p % side) + 0.5) / side - 0.5) * side_m;
		square.y_m[p] = y_m + ((Math.floor(p / side) + 0.5) / side - 0.5) * side_m;
	}
	setMoments(square);
}

function noSupports(points: number, n: number): Supports {
	const column = (length = n) => new Float64Array(length);
	return {
		points,
		x_m: column(n * points),
		y_m: column(n * points),
		middleX_m: column(),
		middleY_m: column(),
		xx_m2: column(),
		xy_m2: column(),
		yy_m2: column(),
	};
}

function setMoments(s: Supports): void {
	const { points, x_m, y_m } = s;
	for (let k = 0; k < s.middleX_m.length; k++) {
		let x = 0;
		let y = 0;
		for (let p = k * points; p < (k + 1) * points; p++) {
			x += x_m[p]! / points;
			y += y_m[p]! / points;
		}
		let xx = 0;
		let xy = 0;
		let yy = 0;
		for (let p = k * points; p < (k + 1) * points; p++) {
			const ex = x_m[p]! - x;
			const ey = y_m[p]! - y;
			xx += (ex * ex) / points;
			xy += (ex * ey) / points;
			yy += (ey * ey) / points;
		}
		s.middleX_m[k] = x;
		s.middleY_m[k] = y;
		s.xx_m2[k] = xx;
		s.xy_m2[k] = xy;
		s.yy_m2[k] = yy;
	}
}

/** Quantiles of an exponential at (a + ½)/3, less their mean, scaled to unit variance. */
const TAIL = standardised(Array.from({ length: ALONG }, (_, a) => 1 + Math.log(1 - (a + 0.5) / ALONG)));
const EVEN = standardised(Array.from({ length: ALONG }, (_, a) => a - (ALONG - 1) / 2));

/** Offset of the a-th point along the travel: mean 0, variance that of the segment's length plus the smear's. */
function alongOffset_m(a: number, length_m: number, smear_m: number): number {
	const own = (length_m * length_m) / 12;
	const tail = smear_m * smear_m;
	const shape = own + tail > 0 ? (own * EVEN[a]! + tail * TAIL[a]!) / (own + tail) : 0;
	return Math.sqrt(own + tail) * shape;
}

function standardised(values: number[]): number[] {
	const mean = values.reduce((s, v) => s + v, 0) / values.length;
	const sd = Math.sqrt(values.reduce((s, v) => s + (v - mean) ** 2, 0) / values.length);
	return values.map((v) => (v - mean) / sd);
}
