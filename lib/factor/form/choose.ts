import { greatest } from 'd3-array';
import { firstFrom } from '../../stats/index.ts';
import { backward } from '../../tank/index.ts';
import { CART_KEY } from '../chain/cart-form.ts';
import { type Chain, ownWeights } from '../chain/chain.ts';
import { type Play, STEP_KEY, taped } from '../chain/play.ts';
import { CONSTANT, type Shape } from './shape.ts';

/** The form chosen for one combine, and the evidence for it. */
export interface Choice {
	shape: Shape;
	/** Root mean square error in the mass of held-out blocks, relative, by form; absent where not tried. */
	tried: { form: Shape['form']; score: number }[];
	/** Reduction of misfit by each form (see `gained`), to compare with `THRESHOLD`; absent where not tried. */
	gains: { searched?: number; noted?: number; drift?: number };
	/** The step is at an event that was entered. */
	noted: boolean;
}

/**
 * Least gain of a form (see `gained`): exceeded in at most 1 % of simulated fields with a constant factor, slow errors of 0.4
 * to 1.1 % over 10 to 40 minutes, 5 to 40 weights, grain left in tanks and bad weights (test/factor/threshold.ts). The
 * threshold is higher where the moment was searched for.
 */
const THRESHOLD = { searched: 9.5, noted: 3.5, drift: 5 };
/** Fewest weights for a form without an entered event, and with one. */
export const FEWEST = 5;
const FEWEST_NOTED = 4;
/** Largest slow error assumed while forms are compared, relative standard deviation. */
const USED_SIGMA = 0.01;

/**
 * Number of fills held out together: slow errors make neighbors similar, so a single one would be predicted by its neighbor.
 * With fewer than eight, two would too often be all there is on one side of a step.
 */
function blockSize(n: number): number {
	return n < 8 ? 1 : n < 12 ? 2 : 3;
}

/** How well held-out blocks of one combine's weights are predicted with these shapes. */
export interface Prediction {
	/** Mahalanobis misfit of the blocks, number of weights in them, and relative error of their mass. */
	misfit: number;
	count: number;
	relative: number;
	/** Reduction of −2 log-likelihood of all weights by the form's last coefficient. */
	taken: number;
	/** Squared standardized error of each weight as predicted by all others. */
	singles: Map<number, number>;
	/** Moments at which a step of this combine's factor may fall: reduction of the misfit of all weights, by chain step. */
	steps: { index: number; gain: number; shock: number }[];
}

/** Predicts one combine's weights in blocks, each from all weights outside the block. */
export function predict(chain: Chain, play: Play, combine: number, own: readonly number[]): Prediction {
	const { at, tape } = taped(chain, play);
	const place = new Map(own.map((w, i) => [w, i]));
	const size = blockSize(own.length);
	let misfit = 0;
	let count = 0;
	let squares = 0;
	let weights = 0;
	// Two sets of blocks, shifted by half a block.
	const sets = [...new Set([0, Math.floor(size / 2)])].map((shift) => (key: number) => {
		const i = place.get(key);
		return i === undefined ? -1 : Math.floor((i + size - shift) / size);
	});
	const back = backward(tape, ...sets);
	for (const block of back.blocks.flat()) {
		if (block.keys.length < Math.min(2, size)) continue;
		misfit += block.misfit;
		count += block.keys.length;
		const kg = block.keys.reduce((s, w) => s + chain.match.weighings[w]!.reference_kg, 0);
		const off = block.residuals.reduce((s, v) => s + v, 0);
		squares += off * off;
		weights += kg * kg;
	}
	const steps = back.marks
		.filter((m) => m.key >= STEP_KEY && m.key < CART_KEY)
		.map((m) => ({ index: m.key - STEP_KEY, gain: m.gain, shock: m.shock }))
		.filter(({ index }) => {
			const step = chain.steps[index]!;
			return step.do === 'in' && chain.time.segments[step.segment]!.combine === combine;
		});
	const slot = at.factor[combine]! + at.sizes[combine]! - 1;
	return {
		taken: tape.x[slot]! ** 2 / tape.P[slot * tape.n + slot]!,
		singles: new Map(back.leftOut.map((l) => [l.key, l.residual ** 2 / l.variance])),
		misfit: misfit / sets.length,
		count: Math.max(1, count / sets.length),
		relative: Math.sqrt(squares / (weights || 1)),
		steps,
	};
}

