import type { ErrorModel } from '../../model/index.ts';
import { type Supports, supportsOf } from '../records/support.ts';
import { ASKED, drawSamples, predictAll, type Sample, shapeCrop } from './draw-samples.ts';
import { backward, cholesky, forward, Kriging } from './krige.ts';
import type { Segments } from './segments.ts';

/** Number of segments predicted from their neighbors to estimate the model. */
const SAMPLE = 400;

/**
 * Priors and their standard deviations (natural log): monitors have slow errors of about one percent, receivers wander
 * by a decimeter or two on a header of several meters (common practice). The other priors are nearly flat, since fields
 * determine them well. In the order sill, white, pass, slow.
 */
const PRIOR: readonly (readonly [number, number])[] = [
	[Math.log(0.08), 1.5],
	[Math.log(0.05), 1.5],
	[Math.log(0.01), 0.6],
	[Math.log(0.009), 0.5],
];
const PRIOR_RANGE_M: readonly [number, number] = [Math.log(40), 1.2];
/** Ranges tried, from a header's width to a field's, meters. */
const RANGES_M = [12, 20, 33, 55, 90, 150];

/** Largest prediction error counted, in standard deviations, so that a few bad stretches do not affect the rest. */
const HELD = 3;
/** Most steps of the search at one range, and the gain in log density at which it ends. */
const TURNS = 12;
const ENOUGH = 1e-3;

interface Found {
	/** Natural logs of sill, white, pass, slow. */
	point: number[];
	logRange: number;
	/** Log density with its prior, sign changed. */
	cost: number;
}

/**
 * Estimates the error model by how well segments are predicted from their neighbors (ordinary kriging): it maximizes the
 * product of the predictive densities, a composite likelihood, with densities robust against outliers. Half of the
 * segments are predicted without their own pass, which is needed to see the error of a whole pass.
 *
 * Source: Vecchia 1988, *JRSS B* 50:297, for likelihoods from small neighborhoods.
 *
 * @param relative - segments' yields over the field's mean
 * @param near - a model known to be close; the search stays around it
 */
export function learnErrors(
	segments: Segments,
	relative: Float64Array,
	smear_s: readonly number[],
	near?: ErrorModel,
): { model: ErrorModel; logLikelihood: number } {
	const supports = supportsOf(segments, smear_s);
	const search = new Search(drawSamples(segments, SAMPLE), supports, relative);
	if (near) {
		let start = [near.sill, near.white, near.pass, near.slow].map(Math.log);
		for (const side of [0, -0.3, 0.3]) start = search.at(Math.log(near.range_m) + side, start).point;
	} else {
		// The likelihood is flat in range and may have two maxima: scan all ranges, then refine around the best.
		let start = PRIOR.map(([mean]) => mean);
		for (const range_m of RANGES_M) start = search.at(Math.log(range_m), start).point;
		const { logRange, point } = search.best!;
		for (const side of [-0.25, 0.25]) search.at(logRange + side, point);
	}
	const { point, logRange, cost } = search.best!;
	return { model: modelOf(point, logRange), logLikelihood: -cost };
}

/** Squared relative errors of segments predicted from other passes; NaN where not predicted. */
export function neighborMisses(
	segments: Segments,
	relative: Float64Array,
	smear_s: readonly number[],
	model: ErrorModel,
): Float64Array {
	const samples = drawSamples(segments, 3 * SAMPLE).filter((_, k) => k % 2 === 1);
	const supports = supportsOf(segments, smear_s);
	for (const sample of samples) shapeCrop(sample, supports, model.range_m);
	const misses = new Float64Array(samples.length).fill(Number.NaN);
	predictAll(samples, relative, model, new Kriging(ASKED), (miss, _, k) => {
		misses[k] = miss * miss;
	});
	return misses;
}

function modelOf(point: readonly number[], logRange: number): ErrorModel {
	const [sill, white, pass, slow] = point.map(Math.exp) as [number, number, number, number];
	return { sill, white, pass, slow, range_m: Math.exp(logRange) };
}

class Search {
	best: Found | null = null;
	private readonly work = new Kriging(ASKED);
	private readonly data = new Float64Array(ASKED);
	private readonly gradient = new Float64Array(4);
	private readonly information = new Float64Array(16);

	constructor(
		private readonly samples: readonly Sample[],
		private readonly supports: Supports,
		private readonly relative: Float64Array,
	) {}

