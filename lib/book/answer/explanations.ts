import { greatest } from 'd3-array';
import { CART, CLOCK, MONITOR, TANK } from '../../model/index.ts';
import { Belief, backward, driftPrice, stepPrice, Tape, USUAL_SCATTER } from '../../tank/index.ts';
import { type BookChain, ownFrom } from './chain.ts';
import { CART_KEY, layoutOf, MONITOR_KEY, play, ZERO_KEY } from './play.ts';
import { exchanged, NO_SLIP, type Slip, twoScales } from './slip.ts';
import { type SolvedBook, solveBook } from './solve-book.ts';

/** One explanation of all weights, with its probability. */
export interface Explanation {
	weight: number;
	solved: SolvedBook;
}

/** Explanations less likely than this, relative to the best, are dropped. */
const LEAST = 0.05;
/** Fewest weights on either side of a change. */
const SIDE = 2;

/**
 * The weights as they stand, and with one cause common to many of them, compared by likelihood and prior odds as in the
 * report. A cause is tried only where a free size of it would gain enough to matter.
 */
export function explanationsOf(chain: BookChain): Explanation[] {
	const plain = solveBook(chain);
	const priced = [
		{ solved: plain, cost: plain.cost },
		...[...slipsOf(chain, plain.wrong), ...scatters(plain)].map(({ slip, price }) => {
			const solved = solveBook(chainUnder(chain, slip), slip);
			return { solved, cost: solved.cost + price };
		}),
		...wrongOnes(chain, plain),
	].sort((a, b) => a.cost - b.cost);
	const best = priced[0]!.cost;
	const list = priced.map(({ solved, cost }) => ({ solved, weight: Math.exp((best - cost) / 2) }));
	const left = list.filter((e) => e.weight > LEAST);
	const sum = left.reduce((s, e) => s + e.weight, 0);
	return left.map((e) => ({ ...e, weight: e.weight / sum }));
}

/** Fewer weights than this do not show by themselves which of them is wrong. */
const FEW = 4;

/** Of a combine with few weights, each may be the wrong one. */
function wrongOnes(chain: BookChain, plain: SolvedBook) {
	const out: { solved: SolvedBook; cost: number }[] = [];
	chain.combines.forEach((_, c) => {
		const all = chain.loads.flatMap((l, i) => (l.weighs && l.inflows.some((x) => x.combine === c) ? [i] : []));
		const own = all.length < FEW ? all : all.filter((i) => i >= ownFrom(chain));
		if (own.length < 2 || own.length >= FEW || own.some((i) => plain.wrong.has(i))) return;
		for (const i of own) {
			const solved = solveBook(chain, NO_SLIP, new Set([...plain.wrong, i]));
			out.push({ solved, cost: solved.cost });
		}
	});
	return out;
}

/** Where the weights scatter by more than usual: tanks left with grain, weights taken in haste. */
function scatters({ scatter, wrong }: SolvedBook): { slip: Slip; price: number }[] {
	const usual = scatter.white <= 2 * MONITOR.fill && scatter.sigma <= 2 * MONITOR.slow && wrong.size === 0;
	if (usual) return [];
	return [
		{ slip: { kind: 'rests', cart: -1 }, price: -2 * Math.log(TANK.unnoted) },
		{ slip: { kind: 'hasty', cart: -1 }, price: -2 * Math.log(CART.hasty) },
	];
}

/** Usual sizes of errors, by which slips are looked for: larger ones would make up for them. */
const USUAL = { ...USUAL_SCATTER, white: MONITOR.fill };

const chainUnder = (chain: BookChain, slip: Slip): BookChain =>
	slip.kind === 'names' ? exchanged(chain, slip.combines, slip.at_s) : chain;

/** Slips that may matter, each at its likeliest moment, with −2 log of its prior odds. */
function slipsOf(chain: BookChain, wrong: ReadonlySet<number>): { slip: Slip; price: number }[] {
	const at = layoutOf(chain);
	const shocks = chain.carts.map((_, cart) => {
		const tape = new Tape(at.n);
		play(chain, at, USUAL, tape, { wrong, checked: true, marked: true, slip: { kind: 'zero', cart } });
		return backward(tape).marks;
	});
	const marks = shocks[0]!;
	const weighed = chain.loads.flatMap((l, i) => (l.weighs && !wrong.has(i) ? [i] : []));
	if (weighed.length < 2 * SIDE) return [];
	const [first_s, last_s] = [chain.loads[weighed[0]!]!.fill.time_s, chain.loads[weighed.at(-1)!]!.fill.time_s];
	const hours = (last_s - first_s) / 3600;
	const found: { slip: Slip; price: number; gain: number }[] = [];
	const likeliest = (from: number, of: (load: number) => boolean) => {
		const own = weighed.filter(of);
		const [least, most] = [own[SIDE] ?? Infinity, own.at(-SIDE) ?? -1];
		const best = greatest(
			marks.filter((m) => m.key >= from + least && m.key <= from + most && of(m.key - from)),
			(m) => m.gain,
		);
		return best && { at_s: chain.loads[best.key - from]!.fill.time_s, gain: best.gain, moments: own.length };
	};
	chain.combines.forEach((_, combine) => {
		const best = likeliest(MONITOR_KEY, (i) => chain.loads[i]!.inflows.some((x) => x.combine === combine));
		if (!best) return;
		const slip: Slip = { kind: 'monitor', combine, at_s: best.at_s, cart: -1 };
		found.push({ slip, gain: best.gain, price: stepPrice('monitor', hours, best.moments) });
		const price = -2 * Math.log(CLOCK.exchanged / best.moments);
		chain.combines.forEach((_, other) => {
			if (other === combine) return;
			const combines = [combine, other] as const;
			found.push({ slip: { kind: 'names', combines, at_s: best.at_s, cart: -1 }, gain: best.gain, price });
		});
	});
	chain.carts.forEach(({ checks }, cart) => {
		const best = likeliest(CART_KEY, (i) => chain.loads[i]!.cart === cart);
		if (!best) return;
		// Where no truckload checks it, the scale may have been right at first or at last.
		const sides = checks.length > 0 ? (['first'] as const) : (['first', 'last'] as const);
		const half = 2 * Math.log(sides.length);
		for (const right of sides) {
			const step: Slip = { kind: 'step', cart, at_s: best.at_s, right };
			const drift: Slip = { kind: 'drift', cart, from_s: first_s, to_s: last_s, right };
			found.push({ slip: step, gain: best.gain, price: half + stepPrice('cart', hours, best.moments) });
			found.push({ slip: drift, gain: best.gain, price: half + driftPrice('cart') });
		}
		const two = twoScales(
			chain,
			cart,
			weighed.filter((i) => chain.loads[i]!.cart === cart),
		);
		if (two)
			for (const right of sides) {
				const price = half - 2 * Math.log(CART.second) + 2 * Math.LN2 * two.since_s.length;
				found.push({ slip: { ...two, right }, gain: Infinity, price });
			}
		const zero = shocks[cart]!.find((m) => m.key === ZERO_KEY);
		found.push({ slip: { kind: 'zero', cart }, gain: zero?.gain ?? 0, price: -2 * Math.log(CART.zeroOff) });
	});
	const fitOf = (slip: Slip) =>
		2 * play(chainUnder(chain, slip), at, USUAL, new Belief(at.n), { wrong, checked: true, slip });
	const plain = fitOf(NO_SLIP);
	const enough = (gain: number, price: number) => gain > price + 2 * Math.log(LEAST);
	return found.filter((f) => enough(f.gain, f.price) && enough(fitOf(f.slip) - plain, f.price));
}
