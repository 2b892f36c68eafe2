import { CART, MONITOR, TANK } from '../model/instrument.ts';
import { backward } from './backward.ts';
import { courseOf } from './slow.ts';
import { flowIn, layout, unload, weigh } from './tank.ts';
import { Tape } from './tape.ts';

/** Grain that went into one combine's tank before an unloading, and the weight of that unloading. */
export interface TankFill {
	/** By the monitor, kg. */
	monitor_kg: number;
	/** Time over which it came in, seconds. */
	seconds: number;
	/** On the cart's scale, kg; NaN = not weighed. */
	weight_kg: number;
	/** False where grain may have stayed in the tank. */
	emptied?: boolean;
}

/** Estimates for a monitor and its tank. */
export interface TankEstimate {
	/** Reference mass over monitor mass, and its relative standard uncertainty. */
	factor: number;
	u_rel: number;
	/** Grain that stayed in the tank after each unloading, kg. */
	rest_kg: Float64Array;
	/** Each weight less its prediction from all the others, kg, and the standard uncertainty of that; NaN = not weighed. */
	residual_kg: Float64Array;
	u_residual_kg: Float64Array;
}

/**
 * One combine's monitor against the weights of its unloadings: weight = factor × what came in + what was in the tank
 * before − what stayed. One forward pass of a Kalman filter and one backward pass of the smoother; time is linear in the fills.
 *
 * Source: J. Durbin and S. J. Koopman, Time Series Analysis by State Space Methods, 2nd ed., Oxford 2012, chapter 4; error
 * sizes of monitors, tanks and scales: `MONITOR`, `TANK` and `CART` of the model.
 *
 * @param fills - in order of time
 * @param scale_u_rel - common error of the cart's scale, relative standard uncertainty
 * @throws RangeError where nothing was weighed or a mass is not a positive number
 *
 * @example
 * A monitor that reads 5 % low; the third weight was saved 400 kg too early:
 * ```js
 * const weights = [6300, 6090, 5900, 6405];
 * const fills = weights.map((weight_kg, k) => ({ monitor_kg: [6000, 5800, 6000, 6100][k], seconds: 900, weight_kg }));
 * const { residual_kg } = tankModel(fills);
 * residual_kg.indexOf(Math.min(...residual_kg)); // → 2
 * tankModel(fills.filter((_, k) => k !== 2)).factor.toFixed(2); // → '1.05'
 * ```
 */
export function tankModel(fills: readonly TankFill[], scale_u_rel = 0): TankEstimate {
	for (const [k, { monitor_kg }] of fills.entries()) {
		if (!(monitor_kg > 0))
			throw new RangeError(`tankModel: fill ${k} needs a positive monitor_kg, found ${monitor_kg}`);
	}
	const weighed = fills.filter((f) => f.weight_kg > 0);
	if (weighed.length === 0) throw new RangeError('tankModel: no fill has a positive weight_kg');
	const sum = (of: (f: TankFill) => number) => weighed.reduce((s, f) => s + of(f), 0);
	const rough = sum((f) => f.weight_kg) / sum((f) => f.monitor_kg);

	const at = layout([1], 1, 1, false);
	const tape = new Tape(at.n);
	tape.set(at.factor[0]!, 1, MONITOR.factor ** 2, 'prior');
	tape.set(at.slow[0]!, 0, MONITOR.slow ** 2, 'slow');
	tape.set(at.level[0]!, 0, TANK.clinging_kg ** 2, 'rest');
	tape.set(at.cart[0]!, 0, scale_u_rel ** 2, 'prior');
	for (const [k, fill] of fills.entries()) {
		const { monitor_kg, seconds, weight_kg, emptied = true } = fill;
		const course = courseOf(0, seconds, MONITOR.slow_s);
		flowIn(tape, at, { combine: 0, course, basis_kg: [monitor_kg], rough, white: MONITOR.fill }, MONITOR.slow);
		const scale = weight_kg > 0 ? at.free : [];
		for (const place of scale) tape.set(place, 0, 0, 'weight');
		const share = emptied ? 0 : TANK.restShare * rough * monitor_kg;
		unload(tape, at, 0, scale, { kg: share, u_kg: emptied ? TANK.clinging_kg : share, key: k });
		if (scale.length === 0) continue;
		tape.key = k;
		const own = CART.reading_a_kg ** 2 + (CART.reading_b_rel * weight_kg) ** 2;
		const variance = 2 * own + (CART.stand_rel * weight_kg) ** 2;
		weigh(tape, at, at.free[0]!, { kg: weight_kg, variance, before: -1, after: -1, cart_kg: [weight_kg] });
	}
	const { leftOut, marks } = backward(tape);
	const out = (of: readonly { key: number }[], value: (k: number) => number) => {
		const column = new Float64Array(fills.length).fill(Number.NaN);
		for (const [k, { key }] of of.entries()) column[key] = value(k);
		return column;
	};
	const factor = tape.x[at.factor[0]!]!;
	return {
		factor,
		u_rel: Math.sqrt(tape.P[at.factor[0]! * at.n + at.factor[0]!]!) / factor,
		rest_kg: out(marks, (k) => marks[k]!.mean),
		residual_kg: out(leftOut, (k) => leftOut[k]!.residual),
		u_residual_kg: out(leftOut, (k) => Math.sqrt(leftOut[k]!.variance)),
	};
}
