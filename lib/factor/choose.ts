import { cholesky, quantile, seeded, tQuantile } from '../stats/index.ts';
import type { FlowSlope } from './flow.ts';
import { crossValidate, gain, type Scores, type Series } from './series.ts';

/** What the choice of form came to for one combine. */
export interface Choice {
	form: 'constant' | 'step' | 'trend' | 'flow';
	scores: Scores;
	/** Gain that chance and slow errors reach in 1 % of simulated constant fields. */
	threshold: number;
	gains: { step: number; trend: number };
	/** Index of the known event that the step follows, −1 where the moment was found. */
	event: number;
}

/** A false alarm costs more than a missed form: at most this share of constant combines may end otherwise. */
const FALSE_ALARM = 0.01;
/** A known event needs less proof: its moment was not searched for. */
const FALSE_ALARM_EVENT = 0.025;
/** A flow curve, told by the seams. */
const FALSE_ALARM_FLOW = 0.005;
/** A form that explains less of the scatter than this is not worth its risk, whatever the simulation says. */
const LEAST_GAIN = 0.4;
/** A flow curve that moves the passes by less than this (relative, one standard deviation) does the map no good. */
const LEAST_CURVE = 0.004;
/** Fewest weights for a form that was not announced. */
const FEWEST = 6;
const DRAWS = 600;

/**
 * Chooses a combine's form: the one that predicts left-out blocks of fills best, where its gain over a constant is more
 * than slow errors make in simulated constant fields.
 *
 * @param covariance of the weights, kg², the slow error in it taken as long as it may be and as large as all of the
 *   scatter about a constant: the null from which forms must stand out
 * @param events index into the series of the first fill after each known event
 */
export function chooseForm(
	series: Series,
	covariance: Float64Array,
	flow: FlowSlope,
	events: readonly number[],
	seed: number,
): Choice {
	const { n, ratio, account_kg, time_s } = series;
	const scores =
		n >= 4 ? crossValidate(ratio, account_kg, time_s) : { constant: Number.NaN, step: Number.NaN, trend: Number.NaN };
	const choice: Choice = {
		form: 'constant',
		scores,
		threshold: Number.NaN,
		gains: { step: n >= 4 ? gain(scores, 'step') : 0, trend: n >= 4 ? gain(scores, 'trend') : 0 },
		event: -1,
	};
	if (n >= 4) {
		const L = cholesky(covariance, n);
		const random = seeded(seed);
		const draw = () => {
			const z = Float64Array.from({ length: n }, () => random.normal());
			return Float64Array.from({ length: n }, (_, i) => {
				let sum = 0;
				for (let j = 0; j <= i; j++) sum += L[i * n + j]! * z[j]!;
				return 1 + sum / account_kg[i]!;
			});
		};
		// Known events go first.
		for (let e = 0; e < events.length; e++) {
			const at = events[e]!;
			if (at < 1 || at > n - 1) continue;
			const own = gain(crossValidate(ratio, account_kg, time_s, at), 'step');
			const null_ = Float64Array.from({ length: DRAWS }, () =>
				gain(crossValidate(draw(), account_kg, time_s, at), 'step'),
			).sort();
			if (own > Math.max(0.2, quantile(null_, 1 - FALSE_ALARM_EVENT)) && own > choice.gains.trend) {
				choice.form = 'step';
				choice.event = e;
				choice.gains.step = own;
				return choice;
			}
		}
		if (n >= FEWEST) {
			const null_ = Float64Array.from({ length: DRAWS }, () => {
				const s = crossValidate(draw(), account_kg, time_s);
				return Math.max(gain(s, 'step'), gain(s, 'trend'));
			}).sort();
			choice.threshold = Math.max(LEAST_GAIN, quantile(null_, 1 - FALSE_ALARM));
			const form = choice.gains.step > choice.gains.trend ? 'step' : 'trend';
			if (choice.gains[form] > choice.threshold) choice.form = form;
		}
	}
	if (choice.form === 'constant' && flow.why === null) {
		const t = Math.abs(flow.slope) / flow.u;
		if (t > tQuantile(1 - FALSE_ALARM_FLOW / 2, flow.df) && Math.abs(flow.slope) * flow.spread_kg_s > LEAST_CURVE) {
			choice.form = 'flow';
		}
	}
	return choice;
}
