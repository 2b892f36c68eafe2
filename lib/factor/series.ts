/** The weights of one combine alone, in order of time, as ratios to their account mass. */
export interface Series {
	n: number;
	/** Index of each in the system's weighings. */
	row: number[];
	/** Reference mass / account mass. */
	ratio: Float64Array;
	account_kg: Float64Array;
	time_s: Float64Array;
	/** When the grain of each began to come in: where a step may fall. */
	start_s: Float64Array;
}

/** Predicts a block of fills from all others; returns the share-of-variance-free measure: mean squared block error. */
export interface Scores {
	constant: number;
	step: number;
	trend: number;
}

/** Fills left out together: slow errors make neighbours alike, and one alone would be predicted by its neighbour. */
const BLOCK = 3;

/**
 * How well each form predicts left-out blocks of consecutive fills: root mean square over blocks of the block's
 * relative error in mass. A step's moment is found anew without the block.
 */
export function crossValidate(
	ratio: ArrayLike<number>,
	mass: ArrayLike<number>,
	time: ArrayLike<number>,
	stepAt: number | null = null,
): Scores {
	const n = ratio.length;
	const size = n < 9 ? 2 : BLOCK;
	// Sums up to k of 1, r, t, t², t·r, each weighted by mass.
	const sums = Array.from({ length: 5 }, () => new Float64Array(n + 1));
	let middle = 0;
	let total = 0;
	for (let i = 0; i < n; i++) {
		middle += mass[i]! * time[i]!;
		total += mass[i]!;
	}
	middle /= total;
	const t = Float64Array.from(time, (v) => (v - middle) / 3600);
	for (let i = 0; i < n; i++) {
		const w = mass[i]!;
		const r = ratio[i]!;
		[w, w * r, w * t[i]!, w * t[i]! * t[i]!, w * t[i]! * r].forEach((v, k) => {
			sums[k]![i + 1] = sums[k]![i]! + v;
		});
	}
	const over = (k: number, from: number, to: number) => sums[k]![to]! - sums[k]![from]!;
	const errors: Scores = { constant: 0, step: 0, trend: 0 };
	let blocks = 0;
	// Blocks that start at every place would be dearer and tell little more: two sets, shifted by half a block.
	for (const shift of [0, Math.floor(size / 2)]) {
		for (let from = shift; from < n; from += size) {
			const to = Math.min(n, from + size);
			if (to - from < Math.min(2, size)) continue;
			const outside = (k: number) => over(k, 0, from) + over(k, to, n);
			const w = outside(0);
			if (!(w > 0)) continue;
			const mean = outside(1) / w;
			const inside = over(0, from, to);
			const seen = over(1, from, to) / inside;
			errors.constant += (seen - mean) ** 2;
			// Trend.
			const mt = outside(2) / w;
			const tt = outside(3) - w * mt * mt;
			const slope = tt > 0 ? (outside(4) - w * mt * mean) / tt : 0;
			errors.trend += (seen - mean - slope * (over(2, from, to) / inside - mt)) ** 2;
			// Step: the change before fill s that leaves least, at least two fills on either side.
			let best = Number.NEGATIVE_INFINITY;
			let predicted = mean;
			const search = stepAt === null ? [2, n - 2] : [stepAt, stepAt];
			for (let s = search[0]!; s <= search[1]!; s++) {
				const cut = Math.min(Math.max(s, from), to);
				const count = s - Math.max(0, Math.min(s, to) - from);
				if (count < 1 || n - (to - from) - count < 1) continue;
				const wl = over(0, 0, Math.min(s, from)) + (s > to ? over(0, to, s) : 0);
				const wr = w - wl;
				if (!(wl > 0) || !(wr > 0)) continue;
				const yl = over(1, 0, Math.min(s, from)) + (s > to ? over(1, to, s) : 0);
				const yr = outside(1) - yl;
				// The sum of squares that the step explains.
				const gain = (yl * yl) / wl + (yr * yr) / wr;
				if (gain > best) {
					best = gain;
					const left = over(0, from, cut) / inside;
					predicted = (left * yl) / wl + ((1 - left) * yr) / wr;
				}
			}
			errors.step += (seen - predicted) ** 2;
			blocks++;
		}
	}
	const root = (v: number) => Math.sqrt(v / Math.max(1, blocks));
	return { constant: root(errors.constant), step: root(errors.step), trend: root(errors.trend) };
}

/** Share of the squared error of a constant that a form's prediction does away with; negative where it is worse. */
export function gain(scores: Scores, form: 'step' | 'trend'): number {
	return scores.constant > 0 ? 1 - (scores[form] / scores.constant) ** 2 : 0;
}

/** The moment of the best step over all fills: within the fill where the mass fits best. */
export function bestStep(
	series: Series,
	/** Times at the mass quantiles 0, 0.1, …, 1 of each fill. */
	within: readonly Float64Array[],
): number {
	const { n, ratio, account_kg } = series;
	let best = Number.POSITIVE_INFINITY;
	let at = series.start_s[1] ?? series.start_s[0]!;
	for (let f = 1; f < n - 1; f++) {
		const q = within[f]!.length - 1;
		for (let k = 0; k < q; k++) {
			// Share of each fill after the change.
			const after = (i: number) => (i < f ? 0 : i > f ? 1 : 1 - k / q);
			let w = 0;
			let sx = 0;
			let sy = 0;
			let sxx = 0;
			let sxy = 0;
			let syy = 0;
			for (let i = 0; i < n; i++) {
				const m = account_kg[i]!;
				const x = after(i);
				const y = ratio[i]!;
				w += m;
				sx += m * x;
				sy += m * y;
				sxx += m * x * x;
				sxy += m * x * y;
				syy += m * y * y;
			}
			const xx = sxx - (sx * sx) / w;
			if (!(xx > 0)) continue;
			const left = syy - (sy * sy) / w - (sxy - (sx * sy) / w) ** 2 / xx;
			if (left < best) {
				best = left;
				at = within[f]![k]!;
			}
		}
	}
	return at;
}
