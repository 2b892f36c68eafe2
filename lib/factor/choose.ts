import { cholesky, quantile, seeded, tQuantile } from '../stats/index.ts';
import type { FlowSlope } from './flow.ts';
import { blockSize, inverse, Predictor, type Series } from './series.ts';

/** What the choice of form came to for one combine. */
export interface Choice {
	form: 'constant' | 'step' | 'trend' | 'flow';
	/** Root mean square error in the mass of left-out blocks, relative; NaN where not tried. */
	scores: { constant: number; step: number; trend: number; flow: number };
	/** Share of the squared standardised error of a constant that the best form does away with, and what chance reaches. */
	gain: number;
	threshold: number;
	/** −2 log-likelihood of the weights with a constant, and with the form chosen. */
	deviance: { constant: number; form: number };
	/** When the step happened, seconds; NaN without one. */
	change_s: number;
	/** Index of the known event that the step follows, −1 where the moment was found. */
	event: number;
}

/** A false alarm costs more than a missed form: at most this share of constant combines may end otherwise. */
const FALSE_ALARM = 0.005;
/**
 * The same for the gain as a share of the scatter that is there, whatever its size: it holds back where weights scatter
 * more than slow errors and scales explain.
 */
const FALSE_ALARM_SHARE = 0.1;
/** A known event needs less proof: its moment was not searched for. */
const FALSE_ALARM_EVENT = 0.025;
/** A flow curve, told by the seams. */
const FALSE_ALARM_FLOW = 0.002;
/** A form that does away with less of the squared error than this is not worth its risk, whatever the simulation says. */
const LEAST_GAIN = 0.4;
const LEAST_GAIN_EVENT = 0.2;
/** A flow curve that moves the passes by less than this (relative, one standard deviation) does the map little good. */
const LEAST_CURVE = 0.01;
/** Fewest weights for a form that was not announced. */
const FEWEST = 5;
const DRAWS = 500;
/** What a searched moment is worth in −2 log-likelihood: about the logarithm of the number of moments, twice. */
const SEARCHED = 6;

/**
 * Chooses a combine's form: the one that predicts left-out blocks of weights best, where it does away with more of the
 * squared error of a constant than it does in simulated constant fields with slow errors.
 *
 * @param V covariance of the weights as they are used
 * @param nullV the same with slow errors as long and as large as they may be: the null from which a form must stand out
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
		scores: { constant: Number.NaN, step: Number.NaN, trend: Number.NaN, flow: Number.NaN },
		gain: Number.NaN,
		threshold: Number.NaN,
		deviance: { constant: Number.NaN, form: Number.NaN },
		change_s: Number.NaN,
		event: -1,
	};
	if (n >= 4) byWeights(series, V, nullV, events, seed, choice);
	if (choice.form === 'constant' && flow.why === null) {
		const t = Math.abs(flow.slope) / flow.u;
		if (t > tQuantile(1 - FALSE_ALARM_FLOW / 2, flow.df) && Math.abs(flow.slope) * flow.spread_kg_s > LEAST_CURVE) {
			if (!contradicted(series, V, flow.slope, choice)) choice.form = 'flow';
		}
	}
	return choice;
}

/** A curve that the seams tell must not make the weights fit worse than this, in −2 log-likelihood. */
const CONTRADICTED = 4;

