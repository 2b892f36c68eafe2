import { CART, MONITOR, TANK } from '../model/index.ts';
import { backward, Tape } from '../tank/index.ts';
import type { Chain } from './chain/chain.ts';
import { type Play, places, type Rests, run, STEP_KEY } from './chain/play.ts';

/** What came of looking for errors larger than expected. */
export interface Doubts {
	rest: Rests;
	/** Further variance of weights not believed. */
	doubt: Map<number, number>;
	aside: { weighing: number; reason: string }[];
}

/** What a rest must take off −2 log-likelihood: grain that stays behind is common. Chance reaches 20 once in 100,000. */
const CLEAR_REST = 20;
/** Weights so near in the chain of one that was just settled are looked at again before anything is said of them. */
const NEAR = 4;

/**
 * Finds single bad weights, and rests that nobody noted, whatever the form of the factor: the shocks that take most off the
 * misfit of all weights together. A fill that is low and the next as high by the same mass come out as a rest (which cannot
 * be negative); a weight out of line alone comes out as a bad one, and is set aside.
 *
 * Source: the search for additive outliers of Chen and Liu, JASA 88:284, 1993, with two kinds of shock; each turn is one
 * pass forward and one back.
 */
export function settle(chain: Chain, play: Play): Doubts {
	const n = chain.order.length;
	const rest: Rests = { kg: play.rest.kg, u_kg: play.rest.u_kg.slice() };
	const doubt = new Map(play.doubt);
	const aside: Doubts['aside'] = [];
	const done = new Set<string>();
	const position = new Map(chain.order.map((w, i) => [w, i]));
	const ofUnloading = new Map<number, number>();
	for (const w of chain.order)
		for (const u of chain.match.weighings[w]!.unloadings) ofUnloading.set(u, position.get(w)!);
	for (let turn = 0; turn < n / 2 && n > 3; turn++) {
		const now: Play = { ...play, sigma: MONITOR.slowWide, rests: 1, rest, doubt };
		const at = places(chain, now);
		const tape = new Tape(at.n);
		run(chain, now, at, tape);
		const { leftOut, marks } = backward(tape);
		const found: { excess: number; at: number; key: string; weighing: number; unloading: number; kg: number }[] = [];
		for (const m of marks) {
			if (m.key >= STEP_KEY || done.has(`u${m.key}`) || !(rest.u_kg[m.key]! <= TANK.broad_kg)) continue;
			const where = ofUnloading.get(m.key);
			if (where === undefined || !(m.shock > TANK.notable_kg) || !(m.gain > CLEAR_REST)) continue;
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
		const settled: number[] = [];
		for (const f of found) {
			if (settled.some((p) => Math.abs(p - f.at) < NEAR)) continue;
			settled.push(f.at);
			done.add(f.key);
			if (f.unloading >= 0) {
				rest.u_kg[f.unloading] = Math.hypot(rest.u_kg[f.unloading]!, 1.5 * f.kg);
				continue;
			}
			doubt.set(f.weighing, CART.nonsense_kg ** 2);
			const percent = (100 * Math.abs(f.kg)) / (chain.match.weighings[f.weighing]!.reference_kg - f.kg);
			aside.push({
				weighing: f.weighing,
				reason: `about ${percent.toFixed(0)}% ${f.kg > 0 ? 'heavier' : 'lighter'} than expected from the monitor and the dumps before and after; possibly a wrong weight`,
			});
		}
	}
	return { rest, doubt, aside };
}
