import { CART, type LoadBook, stepsByCart } from '../../model/index.ts';
import { groupBy, logGamma, type Off, twoGroups } from '../../stats/index.ts';
import { backward, USUAL_SCATTER } from '../../tank/index.ts';
import { constants, type Premises, playOf } from '../premises.ts';
import { cartPlaces, NO_SLIP, type Scales } from './cart-form.ts';
import type { Chain } from './chain.ts';
import { type Play, taped } from './play.ts';
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
export function twoScales(premises: Premises): Scales | null {
	const { chain: one, use, rest } = premises;
	const { scales } = one;
	const byCart = use.filter((w) => scales.of[w]! >= 0);
	if (scales.others.length > 0 || byCart.length < 2 * ENOUGH) return null;
	const play = playOf(premises, constants(premises), rest, USUAL_SCATTER);
	const plain = residuals(one, play);
	const order = one.order.filter((w) => scales.of[w]! >= 0 && Math.abs(plain.off.get(w)!.rel) < MOST_REL);
	const units = unitsOf(premises, order);
	const away = units.map((unit) => meanOff(unit, plain, scales, plain.main));
	const groups = twoGroups(away);
	if (groups === null || !(groups.explained > EXPLAINED)) return null;
	let second = new Set(units.filter((_, i) => away[i]!.rel < groups.from).flatMap((u) => u.weighings));
	const two = (): Chain => ({ ...one, scales: divided(premises, second) });
	for (let turn = 0; turn < 2; turn++) {
		const found = residuals(two(), { ...play, cart: TWO });
		const nearer = units.filter((unit) => {
			const is = second.has(unit.weighings[0]!);
			const [own, other] = is ? [found.second, found.main] : [found.main, found.second];
			const here = meanOff(unit, found, scales, own).rel;
			return Math.abs(here) < Math.abs(here + other - own) ? is : !is;
		});
		second = new Set(nearer.flatMap((u) => u.weighings));
	}
	const is = units.map((u) => second.has(u.weighings[0]!));
	const turns = is.filter((v, i) => i > 0 && v !== is[i - 1]).length;
	if (turns < TURNS || !inBoth(premises, order, second)) return null;
	const chain = two();
	const n = units.length;
	const ways = logGamma(n) - logGamma(turns + 1) - logGamma(n - turns) + Math.log(n);
	const gain = (scatterOf(one, play).cost - scatterOf(chain, { ...play, cart: TWO }).cost) / 2;
	return gain > ways - Math.log(CART.second) ? chain.scales : null;
}

/** How far each weight is from what the others say, by one over the variance of that, and the errors of the first scale and the second. */
interface Residuals {
	off: ReadonlyMap<number, Off>;
	main: number;
	second: number;
}

function residuals(chain: Chain, play: Play): Residuals {
	const { at, tape } = taped(chain, play);
	const off = new Map<number, Off>();
	for (const { key, residual, variance } of backward(tape).leftOut) {
		const kg = chain.match.weighings[key]!.reference_kg;
		off.set(key, { rel: residual / kg, by: kg ** 2 / variance });
	}
	const { main, others } = cartPlaces(at, chain.scales);
	return { off, main: tape.x[main]!, second: tape.x[others[0] ?? main]! };
}

/** Weights by one scale: those between two offloads, or a single one where offloads were not weighed. */
interface Unit {
	weighings: number[];
	/** Index into Scales.loads of the truckload that is of this grain alone; −1 = none. */
	load: number;
}

function unitsOf({ input: { book, match }, chain: { scales } }: Premises, order: readonly number[]): Unit[] {
	if (book.offloads.length === 0) return order.map((w) => ({ weighings: [w], load: -1 }));
	const of = new Map(order.map((w) => [match.weighings[w]!.dumps[0]!, w]));
	const units: Unit[] = [];
	const offloads = groupBy(book.offloads, (o) => o.truckLoad);
	let weighings: number[] = [];
	for (const { dump, offload } of stepsByCart(book)[0]!) {
		if (dump >= 0) weighings.push(...(of.has(dump) ? [of.get(dump)!] : []));
		else if (weighings.length > 0) {
			const { truckLoad } = book.offloads[offload]!;
			const alone = offloads.get(truckLoad)!.length === 1;
			units.push({ weighings, load: alone ? scales.loads.findIndex((l) => l.truckLoad === truckLoad) : -1 });
			weighings = [];
		}
	}
	return weighings.length > 0 ? [...units, { weighings, load: -1 }] : units;
}

/** How far a unit's weights are from what the others say, and its truckload from what the scale's error would make it. */
function meanOff({ weighings, load }: Unit, { off }: Residuals, { loads }: Scales, error: number): Off {
	const all = weighings.map((w) => off.get(w)!);
	if (load >= 0) all.push({ rel: error - loads[load]!.rel, by: 1 / CART.load_rel ** 2 });
	const by = all.reduce((sum, o) => sum + o.by, 0);
	return { rel: all.reduce((sum, o) => sum + o.by * o.rel, 0) / by, by };
}

/** Whether both scales have enough weights, and of the grain of two combines: one monitor alone may follow its flow. */
function inBoth({ input }: Premises, order: readonly number[], second: ReadonlySet<number>): boolean {
	const { match, records } = input;
	const count = records.combines.map(() => [0, 0] as [number, number]);
	for (const w of order)
		for (const c of new Set(match.weighings[w]!.unloadings.map((u) => match.unloadings[u]!.combine)))
			count[c]![second.has(w) ? 1 : 0]++;
	const least = Math.min(second.size, order.length - second.size);
	return least >= ENOUGH && count.filter((n) => Math.min(...n) >= ENOUGH_EACH).length >= 2;
}

/** The scales with a second one that took these weights; a truckload checks both by the shares of its dumps. */
function divided({ chain: { scales }, input }: Premises, second: ReadonlySet<number>): Scales {
	const { match, book } = input;
	const shares = sharesOf(book, new Set([...second].flatMap((w) => match.weighings[w]!.dumps)));
	return {
		...scales,
		of: scales.of.map((s, w) => (second.has(w) ? 1 : s)),
		others: [{ name: null, mean: 0, u: CART.change }],
		loads: scales.loads.map((l) => {
			const share = shares.get(l.truckLoad) ?? 0;
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