/** Do the weights speak against the curve of the seams? They also score it. */
function contradicted(series: Series, V: Float64Array, slope: number, choice: Choice): boolean {
	const { n, y, account_kg, flow_kg } = series;
	if (n < 4) return false;
	const constant = new Predictor(inverse(V, n), n, [account_kg]);
	const k = y.reduce((a, b) => a + b, 0) / account_kg.reduce((a, b) => a + b, 0);
	const level = y.map((v, i) => v - k * slope * flow_kg[i]!);
	choice.scores.flow = constant.relative(level, account_kg, V);
	return constant.left(level) > constant.left(y) + CONTRADICTED;
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
	const left = constant.left(y);
	const logDet = logDeterminant(V, n);
	choice.scores.constant = constant.relative(y, account_kg, V);
	choice.scores.trend = trend.relative(y, account_kg, V);
	choice.deviance = { constant: logDet + left, form: logDet + left };
	const own = { score: trend.score(y), left: trend.left(y) };

	// Known events go first.
	for (const [e, at] of events.entries()) {
		const after = afterOf(series, at);
		if (!after) continue;
		const known = step(after);
		const found: Fit = { score: known.score(y), left: known.left(y) };
		const chance = Array.from({ length: DRAWS }, () => {
			const d = draw();
			return compare(known.score(d), known.left(d), constant, d);
		});
		const limit = limits(chance, FALSE_ALARM_EVENT, FALSE_ALARM_EVENT);
		const gained = { share: 1 - found.score / level, size: left - found.left };
		if (
			gained.share > Math.max(LEAST_GAIN_EVENT, limit.share) &&
			gained.size > limit.size &&
			found.left < own.left + 6
		) {
			choice.form = 'step';
			choice.event = e;
			choice.change_s = at;
			choice.gain = gained.share;
			choice.threshold = limit.share;
			choice.deviance.form = logDet + found.left;
			choice.scores.step = known.relative(y, account_kg, V);
			return;
		}
	}
	if (n < FEWEST) return;

	// Every moment that leaves enough weights on either side for a block to be left out.
	const least = blockSize(n) + 1;
	const moments: { at: number; after: Float64Array; takes: Float64Array; predictor: Predictor | null }[] = [];
	series.after_kg.forEach((after, k) => {
		const f = series.fill[k]!;
		if (f < least || f > n - least) return;
		// What a step here takes away of the misfit is one product with y.
		moments.push({ at: series.moments_s[k]!, after, takes: constant.direction(after), predictor: null });
	});
	const search = (of: Float64Array) => {
		let best: (typeof moments)[number] | null = null;
		let most = 0;
		for (const m of moments) {
			let product = 0;
			for (let i = 0; i < n; i++) product += m.takes[i]! * of[i]!;
			if (product * product > most) {
				most = product * product;
				best = m;
			}
		}
		const predictor = best ? (best.predictor ??= step(best.after)) : null;
		return {
			best,
			predictor,
			left: constant.left(of) - most,
			score: predictor ? predictor.score(of) : Number.POSITIVE_INFINITY,
		};
	};
	const found = search(y);
	if (found.predictor) choice.scores.step = found.predictor.relative(y, account_kg, V);
	const chance = Array.from({ length: DRAWS }, () => {
		const d = draw();
		const s = search(d);
		const t = compare(trend.score(d), trend.left(d), constant, d);
		const u = compare(s.score, s.left, constant, d);
		return { share: Math.max(t.share, u.share), size: Math.max(t.size, u.size) };
	});
	const limit = limits(chance, FALSE_ALARM_SHARE, FALSE_ALARM);
	choice.threshold = Math.max(LEAST_GAIN, limit.share);
	// The moment of a step was searched for: it must pay for that.
	const better =
		found.best !== null && found.left + SEARCHED < own.left
			? { ...found, form: 'step' as const }
			: { ...own, form: 'trend' as const };
	choice.gain = 1 - better.score / level;
	if (!(choice.gain > choice.threshold) || !(left - better.left > limit.size)) return;
	if (!(choice.scores[better.form] < choice.scores.constant)) return;
	if (hangsOnOne(constant, better.form === 'step' ? found.predictor! : trend, y, left - better.left)) return;
	choice.form = better.form;
	choice.deviance.form = logDet + better.left;
	if (better.form === 'step') choice.change_s = found.best!.at;
}

/** A change shows in several weights: without any single one it must still fit better than a constant. */
function hangsOnOne(constant: Predictor, form: Predictor, y: Float64Array, gained: number): boolean {
	const without = form.singles(y);
	return constant.singles(y).some((taken, i) => gained - taken + without[i]! < SEARCHED);
}

interface Fit {
	score: number;
	left: number;
}

/** What a form gains over a constant on some weights: as a share of the squared block error, and in the fit itself. */
function compare(score: number, left: number, constant: Predictor, y: Float64Array) {
	return { share: 1 - score / constant.score(y), size: constant.left(y) - left };
}

/** Gains that simulated constant fields pass at the given rates. */
function limits(chance: readonly { share: number; size: number }[], share: number, size: number) {
	const at = (of: (c: (typeof chance)[number]) => number, rate: number) =>
		quantile(Float64Array.from(chance, of).sort(), 1 - rate);
	return { share: at((c) => c.share, share), size: at((c) => c.size, size) };
}

function logDeterminant(V: Float64Array, n: number): number {
	const L = cholesky(V, n);
	let sum = 0;
	for (let i = 0; i < n; i++) sum += 2 * Math.log(L[i * n + i]!);
	return sum;
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
