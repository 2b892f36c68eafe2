import { CART, type LoadBook, stepsByCart } from '../../model/index.ts';
import { logGamma } from '../../stats/index.ts';
import { backward, Tape, USUAL_SCATTER } from '../../tank/index.ts';
import { chained, constants, type Problem, playOf } from '../problem.ts';
import { NO_SLIP, type Scales } from './cart.ts';
import type { Chain } from './chain.ts';
import { type Play, places, run } from './play.ts';
import { scatterOf } from './scatter.ts';

/** Fewest weights by each scale, and by each of the grain of two combines. */
const ENOUGH = 3;
const ENOUGH_EACH = 2;
/** Fewer changes from one scale to the other are a scale that changed. */
const TURNS = 3;
/** Least share of the scatter that two groups must explain: halves of one normal distribution explain 0.64. */
const EXPLAINED = 0.7;
/** A larger difference is not one of scales, relative. */
const MOST_REL = 0.2;

const TWO = { ...NO_SLIP, kind: 'two' } as const;

/**
 * The scales if the weights are of two carts that worked by turns, though no row says so: two groups of weights, by cart
 * loads where offloads were weighed, that differ by the same share whichever combine they are of.
 *
 * @returns null where one scale explains the weights as well
 */
export function twoScales(problem: Problem): Scales | null {
	const { scales, use, rest, input } = problem;
	const byCart = use.filter((w) => scales.of[w]! >= 0);
	if (scales.others.length > 0 || byCart.length < 2 * ENOUGH) return null;
	const one = chained(problem, use);
	const play = playOf(problem, constants(problem), rest, USUAL_SCATTER);
	const plain = residuals(one, play);
	const order = one.order.filter((w) => scales.of[w]! >= 0 && Math.abs(plain.off.get(w)!.rel) < MOST_REL);
	const units = input.book.offloads.length > 0 ? byCartLoad(problem, order) : order.map((w) => [w]);
	const low = lowGroup(units.map((unit) => mean(unit, plain.off)));
	if (low === null) return null;
	let second = new Set(units.filter((unit) => mean(unit, plain.off).rel < low).flat());
	const two = (): Chain => ({ ...one, scales: divided(problem, second) });
	for (let turn = 0; turn < 2; turn++) {
		const { off, apart } = residuals(two(), { ...play, cart: TWO });
		const nearer = units.filter((unit) => {
			const is = second.has(unit[0]!);
			const here = mean(unit, off).rel;
			return Math.abs(here) < Math.abs(is ? here + apart : here - apart) ? is : !is;
		});
		second = new Set(nearer.flat());
	}
	const turns = units.filter((u, i) => i > 0 && second.has(u[0]!) !== second.has(units[i - 1]![0]!)).length;
	if (turns < TURNS || !inBoth(problem, order, second)) return null;
	const chain = two();
	const n = units.length;
	const ways = logGamma(n) - logGamma(turns + 1) - logGamma(n - turns) + Math.log(n);
	const gain = (scatterOf(one, play).cost - scatterOf(chain, { ...play, cart: TWO }).cost) / 2;
	return gain > ways - Math.log(CART.second) ? chain.scales : null;
}

/** How far a weight is from what the others say, relative, and one over the variance of that. */
interface Off {
	rel: number;
	by: number;
}

/** How far each weight is from what the others say, and how far the second scale is from the first, relative. */
function residuals(chain: Chain, play: Play): { off: Map<number, Off>; apart: number } {
	const at = places(chain, play);
	const tape = new Tape(at.n);
	run(chain, play, at, tape);
	const off = new Map<number, Off>();
	for (const { key, residual, variance } of backward(tape).leftOut) {
		const kg = chain.match.weighings[key]!.reference_kg;
		off.set(key, { rel: residual / kg, by: kg ** 2 / variance });
	}
	return { off, apart: chain.scales.others.length > 0 ? tape.x[at.cart[2]!]! - tape.x[at.cart[0]!]! : 0 };
}

