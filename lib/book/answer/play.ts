import { CART, MONITOR, remembered, TANK, TICKETS } from '../../model/index.ts';
import { groupBy, median } from '../../stats/index.ts';
import { type Belief, courseOf, flowIn, type Layout, layout, priorFactor, Tape, unload } from '../../tank/index.ts';
import { type BookChain, type Load, movedIn } from './chain.ts';
import { NO_SLIP, type Slip, slipOf, slipSize, slipSlot } from './slip.ts';

/** Assumed sizes of the errors. */
export interface Sizes {
	sigma: number;
	white: number;
	rests: number;
}

/** How a chain is played. */
interface How {
	/** Loads whose weight may be off by so much more. */
	wrong?: ReadonlySet<number>;
	wrong_kg?: number;
	slip?: Slip;
	/** Truckloads check the cart one by one, each when it was unloaded, in place of their ratio. */
	checked?: boolean;
	/** Marks every moment at which a factor or a scale may change, and the zero. */
	marked?: boolean;
	/** Called after each load. */
	each?: (load: number) => void;
}

/** Keys of marks: these plus the index of a load. */
export const MONITOR_KEY = 0;
export const CART_KEY = 1_000_000;
export const ZERO_KEY = 2_000_000;

/** Index of each quantity of a chain in a belief. */
export function layoutOf(chain: BookChain, brought = true): Layout {
	const { most } = openings(chain);
	return layout(
		chain.combines.map(() => 1),
		1 + most,
		// What slipped, if anything did, comes after the carts.
		chain.carts.length + 1,
		brought,
	);
}

/**
 * Runs a chain through the tank model: grain in, tanks emptied, scales read.
 *
 * @param b belief to run it on, a tape if it will be smoothed backward; weights have their load's index as their key
 * @returns log likelihood of the weights
 */
export function play(
	chain: BookChain,
	at: Layout,
	size: Sizes,
	b: Belief,
	{
		wrong = NONE,
		wrong_kg = CART.nonsense_kg,
		slip = NO_SLIP,
		checked = false,
		marked = false,
		each = () => {},
	}: How = {},
): number {
	const rest_kg = slip.kind === 'rests' ? TANK.restShare * median(chain.loads.map((l) => l.kg)) : TANK.clinging_kg;
	const clinging = { kg: 0, u_kg: Math.sqrt(size.rests) * rest_kg };
	const { rough } = chain;
	chain.combines.forEach((_, c) => {
		const { mean, u } = priorFactor(rough[c]!);
		b.set(at.factor[c]!, mean, u * u);
		b.set(at.slow[c]!, 0, size.sigma ** 2, 'slow');
		b.set(at.level[c]!, 0, 0, 'rest');
	});
	chain.carts.forEach((c, k) => {
		b.set(at.cart[k]!, 0, (checked && c.checks.length > 0 ? TICKETS.slip_rel : c.u_rel) ** 2, 'cart');
	});
	b.set(slipSlot(at), 0, marked ? 0 : slipSize(slip) ** 2, 'scale');
	if (marked) b.mark(slipSlot(at), ZERO_KEY, true);
	// A prior is of the factor as this scale shows it: monitors do not check scales.
	const [main] = at.cart;
	if (main !== undefined) for (const slot of at.factor) b.mix(slot, 1, [main], [1]);
	const places = openings(chain).of;
	const between = weighedBetween(chain);
	const [on, free] = [at.free[0]!, at.free.slice(1)];
	let sum = checked ? check(chain, at, b, slip) : 0;
	let change = chain.moved;
	let recalibrated = slip.kind !== 'monitor';
	for (const step of chain.steps) {
		if ('emptied' in step) {
			for (const c of step.emptied) unload(b, at, c, [], clinging);
			continue;
		}
		if (change && step.load >= change.from) {
			change.u_rel.forEach((u, c) => {
				b.mix(at.factor[c]!, 1, [], [], 0, (rough[c]! * u) ** 2, 'change');
				b.set(at.brought[c]!, 0, 0);
			});
			change = null;
		}
		const load = chain.loads[step.load]!;
		if (slip.kind === 'monitor' && !recalibrated && load.fill.time_s >= slip.at_s) {
			recalibrated = true;
			const u = rough[slip.combine]! * MONITOR.change;
			b.mix(at.factor[slip.combine]!, 1, [], [], 0, u * u, 'change');
		}
		if (marked) {
			for (const i of load.inflows) b.mark(at.factor[i.combine]!, MONITOR_KEY + step.load, true);
			b.mark(at.cart[load.cart]!, CART_KEY + step.load, true);
		}
		for (const i of load.inflows) {
			const [first, last] = between[i.combine]!;
			const outside = step.load <= first || step.load > last;
			// A factor may change where no weight would show it: there the grain is added in parts, as with a fill of
			// a log.
			const parts = outside ? 4 : 1;
			for (let p = 0; p < parts; p++) {
				const [paused_s, seconds] = [p === 0 ? i.paused_s : 0, i.seconds / parts];
				if (outside) {
					const u = rough[i.combine]! * movedIn((paused_s + seconds) / 3600);
					b.mix(at.factor[i.combine]!, 1, [], [], 0, u * u, 'change');
				}
				const white = size.white * Math.sqrt(parts);
				const course = courseOf(paused_s, seconds, MONITOR.slow_s);
				const basis_kg = [i.kg / parts];
				flowIn(b, at, { combine: i.combine, course, basis_kg, rough: rough[i.combine]!, white }, size.sigma);
			}
		}
		b.set(on, 0, 0);
		for (const i of load.inflows) unload(b, at, i.combine, [on], clinging);
		if (load.weighs)
			sum += weigh(b, at, {
				on,
				free,
				load,
				key: step.load,
				places: places[step.load]!,
				wrong_kg: wrong.has(step.load) ? wrong_kg : 0,
				slip,
			});
		each(step.load);
	}
	return sum;
}

