import { cholesky, quantile, seeded, tQuantile } from '../stats/index.ts';
import type { FlowSlope } from './flow.ts';
import { inverse, Predictor, type Series } from './series.ts';

/** What the choice of form came to for one combine. */
export interface Choice {
	form: 'constant' | 'step' | 'trend' | 'flow';
	/** Root mean square of the standardised errors of left-out blocks; NaN where not tried. */
	scores: { constant: number; step: number; trend: number };
	/** Gain that chance and slow errors reach in simulated constant fields, at the false-alarm rate. */
	threshold: number;
	/** When the step happened, seconds; NaN without one. */
	change_s: number;
	/** Index of the known event that the step follows, −1 where the moment was found. */
	event: number;
}

/** A false alarm costs more than a missed form: at most this share of constant combines may end otherwise. */
const FALSE_ALARM = 0.005;
/** A known event needs less proof: its moment was not searched for. */
const FALSE_ALARM_EVENT = 0.025;
/** A flow curve, told by the seams. */
const FALSE_ALARM_FLOW = 0.005;
/** A form that does away with less of the squared error than this is not worth its risk, whatever the simulation says. */
const LEAST_GAIN = 0.4;
const LEAST_GAIN_EVENT = 0.2;
/** A flow curve that moves the passes by less than this (relative, one standard deviation) does the map no good. */
const LEAST_CURVE = 0.004;
/** Fewest weights for a form that was not announced. */
const FEWEST = 6;
const DRAWS = 500;

/**
 * Chooses a combine's form: the one that predicts left-out blocks of weights best, where it does away with more of the
 * squared error of a constant than it does in simulated constant fields with slow errors.
 *
 * @param V covariance of the weights as they are used
 * @param nullV the same with slow errors as long as they may be and as large as the scatter about a constant: the null
 *   from which a form must stand out
 * @param events known moments, seconds
 */
export function chooseForm(
	series: Series,
	V: Float64Array,
	nullV: Float64Array,
	flow: FlowSlope,
	events: readonly number[],
	seed: number,
): Choice {
	const { n } = series;
	const choice: Choice = {
		form: 'constant',
		scores: { constant: Number.NaN, step: Number.NaN, trend: Number.NaN },
		threshold: Number.NaN,
		change_s: Number.NaN,
		event: -1,
	};
	if (n >= 4) byWeights(series, V, nullV, events, seed, choice);
	if (choice.form === 'constant' && flow.why === null) {
		const t = Math.abs(flow.slope) / flow.u;
		if (t > tQuantile(1 - FALSE_ALARM_FLOW / 2, flow.df) && Math.abs(flow.slope) * flow.spread_kg_s > LEAST_CURVE) {
			choice.form = 'flow';
		}
	}
	return choice;
}

function byWeights(
	series: Series,
	V: Float64Array,
	nullV: Float64Array,
	events: readonly number[],
	seed: number,
	choice: Choice,
): void {
	const { n, y, account_kg, time_s } = series;
	const W = inverse(V, n);
	const middle = time_s.reduce((a, b) => a + b, 0) / n;
	const slope = account_kg.map((m, i) => (m * (time_s[i]! - middle)) / 3600);
	const constant = new Predictor(W, n, [account_kg]);
	const trend = new Predictor(W, n, [account_kg, slope]);
	const step = (after: Float64Array) => new Predictor(W, n, [account_kg, after]);
	const L = cholesky(nullV, n);
	const random = seeded(seed);
	const draw = () => {
		const z = Float64Array.from({ length: n }, () => random.normal());
		return account_kg.map((m, i) => {
			let sum = m;
			for (let j = 0; j <= i; j++) sum += L[i * n + j]! * z[j]!;
			return sum;
		});
	};
	const level = constant.score(y);
	const gainOf = (score: number, of: number) => 1 - score / of;
	choice.scores.constant = Math.sqrt(level);
	const trendScore = trend.score(y);
	choice.scores.trend = Math.sqrt(trendScore);

	// Known events go first.
	for (const [e, at] of events.entries()) {
		const after = afterOf(series, at);
		if (!after) continue;
		const known = step(after);
		const score = known.score(y);
		const own = gainOf(score, level);
		const chance = Float64Array.from({ length: DRAWS }, () => {
			const d = draw();
			return gainOf(known.score(d), constant.score(d));
		}).sort();
		const threshold = Math.max(LEAST_GAIN_EVENT, quantile(chance, 1 - FALSE_ALARM_EVENT));
		if (own > threshold && own > gainOf(trendScore, level)) {
			choice.form = 'step';
			choice.event = e;
			choice.change_s = at;
			choice.threshold = threshold;
			choice.scores.step = Math.sqrt(score);
			return;
		}
	}
	if (n < FEWEST) return;

	// Every moment that leaves two weights on either side.
	const moments: { at: number; predictor: Predictor }[] = [];
	series.after_kg.forEach((after, k) => {
		const f = series.fill[k]!;
		if (f >= 2 && f <= n - 2) moments.push({ at: series.moments_s[k]!, predictor: step(after) });
	});
	const search = (of: Float64Array) => {
		let best = moments[0]!;
		let least = Number.POSITIVE_INFINITY;
		for (const m of moments) {
			const left = m.predictor.left(of);
			if (left < least) {
				least = left;
				best = m;
			}
		}
		return { at: best.at, score: best.predictor.score(of) };
	};
	const found = search(y);
	choice.scores.step = Math.sqrt(found.score);
	const chance = Float64Array.from({ length: DRAWS }, () => {
		const d = draw();
		return gainOf(Math.min(search(d).score, trend.score(d)), constant.score(d));
	}).sort();
	choice.threshold = Math.max(LEAST_GAIN, quantile(chance, 1 - FALSE_ALARM));
	const best = Math.min(found.score, trendScore);
	if (gainOf(best, level) > choice.threshold) {
		choice.form = found.score < trendScore ? 'step' : 'trend';
		if (choice.form === 'step') choice.change_s = found.at;
	}
}

/** Account mass of each weight that came in after a moment; null where all lie on one side. */
function afterOf(series: Series, at_s: number): Float64Array | null {
	const { moments_s, after_kg, account_kg, n } = series;
	let k = 0;
	while (k < moments_s.length && moments_s[k]! < at_s) k++;
	if (k === 0 || k >= moments_s.length) return null;
	// The nearer of the two known moments about it.
	const j = at_s - moments_s[k - 1]! < moments_s[k]! - at_s ? k - 1 : k;
	const after = after_kg[j]!;
	let before = 0;
	let behind = 0;
	for (let i = 0; i < n; i++) {
		if (after[i]! > 0.5 * account_kg[i]!) behind++;
		else before++;
	}
	return before > 0 && behind > 0 ? after : null;
}