function mean(unit: readonly number[], off: ReadonlyMap<number, Off>): Off {
	const by = unit.reduce((sum, w) => sum + off.get(w)!.by, 0);
	return { rel: unit.reduce((sum, w) => sum + off.get(w)!.by * off.get(w)!.rel, 0) / by, by };
}

/** Weights between two offloads together: a truck takes what one cart holds. */
function byCartLoad({ input: { book, match } }: Problem, order: readonly number[]): number[][] {
	const of = new Map<number, number>();
	let load = 0;
	for (const { dump } of stepsByCart(book)[0]!) {
		if (dump < 0) load++;
		else of.set(dump, load);
	}
	const units = new Map<number, number[]>();
	for (const w of order) {
		const own = of.get(match.weighings[w]!.dumps[0]!)!;
		units.set(own, [...(units.get(own) ?? []), w]);
	}
	return [...units.values()];
}

/** The value that divides the others into two groups with the least scatter in them; null where they are hardly two groups. */
function lowGroup(values: readonly Off[]): number | null {
	const sorted = values.toSorted((a, b) => a.rel - b.rel);
	const weight = sorted.reduce((sum, v) => sum + v.by, 0);
	const all = sorted.reduce((sum, v) => sum + v.by * v.rel, 0);
	const total = sorted.reduce((sum, v) => sum + v.by * (v.rel - all / weight) ** 2, 0);
	let low = 0;
	let by = 0;
	let most = 0;
	let at: number | null = null;
	sorted.slice(1).forEach(({ rel }, k) => {
		by += sorted[k]!.by;
		low += sorted[k]!.by * sorted[k]!.rel;
		const between = ((by * (weight - by)) / weight) * (low / by - (all - low) / (weight - by)) ** 2;
		if (between > most) [most, at] = [between, rel];
	});
	return most > EXPLAINED * total ? at : null;
}

/** Whether both scales have enough weights, and of the grain of two combines where two were weighed. */
function inBoth({ input }: Problem, order: readonly number[], second: ReadonlySet<number>): boolean {
	const { match, records } = input;
	const count = records.combines.map(() => [0, 0] as [number, number]);
	for (const w of order)
		for (const c of new Set(match.weighings[w]!.unloadings.map((u) => match.unloadings[u]!.combine)))
			count[c]![second.has(w) ? 1 : 0]++;
	const least = Math.min(second.size, order.length - second.size);
	const weighed = count.filter(([a, b]) => a + b >= 2 * ENOUGH_EACH);
	return least >= ENOUGH && weighed.filter((n) => Math.min(...n) >= ENOUGH_EACH).length >= Math.min(2, weighed.length);
}

/** The scales with a second one that took these weights; a truckload checks both by the shares of its dumps. */
function divided({ scales, input }: Problem, second: ReadonlySet<number>): Scales {
	const { match, reference, book } = input;
	const shares = sharesOf(book, new Set([...second].flatMap((w) => match.weighings[w]!.dumps)));
	const fair = reference.loads.filter((l) => Number.isFinite(l.rel));
	return {
		...scales,
		of: scales.of.map((s, w) => (second.has(w) ? 1 : s)),
		others: [{ name: null, mean: 0, u: CART.change }],
		loads: scales.loads.map((l, i) => {
			const share = shares.get(fair[i]!.truckLoad) ?? 0;
			return { ...l, used: true, shares: [1 - share, share] };
		}),
	};
}

/** Share of these dumps in each truckload, by weight. */
function sharesOf(book: LoadBook, second: ReadonlySet<number>): Map<string, number> {
	const sums = new Map<string, [number, number]>();
	let [own, all] = [0, 0];
	for (const { dump, offload } of stepsByCart(book)[0]!) {
		if (dump >= 0) {
			const kg = book.dumps[dump]!.weight_kg;
			all += kg;
			if (second.has(dump)) own += kg;
			continue;
		}
		const name = book.offloads[offload]!.truckLoad;
		const before = (name !== null && sums.get(name)) || [0, 0];
		if (name !== null) sums.set(name, [before[0] + own, before[1] + all]);
		[own, all] = [0, 0];
	}
	return new Map([...sums].map(([name, [some, of]]) => [name, of > 0 ? some / of : 0]));
}