const NONE: ReadonlySet<number> = new Set();

/** Truckloads that tickets weighed again, the nearest to the others first: what is far from these is odder than a scale. */
function check(chain: BookChain, at: Layout, b: Belief, slip: Slip): number {
	let sum = 0;
	chain.carts.forEach(({ checks }, k) => {
		const all = checks.map((c) => ({
			...c,
			share: slip.cart === k && slip.kind !== 'zero' ? slipOf(slip, c.time_s) : 0,
		}));
		const inward = [...groupBy(all, (c) => c.share > 0.5).values()].flatMap((own) => {
			const middle = median(own.map((c) => c.rel));
			return own.sort(
				(a, b) => Math.abs(a.rel - middle) - Math.abs(b.rel - middle) || Math.abs(a.rel) - Math.abs(b.rel),
			);
		});
		for (const { share: of, rel, dumps_kg } of inward) {
			const share = slip.kind === 'zero' && slip.cart === k ? -1 / dumps_kg : of;
			const [from, by] = [
				[at.cart[k]!, slipSlot(at)],
				[1, share],
			];
			const usual = b.density(from, by, rel, CART.load_rel ** 2);
			const odd = b.density(from, by, rel, CART.oddLoad_rel ** 2) - Math.log(CART.oddLoad);
			b.observe(from, by, rel, (usual > odd ? CART.load_rel : CART.oddLoad_rel) ** 2, 'cart');
			sum += Math.max(usual, odd);
		}
	});
	return sum;
}

interface Weighed {
	/** Index of the load's grain on the cart, and of slots for readings. */
	on: number;
	free: readonly number[];
	load: Load;
	/** Its key on a tape. */
	key: number;
	places: readonly Place[];
	/** How far its weight may be off beyond the usual, kg. */
	wrong_kg: number;
	slip: Slip;
}

function weigh(b: Belief, at: Layout, { on, free, load, key, places, wrong_kg, slip }: Weighed): number {
	const [from, by] = [[on], [1]];
	load.readings.forEach((r, k) => {
		const slot = free[places[k]!.place]!;
		if (places[k]!.first) b.set(slot, 0, r.u_kg ** 2 + (slip.kind === 'hasty' ? CART.hasty_kg ** 2 : 0), 'reading');
		from.push(slot);
		by.push(r.by);
	});
	from.push(at.cart[load.cart]!);
	// Relative to the expected grain: see `weigh` in lib/tank.
	by.push(-Math.max(0, b.x[on]!));
	if (load.cart === slip.cart) {
		from.push(slipSlot(at));
		by.push(slip.kind === 'zero' ? load.fromEmpty : -Math.max(0, b.x[on]!) * slipOf(slip, load.fill.time_s));
	}
	if (b instanceof Tape) b.key = key;
	return b.observe(from, by, load.kg, load.own_kg2 + wrong_kg ** 2, 'weight');
}

interface Place {
	place: number;
	/** Whether it is read for the first time. */
	first: boolean;
}

const opened = new WeakMap<BookChain, { of: Place[][]; most: number }>();

/** A slot for each reading of each load, reused once no later load shares it. */
const openings = (chain: BookChain) => remembered(opened, chain, () => openingsOf(chain));

function openingsOf(chain: BookChain): { of: Place[][]; most: number } {
	const order = chain.steps.flatMap((s) => ('load' in s && chain.loads[s.load]!.weighs ? [s.load] : []));
	const left = new Map<string, number>();
	for (const i of order) for (const r of chain.loads[i]!.readings) left.set(r.id, (left.get(r.id) ?? 0) + 1);
	const taken = new Map<string, number>();
	const free: number[] = [];
	const of: Place[][] = [];
	let most = 0;
	for (const i of order) {
		const { readings } = chain.loads[i]!;
		of[i] = readings.map((r) => {
			const has = taken.get(r.id);
			const place = has ?? free.pop() ?? most++;
			taken.set(r.id, place);
			return { place, first: has === undefined };
		});
		for (const r of readings) {
			const n = left.get(r.id)! - 1;
			left.set(r.id, n);
			if (n > 0) continue;
			free.push(taken.get(r.id)!);
			taken.delete(r.id);
		}
	}
	return { of, most };
}

/** First and last load by which each combine was weighed alone; all where it never was. */
function weighedBetween(chain: BookChain): (readonly [number, number])[] {
	const order = chain.steps.flatMap((s) => ('load' in s ? [s.load] : []));
	return chain.combines.map((_, c) => {
		const own = order.filter((i) => {
			const { weighs, inflows } = chain.loads[i]!;
			return weighs && inflows.length === 1 && inflows[0]!.combine === c;
		});
		return own.length > 0 ? ([own[0]!, own.at(-1)!] as const) : ([-1, Infinity] as const);
	});
}