/**
 * Reduction of misfit by a form, less the contribution of the weight that favors it most, and divided by the misfit per weight
 * that it leaves where that exceeds 1; 0 where it does not predict held-out blocks better.
 */
function gained(constant: Prediction, form: Prediction): number {
	if (!(form.misfit < constant.misfit)) return 0;
	let most = 0;
	for (const [w, without] of constant.singles) most = Math.max(most, without - form.singles.get(w)!);
	return (form.taken - most) / Math.max(1, form.misfit / form.count);
}

/**
 * Chooses a combine's form: constant, unless a step or a trend predicts held-out blocks of weights better and its gain exceeds
 * the threshold from simulated constant fields. A step at an entered event takes precedence, and a factor that changed may have
 * changed once more.
 *
 * @param play - with the shapes of the other combines
 * @param events - known moments, seconds
 */
export function chooseForm(chain: Chain, play: Play, combine: number, events: readonly number[]): Choice {
	const change = (from: Shape, known: readonly number[] = events) => changeOf(chain, play, combine, known, from);
	const { added_s: _, ...first } = change(CONSTANT);
	let choice: Choice = first;
	for (const moment of first.shape === CONSTANT ? events : []) {
		// Down and up again shows neither change without the other: each must pass beside the other.
		const second = change(stepAt(moment));
		const other = second.added_s[0];
		if (other === undefined) continue;
		const back = change(stepAt(other), [moment]);
		if (back.added_s.length === 0) continue;
		choice = { ...first, shape: back.shape, noted: second.noted && back.noted };
		break;
	}
	while (choice.shape.form === 'step') {
		const more = change(choice.shape);
		if (more.added_s.length === 0) break;
		choice = { ...first, shape: more.shape, noted: choice.noted && more.noted };
	}
	return choice;
}

/** A choice with the change that it adds. */
interface Changed extends Choice {
	added_s: number[];
}

/** One more change of a factor of this shape, if the weights show it. */
function changeOf(chain: Chain, play: Play, combine: number, events: readonly number[], from: Shape): Changed {
	const own = ownWeights(chain, combine);
	const n = own.length;
	const none: Changed = {
		shape: from,
		added_s: [],
		tried: [],
		gains: {},
		noted: false,
	};
	if (n < FEWEST_NOTED) return none;
	const used: Play = { ...play, sigma: Math.min(play.sigma, USED_SIGMA) };
	const as = (shape: Shape) =>
		predict(chain, { ...used, shapes: used.shapes.map((s, c) => (c === combine ? shape : s)) }, combine, own);
	const constant = as(from);
	const choice: Changed = {
		...none,
		tried: [{ form: 'constant', score: constant.relative }],
	};
	const middles = middlesOf(chain, combine, own);
	const isOpen = (moment: number, least: number) =>
		enoughOnBothSides(between(middles, from.changes_s, moment), moment, least);
	const again = (moment: number): Shape => ({ ...stepAt(moment), changes_s: [...from.changes_s, moment] });
	const candidates: { shape: Shape; found: Prediction; by: keyof typeof THRESHOLD }[] = [];
	for (const moment of events) {
		const shape = again(moment);
		if (from.changes_s.includes(moment) || !isOpen(moment, 1)) continue;
		candidates.push({ shape, found: as(shape), by: 'noted' });
	}
	if (n >= FEWEST) {
		const trend = from === CONSTANT ? trendOf(chain, combine) : null;
		if (trend) candidates.push({ shape: trend, found: as(trend), by: 'drift' });
		const least = blockSize(n) + 1;
		const moments = constant.steps.filter((s) => isOpen(startOf(chain, s.index), least));
		const best = greatest(moments, (m) => m.gain);
		if (best) {
			const shape = again(startOf(chain, best.index));
			candidates.push({ shape, found: as(shape), by: 'searched' });
		}
	}
	for (const form of ['step', 'trend'] as const) {
		const of = candidates.filter((c) => c.shape.form === form);
		if (of.length > 0) choice.tried.push({ form, score: Math.min(...of.map((c) => c.found.relative)) });
	}
	const judged = candidates.map((c) => ({ ...c, gain: gained(constant, c.found) }));
	for (const { by, gain } of judged) choice.gains[by] = Math.max(gain, choice.gains[by] ?? -Infinity);
	// The form that exceeds its threshold most; an entered event takes precedence unless another moment is much better.
	const passed = judged
		.map((c) => ({ ...c, over: c.gain - THRESHOLD[c.by] }))
		.filter((c) => c.over > 0)
		.sort((a, b) => b.over - a.over);
	const noted = passed.find((c) => c.by === 'noted');
	const best = passed[0];
	if (!best) return choice;
	const taken = noted && best.over < noted.over + THRESHOLD.searched ? noted : best;
	return {
		...choice,
		added_s: taken.shape.changes_s.slice(from.changes_s.length),
		shape: { ...taken.shape, changes_s: taken.shape.changes_s.toSorted((a, b) => a - b) },
		noted: taken.by === 'noted',
	};
}

