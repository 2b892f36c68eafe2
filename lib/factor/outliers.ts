import { CART, MONITOR, TANK } from '../model/index.ts';
import { backward } from '../tank/index.ts';
import type { Chain } from './chain/chain.ts';
import { type Play, type Rests, STEP_KEY, taped } from './chain/play.ts';

/** Errors larger than expected. */
export interface Outliers {
	/** Priors, wider where grain was left in the tank without a note. */
	rest: Rests;
	/** Variance added to weights that are outliers, kg², by index in Match.weighings. */
	extraVariance: Map<number, number>;
	aside: { weighing: number; reason: string }[];
}

/** Least reduction of −2 log-likelihood for grain left in a tank. By chance it reaches 20 once in 100,000. */
const CLEAR_REST = 20;
/** In one turn, outliers must lie at least this many weights apart: nearer ones are judged again once the first is allowed for. */
const NEAR = 4;

/**
 * Finds single bad weights, and grain left in the tank without a note, whatever the form of the factor: the shocks that most
 * reduce the misfit of all weights together. Where one fill is low and the next high by the same mass, grain was left in the
 * tank (never a negative amount); a single weight out of line is an outlier and is set aside.
 *
 * Source: the search for additive outliers of Chen and Liu, JASA 88:284, 1993, with two kinds of shock; each turn is one
 * forward and one backward pass.
 */
export function findOutliers(chain: Chain, play: Play): Outliers {
	const n = chain.order.length;
	const rest: Rests = { kg: play.rest.kg, u_kg: play.rest.u_kg.slice() };
	const extraVariance = new Map(play.extraVariance);
	const aside: Outliers['aside'] = [];
	const done = new Set<string>();
	const position = new Map(chain.order.map((w, i) => [w, i]));
	const ofUnloading = new Map<number, number>();
	for (const w of chain.order)
		for (const u of chain.match.weighings[w]!.unloadings) ofUnloading.set(u, position.get(w)!);
	for (let turn = 0; turn < n / 2 && n > 3; turn++) {
		const now: Play = { ...play, sigma: MONITOR.slowWide, rests: 1, rest, extraVariance };
		const { leftOut, marks } = backward(taped(chain, now).tape);
		const found: { excess: number; at: number; key: string; weighing: number; unloading: number; kg: number }[] = [];
		for (const m of marks) {
			if (m.key >= STEP_KEY || done.has(`u${m.key}`) || !(rest.u_kg[m.key]! <= TANK.broad_kg)) continue;
			const where = ofUnloading.get(m.key);
			if (where === undefined || !(m.shock > 0) || !(m.gain > CLEAR_REST)) continue;
			found.push({
				excess: m.gain - CLEAR_REST,
				at: where,
				key: `u${m.key}`,
				weighing: -1,
				unloading: m.key,
				kg: m.shock,
			});
		}
		for (const l of leftOut) {
			const gain = l.residual ** 2 / l.variance;
			const weight = chain.match.weighings[l.key]!.reference_kg;
			if (done.has(`w${l.key}`) || !(gain > CART.wrong_gain) || !(Math.abs(l.residual) > CART.wrong_rel * weight))
				continue;
			const where = position.get(l.key)!;
			found.push({
				excess: gain - CART.wrong_gain,
				at: where,
				key: `w${l.key}`,
				weighing: l.key,
				unloading: -1,
				kg: l.residual,
			});
		}
		if (found.length === 0) break;
		found.sort((a, b) => b.excess - a.excess);
		const chosen: number[] = [];
		for (const f of found) {
			if (chosen.some((p) => Math.abs(p - f.at) < NEAR)) continue;
			chosen.push(f.at);
			done.add(f.key);
			if (f.unloading >= 0) {
				rest.u_kg[f.unloading] = Math.hypot(rest.u_kg[f.unloading]!, 1.5 * f.kg);
				continue;
			}
			extraVariance.set(f.weighing, CART.nonsense_kg ** 2);
			const expected_kg = chain.match.weighings[f.weighing]!.reference_kg - f.kg;
			const percent = (100 * Math.abs(f.kg)) / expected_kg;
			// Of a tank that held next to nothing a percentage says nothing.
			const by = percent > 0 && percent < 200 ? `about ${percent.toFixed(0)}%` : 'far';
			aside.push({
				weighing: f.weighing,
				reason: `${by} ${f.kg > 0 ? 'heavier' : 'lighter'} than expected from the monitor and the dumps before and after; possibly a wrong weight`,
			});
		}
	}
	return { rest, extraVariance, aside };
}