	/** The best point at a range, by Fisher scoring with step halving. */
	at(logRange: number, start: readonly number[]): Found {
		for (const sample of this.samples) shapeCrop(sample, this.supports, Math.exp(logRange));
		let point = [...start];
		let cost = this.weigh(point, logRange);
		for (let turn = 0; turn < TURNS; turn++) {
			const step = this.step();
			const gain = step.reduce((sum, s, p) => sum + (s * this.gradient[p]!) / 2, 0);
			if (!(gain > ENOUGH)) break;
			const longest = Math.max(...step.map(Math.abs));
			let share = Math.min(1, 1 / longest);
			let next = point;
			let reached = Infinity;
			for (let halved = 0; halved < 5 && !(reached < cost); halved++, share /= 2) {
				next = point.map((v, p) => v - share * step[p]!);
				reached = this.weigh(next, logRange);
			}
			if (!(reached < cost)) break;
			[point, cost] = [next, reached];
		}
		const found = { point, logRange, cost };
		if (this.best === null || cost < this.best.cost) this.best = found;
		return found;
	}

	/** Information⁻¹ gradient. */
	private step(): number[] {
		const root = this.information.slice();
		const step = this.gradient.slice();
		if (!cholesky(root, 4, 4)) return [0, 0, 0, 0];
		forward(root, 4, 4, step);
		backward(root, 4, 4, step);
		return [...step];
	}

	/** Cost of a point; also sets its gradient and expected information. */
	private weigh(point: readonly number[], logRange: number): number {
		const { gradient, information, work, samples, relative, data } = this;
		const model = modelOf(point, logRange);
		let cost = 0.5 * ((logRange - PRIOR_RANGE_M[0]) / PRIOR_RANGE_M[1]) ** 2;
		information.fill(0);
		PRIOR.forEach(([mean, u], p) => {
			cost += 0.5 * ((point[p]! - mean) / u) ** 2;
			gradient[p] = (point[p]! - mean) / u ** 2;
			information[5 * p] = 1 / u ** 2;
		});
		const squares = [model.sill, model.white, model.pass, model.slow].map((v) => 2 * v * v);
		const dv = new Float64Array(4);
		const dm = new Float64Array(4);
		predictAll(samples, relative, model, work, (miss, variance, s) => {
			const sample = samples[s]!;
			const n = sample.members.length - 1;
			for (let i = 0; i < n; i++) data[i] = relative[sample.members[i]!]!;
			work.lean(n, data);
			slopes(sample, work, squares, dv, dm);
			const off = (miss * miss) / variance;
			const held = off > HELD * HELD;
			cost += 0.5 * (Math.log(variance) + (held ? HELD * HELD : off));
			for (let p = 0; p < 4; p++) {
				gradient[p]! += (0.5 * dv[p]! * (held ? 1 : 1 - off) + (held ? 0 : miss * dm[p]!)) / variance;
				for (let q = 0; q <= p; q++) {
					const both = (0.5 * dv[p]! * dv[q]!) / variance + (held ? 0 : dm[p]! * dm[q]!);
					information[4 * p + q]! += both / variance;
				}
			}
		});
		return cost;
	}
}

/**
 * Derivatives of a sample's kriging variance and prediction error by the logs of sill, white, pass and slow. With
 * e = (w, −1) over data and target, C_p a part's covariances and g the weighted residuals (`Kriging.lean`):
 *   dvariance = 2 θ² eᵀ C_p e (the weights are optimal, so their change drops out), dmiss = 2 θ² gᵀ C_p e.
 */
function slopes(
	sample: Sample,
	{ weights, leaned: g }: Kriging,
	squares: readonly number[],
	dv: Float64Array,
	dm: Float64Array,
): void {
	const { crop, samePass, slow, share } = sample;
	const n = sample.members.length - 1;
	let [vCrop, vWhite, vPass, vSlow, mCrop, mWhite, mPass, mSlow] = [0, 0, 0, 0, 0, 0, 0, 0];
	let k = 0;
	for (let i = 0; i <= n; i++) {
		const ei = i < n ? weights[i]! : -1;
		const gi = i < n ? g[i]! : 0;
		for (let j = 0; j < i; j++, k++) {
			const v = 2 * ei * weights[j]!;
			const m = gi * weights[j]! + ei * g[j]!;
			vCrop += v * crop[k]!;
			mCrop += m * crop[k]!;
			vPass += v * samePass[k]!;
			mPass += m * samePass[k]!;
			vSlow += v * slow[k]!;
			mSlow += m * slow[k]!;
		}
		const v = ei * ei;
		const m = gi * ei;
		vCrop += v * crop[k]!;
		mCrop += m * crop[k]!;
		vPass += v;
		mPass += m;
		vSlow += v * slow[k]!;
		mSlow += m * slow[k]!;
		vWhite += v * share[i]!;
		mWhite += m * share[i]!;
		k++;
	}
	dv[0] = squares[0]! * vCrop;
	dv[1] = squares[1]! * vWhite;
	dv[2] = squares[2]! * vPass;
	dv[3] = squares[3]! * vSlow;
	dm[0] = squares[0]! * mCrop;
	dm[1] = squares[1]! * mWhite;
	dm[2] = squares[2]! * mPass;
	dm[3] = squares[3]! * mSlow;
}