/** The weights between the changes on either side of a moment, by their middles. */
function between(middles: Float64Array, changes_s: readonly number[], moment: number): Float64Array {
	const from = Math.max(-Infinity, ...changes_s.filter((t) => t <= moment));
	const to = Math.min(Infinity, ...changes_s.filter((t) => t > moment));
	return middles.filter((t) => t >= from && t < to);
}

/** A step at one moment. */
export function stepAt(time_s: number): Shape {
	return { ...CONSTANT, form: 'step', changes_s: [time_s] };
}

function startOf(chain: Chain, index: number): number {
	const step = chain.steps[index]!;
	return step.do === 'in' ? chain.time.segments[step.segment]!.pieces[step.piece]!.start_s : Number.NaN;
}

/** Whether at least `least` weights lie on either side of a moment, by their middles. */
function enoughOnBothSides(middles: Float64Array, moment: number, least: number): boolean {
	const before = firstFrom(middles, moment);
	return before >= least && middles.length - before >= least;
}

/** When half of the grain of each weight had come in, sorted. A fill is on the side of a moment where most of its grain came in. */
function middlesOf(chain: Chain, combine: number, own: readonly number[]): Float64Array {
	const middles = new Float64Array(own.length);
	own.forEach((w, i) => {
		const pieces = chain.match.weighings[w]!.unloadings.flatMap((u) => {
			const segment = chain.time.segments[chain.time.ofUnloading[u]!];
			return segment?.combine === combine ? segment.pieces : [];
		});
		const all = pieces.reduce((sum, p) => sum + p.kg, 0);
		let early = 0;
		middles[i] = -Infinity;
		for (const p of pieces) {
			if (early >= 0.5 * all) break;
			early += p.kg;
			middles[i] = p.time_s;
		}
	});
	return middles.sort();
}

/** A straight line over the time that was weighed; null where there is none. */
export function trendOf(chain: Chain, combine: number): Shape | null {
	let start = Infinity;
	let end = -Infinity;
	for (const w of ownWeights(chain, combine)) {
		for (const u of chain.match.weighings[w]!.unloadings) {
			for (const p of chain.time.segments[chain.time.ofUnloading[u]!]?.pieces ?? []) {
				start = Math.min(start, p.start_s);
				end = Math.max(end, p.end_s);
			}
		}
	}
	if (!(end > start)) return null;
	return { ...CONSTANT, form: 'trend', middle_s: (start + end) / 2, half_s: Math.max(1, (end - start) / 2) };
}
