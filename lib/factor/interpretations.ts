import { TANK } from '../model/index.ts';
import { type Scatter, USUAL_SCATTER } from '../tank/index.ts';
import type { Chain } from './chain/chain.ts';
import type { Play, Rests } from './chain/play.ts';
import { restsCost, withoutRests } from './chain/weights.ts';
import { type Choice, chooseForm, stepAt, trendOf } from './form/choose.ts';
import { acceptsCurve } from './form/curve.ts';
import { CONSTANT, type Shape } from './form/shape.ts';
import { cartStep, type Interpretation } from './hypotheses.ts';
import { findOutliers, type Outliers } from './outliers.ts';
import { constants, type Premises, playOf } from './premises.ts';

/** Finds the outliers among the weights, with constant factors. */
export function outliersOf(premises: Premises, rests: Rests): Outliers {
	const { chain } = premises;
	const play = playOf(premises, constants(premises), rests, USUAL_SCATTER);
	// After a step of the cart's scale, right weights would look like outliers.
	const cart = premises.input.match.scaleChanged ? cartStep(chain, play) : null;
	return findOutliers(chain, cart ? { ...play, cart } : play);
}

/** Settings that allow for outliers. */
export function withOutliers(play: Play, { rest, extraVariance }: Outliers): Play {
	return { ...play, rest, extraVariance };
}

/**
 * The interpretations of the weights: as the match has them, and, where it has grain left in tanks that nobody noted, with
 * emptied tanks. The match assumes a constant factor, so it may explain a change of it by such grain.
 *
 * @param matched - outliers with the match's tanks
 * @param size - sizes of errors with these
 */
export function interpretationsOf(premises: Premises, matched: Outliers, size: Scatter): Interpretation[] {
	const { input, rest, noted, coverage, forms } = premises;
	const { match, records } = input;
	const first = interpretation(premises, size, matched, []);
	const strained = records.combines.flatMap((_, c) => {
		const left = match.unloadings.some((u, i) => u.combine === c && rest.u_kg[i]! > TANK.broad_kg && !noted.has(i));
		return left && coverage.own[c]! > 0 && !forms[c] ? [c] : [];
	});
	if (strained.length === 0) return [first];
	const emptied = strained.reduce((r, c) => withoutRests(match, r, c, noted), rest);
	return [first, interpretation(premises, size, outliersOf(premises, emptied), strained)];
}

/** The forms of the factors that weights show, each chosen by its own test. */
function interpretation(
	premises: Premises,
	size: Scatter,
	outliers: Outliers,
	reconsidered: readonly number[],
): Interpretation {
	const { input, chain, coverage, forms, events, flows, noted } = premises;
	const settings = (shapes: Shape[]) => withOutliers(playOf(premises, shapes, outliers.rest, size), outliers);
	const play = settings(constants(premises));
	const choices = forms.map((form, c) => {
		if (coverage.own[c] === 0) return null;
		const choice = chooseForm(chain, play, c, events[c]!);
		return form ? { ...choice, shape: shapeByHand(chain, choice, { form, combine: c, events: events[c]! }) } : choice;
	});
	const shapes = choices.map((c) => c?.shape ?? CONSTANT);
	forms.forEach((form, c) => {
		const open = shapes[c]!.form === 'constant' && !form && coverage.own[c]! > 0;
		if (form !== 'flow' && !open) return;
		const shape = flows.curves[c]!;
		const curved = settings(shapes.map((s, k) => (k === c ? shape : s)));
		if (form === 'flow' || acceptsCurve(chain, { ...play, shapes }, curved, flows.slopes[c]!)) shapes[c] = shape;
	});
	const cost = restsCost(input, outliers.rest, noted);
	return { outliers, choices, shapes, reconsidered, cost };
}

/** The shape of a form set by hand; a step falls on a noted event, else in the middle. */
function shapeByHand(
	chain: Chain,
	choice: Choice,
	{ form, combine, events }: { form: Shape['form']; combine: number; events: readonly number[] },
): Shape {
	if (form === choice.shape.form) return choice.shape;
	if (form === 'trend') return trendOf(chain, combine) ?? CONSTANT;
	if (form !== 'step') return CONSTANT;
	const own = chain.time.segments.filter((s) => s.combine === combine && s.pieces.length > 0);
	const moment = events[0] ?? own[own.length >> 1]?.pieces[0]?.start_s;
	return moment === undefined ? CONSTANT : stepAt(moment);
}
