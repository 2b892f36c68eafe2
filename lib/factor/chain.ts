import { CART, type Match, MONITOR, TANK, type Weighing } from '../model/index.ts';
import { Belief, flowIn, type Layout, layout, Tape, unload, weigh } from '../tank/index.ts';
import { type CartForm, CERTIFIED_U, cartBasis, cartPlaces, cartSize, NO_SLIP, type Scales } from './cart.ts';
import { basisOf, type Shape, size } from './form/shape.ts';
import type { Timeline } from './timeline.ts';

/** Everything that happened to the grain, in order of time: it came in, it was unloaded, it was weighed. */
export interface Chain {
	match: Match;
	time: Timeline;
	steps: Step[];
	/** Weighings in use (indices into Match.weighings), in the order in which they are weighed. */
	order: number[];
	scales: Scales;
	/** Rough factors, by which relative errors are turned into mass. */
	rough: readonly number[];
	/** What may be open at once: weights and gross readings. */
	places: number;
	scaleRatio: number;
	/** From the cart's first weight to its last, seconds. */
	span_s: number;
}

type Step =
	| { do: 'in'; segment: number; piece: number; paused_s: number; seconds: number; inTank: boolean; totals: number[] }
	| { do: 'unload'; unloading: number; onto: number[]; opened: number[] }
	| { do: 'weigh'; weighing: number; on: number; before: Reading; after: Reading; time_s: number; since_s: number }
	/** A truck load checks the scale. */
	| { do: 'check'; load: number; time_s: number; since_s: number };

interface Reading {
	/** Place among the open ones; −1 = none. */
	place: number;
	/** Standard uncertainty where it is read for the first time, else NaN. */
	u_kg: number;
}

/** How large errors are taken to be, and what the factors may look like, while a chain is played. */
export interface Play {
	shapes: readonly Shape[];
	/** Prior standard deviations of a combine's coefficients, and their means. */
	prior: (combine: number, coefficient: number) => { mean: number; u: number; seam?: boolean };
	sigma: number;
	tau_s: number;
	/** The monitor's white error over one fill, relative standard deviation. */
	white: number;
	/** Factor on the variance of rests. */
	rests: number;
	/** What stays after each unloading, by its index in Match.unloadings; at `length + c` what combine c came with. */
	rest: Rests;
	/** Further variance of a weight, kg², by index in Match.weighings: it is not believed. */
	doubt: ReadonlyMap<number, number>;
	/** What is learnt at the end beside the weights. */
	relations: readonly Relation[];
	/** What is wrong with the cart's scale. */
	cart: CartForm;
	/**
	 * The last play, from which the answer is told: the truck loads come to the reference's own ratio and uncertainty, and
	 * a factor may change where no weight would show it, before a combine's first own weight and after its last.
	 */
	last?: boolean;
}

export interface Rests {
	kg: Float64Array;
	u_kg: Float64Array;
}

/** Σ by × (coefficient, or −1: the mass brought in) = value, over several combines. */
export interface Relation {
	at: readonly { combine: number; coefficient: number; by: number }[];
	value: number;
	variance: number;
	cause: 'seam' | 'curve' | 'prior';
	df: number;
}

/** Puts the grain of a match in order of time. */
export function chainOf(
	match: Match,
	time: Timeline,
	scales: Scales,
	scaleRatio: number,
	use: readonly number[],
	rough: readonly number[],
): Chain {
	const onto = new Map<number, number[]>();
	const left = new Map<number, number>();
	const totals: number[] = [];
	for (const w of use) {
		const weighing = match.weighings[w]!;
		if (weighing.kind === 'total') totals.push(w);
		for (const u of weighing.kind === 'total' ? [] : weighing.unloadings) onto.set(u, [...(onto.get(u) ?? []), w]);
		left.set(w, weighing.kind === 'total' ? 0 : weighing.unloadings.length);
	}
	const listed = timed(match, time, scales).sort(
		(a, b) => a.key_s - b.key_s || a.combine - b.combine || a.place - b.place,
	);
	const places = new Places();
	const steps: Step[] = [];
	const order: number[] = [];
	const atEnd = totals.map((w) => ({ w, place: places.open(`w${w}`) }));
	let first = Number.NaN;
	let late = Number.NaN;
	/** When the cart's scale was read, and how long after its last reading. */
	const read = (time_s: number) => {
		const since_s = time_s > late ? time_s - late : 0;
		if (Number.isFinite(time_s) && !(time_s < late)) late = time_s;
		if (Number.isNaN(first)) first = late;
		return { time_s, since_s };
	};
	const weighNow = (w: number) => {
		const ends = readingsOf(match.weighings[w]!);
		const [before, after] = ends.map((e) => places.reading(e.id, e.u_kg, use, match)) as [Reading, Reading];
		const place = places.open(`w${w}`);
		const { kind, unloadings } = match.weighings[w]!;
		const at = kind === 'total' ? Number.NaN : Math.max(...unloadings.map((u) => match.unloadings[u]!.end_s));
		steps.push({ do: 'weigh', weighing: w, on: place, before, after, ...read(at) });
		order.push(w);
		places.close(`w${w}`);
		for (const e of ends) places.done(e.id);
	};
	const until = new Array<number>(time.account_kg.length).fill(Number.NaN);
	for (const e of listed) {
		if (e.load >= 0) {
			steps.push({ do: 'check', load: e.load, ...read(scales.loads[e.load]!.time_s) });
			continue;
		}
		if (e.piece >= 0) {
			const piece = time.segments[e.segment]!.pieces[e.piece]!;
			const known = Number.isFinite(piece.end_s);
			const paused = known ? piece.start_s - until[e.combine]! : 0;
			steps.push({
				do: 'in',
				segment: e.segment,
				piece: e.piece,
				paused_s: Number.isFinite(paused) ? Math.max(0, paused) : 0,
				seconds: known ? Math.max(0, piece.end_s - piece.start_s) : 0,
				inTank: time.segments[e.segment]!.unloading >= 0,
				totals: atEnd.map((t) => t.place),
			});
			if (known) until[e.combine] = piece.end_s;
			continue;
		}
		const weights = onto.get(e.unloading) ?? [];
		const opened = weights.filter((w) => !places.has(`w${w}`));
		const at = weights.map((w) => places.open(`w${w}`));
		steps.push({ do: 'unload', unloading: e.unloading, onto: at, opened: opened.map((w) => places.open(`w${w}`)) });
		for (const w of weights) {
			left.set(w, left.get(w)! - 1);
			if (left.get(w) === 0) weighNow(w);
		}
	}
	for (const { w } of atEnd) weighNow(w);
	return {
		match,
		time,
		steps,
		order,
		scales,
		rough,
		places: places.most,
		scaleRatio,
		span_s: late - first || 0,
	};
}

interface Listed {
	key_s: number;
	combine: number;
	place: number;
	segment: number;
	piece: number;
	unloading: number;
	load: number;
}

/** Truck loads, and pieces and unloadings of each combine in their order, each with a time that never steps back. */
function timed(match: Match, time: Timeline, scales: Scales): Listed[] {
	const out: Listed[] = scales.loads.map(({ time_s }, load) => ({
		key_s: Number.isFinite(time_s) ? time_s : Number.NEGATIVE_INFINITY,
		combine: -1,
		place: load,
		segment: -1,
		piece: -1,
		unloading: -1,
		load,
	}));
	time.account_kg.forEach((_, combine) => {
		let key_s = Number.NEGATIVE_INFINITY;
		let place = 0;
		const add = (time_s: number, segment: number, piece: number, unloading: number) => {
			if (Number.isFinite(time_s)) key_s = Math.max(key_s, time_s);
			out.push({ key_s, combine, place: place++, segment, piece, unloading, load: -1 });
		};
		const pieces = (s: number) => {
			time.segments[s]!.pieces.forEach((p, k) => {
				add(p.end_s, s, k, -1);
			});
		};
		const own = time.segments.map((_, s) => s).filter((s) => time.segments[s]!.combine === combine);
		let next = 0;
		match.unloadings.forEach((u, i) => {
			if (u.combine !== combine) return;
			const segment = time.ofUnloading[i]!;
			if (segment >= 0) while (next < own.length && own[next]! <= segment) pieces(own[next++]!);
			add(Number.NaN, -1, -1, i);
		});
		while (next < own.length) pieces(own[next++]!);
	});
	return out;
}

/** Gross readings that a weight is a difference of: [before, after]; none where they are not told. */
function readingsOf(w: Weighing): { id: number; u_kg: number }[] {
	const known = w.readings.every((id) => id >= 0) && w.u_gross_kg.every((u) => Number.isFinite(u) && u > 0);
	return w.readings.map((id, i) => ({ id: known ? id : -1, u_kg: w.u_gross_kg[i]! }));
}

/** Places for what is open for a while, each given to the next once it is free. */
class Places {
	most = 0;
	readonly #taken = new Map<string, number>();
	readonly #free: number[] = [];
	readonly #left = new Map<number, number>();

	open(name: string): number {
		const has = this.#taken.get(name);
		if (has !== undefined) return has;
		const place = this.#free.pop() ?? this.most++;
		this.#taken.set(name, place);
		return place;
	}

	has(name: string): boolean {
		return this.#taken.has(name);
	}

	close(name: string): void {
		const place = this.#taken.get(name);
		if (place === undefined) return;
		this.#taken.delete(name);
		this.#free.push(place);
	}

	/** A gross reading, which the weight before or after may share. */
	reading(id: number, u_kg: number, use: readonly number[], match: Match): Reading {
		if (id < 0) return { place: -1, u_kg: Number.NaN };
		if (this.#left.size === 0) {
			for (const w of use)
				for (const e of readingsOf(match.weighings[w]!)) this.#left.set(e.id, (this.#left.get(e.id) ?? 0) + 1);
		}
		const known = this.#taken.has(`r${id}`);
		return { place: this.open(`r${id}`), u_kg: known ? Number.NaN : u_kg };
	}

	done(id: number): void {
		if (id < 0) return;
		const left = this.#left.get(id)! - 1;
		this.#left.set(id, left);
		if (left === 0) this.close(`r${id}`);
	}
}

/** Where everything stands when a chain is played with these shapes. */
export function places(chain: Chain, play: Play): Layout {
	return layout(play.shapes.map(size), chain.places, cartSize(chain.scales, play.cart));
}

/** Keys of marks: rests by unloading; moments at which a factor, and the cart's scale, may step, by index of the chain's step. */
export const STEP_KEY = 1_000_000;
export const CART_KEY = 2_000_000;

/**
 * Plays a chain through the tank: all grain in, all weights, then what is learnt beside them.
 *
 * @param b - a belief to play it on (see `places` for its size): a tape where it is to be gone over backward
 * @returns log likelihood of the weights and relations
 */
export function run(chain: Chain, play: Play, at: Layout, b: Belief): number {
	const { match, time, rough } = chain;
	const slow = { sigma: play.sigma, tau_s: play.tau_s };
	play.shapes.forEach((shape, c) => {
		for (let j = 0; j < size(shape); j++) {
			const { mean, u, seam } = play.prior(c, j);
			b.set(at.factor[c]! + j, mean, u * u, seam ? 'curve' : 'prior');
		}
		b.set(at.slow[c]!, 0, play.sigma ** 2, 'slow');
		const start = match.unloadings.length + c;
		b.set(at.level[c]!, play.rest.kg[start]!, play.rests * play.rest.u_kg[start]! ** 2, 'rest');
	});
	const cart = playCart(chain, play, at, b);
	let sum = 0;
	const between = play.last ? weighedBetween(chain) : play.shapes.map(() => [0, 0] as const);
	chain.steps.forEach((step, index) => {
		if (step.do === 'in') {
			const segment = time.segments[step.segment]!;
			const c = segment.combine;
			const piece = segment.pieces[step.piece]!;
			if (step.inTank) b.mark(at.factor[c]!, STEP_KEY + index);
			const [first, last] = between[c]!;
			if (play.last && (index < first || index > last)) {
				const hours = (step.paused_s + step.seconds) / 3600;
				b.mix(at.factor[c]!, 1, [], [], 0, (rough[c]! * MONITOR.change) ** 2 * (hours / MONITOR.change_h), 'change');
			}
			flowIn(
				b,
				at,
				{
					combine: c,
					seconds: step.seconds,
					paused_s: step.paused_s,
					basis_kg: basisOf(play.shapes[c]!, piece),
					rough: rough[c]!,
					// One error a fill: each piece has its share of the variance.
					white: play.white * Math.sqrt(segment.account_kg / piece.kg),
				},
				slow,
				step.inTank,
			);
			for (const place of step.totals) b.mix(at.free[place]!, 1, [at.work], [1]);
		} else if (step.do === 'unload') {
			const u = match.unloadings[step.unloading]!;
			const onto = step.onto.map((p) => at.free[p]!);
			for (const p of step.opened) b.set(at.free[p]!, 0, 0);
			const rest_kg = play.rest.kg[step.unloading]!;
			unload(b, at, u.combine, onto, rest_kg, Math.sqrt(play.rests) * play.rest.u_kg[step.unloading]!, step.unloading);
		} else {
			cart.goesOn(index, step.since_s);
			sum += step.do === 'check' ? cart.check(step.load) : weighed(chain, play, at, b, step);
		}
	});
	cart.end();
	for (const r of play.relations) {
		sum += b.observe(
			r.at.map((t) => (t.coefficient < 0 ? at.brought[t.combine]! : at.factor[t.combine]! + t.coefficient)),
			r.at.map((t) => t.by),
			r.value,
			r.variance,
			r.cause,
		);
	}
	return sum;
}

function weighed(chain: Chain, play: Play, at: Layout, b: Belief, step: Extract<Step, { do: 'weigh' }>): number {
	const w = chain.match.weighings[step.weighing]!;
	const scale = w.byCart ? chain.scaleRatio : 1;
	for (const r of [step.before, step.after]) {
		if (r.place >= 0 && Number.isFinite(r.u_kg)) b.set(at.free[r.place]!, 0, (scale * r.u_kg) ** 2, 'reading');
	}
	const alone = step.before.place < 0 ? (scale * (w.u_reading_kg || 0)) ** 2 : 0;
	const kg = w.reference_kg;
	const own = CART.rounding_kg ** 2 + (CART.stand_rel * kg) ** 2;
	if (b instanceof Tape) b.key = step.weighing;
	return weigh(b, at, at.free[step.on]!, {
		kg,
		variance: own + alone + (play.doubt.get(step.weighing) ?? 0),
		before: step.before.place < 0 ? -1 : at.free[step.before.place]!,
		after: step.after.place < 0 ? -1 : at.free[step.after.place]!,
		cart_kg: w.kind === 'total' ? [] : cartBasis(chain.scales, play.cart, step.weighing, kg),
	});
}

/**
 * The cart's scales while a chain is played: the main one wanders, and may step or drift;
 * truck loads check it as they come, so that its uncertainty grows with the time away from them.
 */
function playCart(chain: Chain, play: Play, at: Layout, b: Belief) {
	const { scales } = chain;
	const { cart: form } = play;
	const { main, certified, others, slip } = cartPlaces(at, scales);
	const checked = scales.loads.some((l) => l.used);
	const size = { none: 0, step: CART.change, drift: CART.drift }[form.kind];
	const last = form.right === 'last' && !checked;
	b.set(main, 0, (checked ? CART.unchecked_rel : Math.hypot(scales.u_ratio, last ? size : 0)) ** 2, 'cart');
	b.set(certified, 0, CERTIFIED_U ** 2, 'cart');
	scales.others.forEach((s, i) => {
		b.set(others[i]!, s.mean, s.u ** 2, 'scale');
	});
	if (slip >= 0) b.set(slip, 0, CART.drift ** 2, 'cart');
	const exact = play.last && form.kind === 'none';
	return {
		goesOn(index: number, since_s: number) {
			b.mark(main, CART_KEY + index);
			if (form.at === index) b.mix(main, 1, [], [], 0, CART.change ** 2, 'cart');
			if (form.kind === 'drift' && chain.span_s > 0) b.mix(main, 1, [slip], [since_s / chain.span_s]);
			const hours = since_s / 3600;
			if (checked && hours > 0) b.mix(main, 1, [], [], 0, CART.wander_rel ** 2 * (hours / CART.wander_h), 'cart');
		},
		check(load: number): number {
			const { rel, offload_rel, u, used, scale } = scales.loads[load]!;
			const from = [scale === 0 ? main : others[scale - 1]!, certified];
			if (exact) return used ? b.observe(from, [1, 1], rel, u ** 2, 'cart') : 0;
			// A load that is no fair comparison costs what such a load costs, and tells nothing.
			const variance = CART.repeat_rel ** 2;
			const odd = -Math.log(CART.oddLoad * 2 * CART.oddLoad_rel);
			if (b.density(from, [1, 1], offload_rel, variance) < odd) return odd;
			return b.observe(from, [1, 1], offload_rel, variance, 'cart');
		},
		end() {
			if (last) b.observe([main], [1], 0, scales.u_ratio ** 2, 'cart');
		},
	};
}

/** First and last step of the chain at which each combine was weighed alone; all of it where it never was. */
function weighedBetween(chain: Chain): (readonly [number, number])[] {
	return chain.time.account_kg.map((_, c) => {
		const own = chain.steps.flatMap((s, index) => {
			if (s.do !== 'weigh') return [];
			const { unloadings } = chain.match.weighings[s.weighing]!;
			return unloadings.length > 0 && unloadings.every((u) => chain.match.unloadings[u]!.combine === c) ? [index] : [];
		});
		return own.length > 0 ? ([own[0]!, own.at(-1)!] as const) : ([0, chain.steps.length] as const);
	});
}

/** Log likelihood alone. */
export function likelihood(chain: Chain, play: Play): number {
	const at = places(chain, play);
	return run(chain, play, at, new Belief(at.n));
}

/** Rests before any weight was looked at, where the match tells them: the weights are used here, once. */
export function restsOf(match: Match, rough: readonly number[]): Rests {
	const n = match.unloadings.length;
	const rests: Rests = { kg: new Float64Array(n + rough.length), u_kg: new Float64Array(n + rough.length) };
	match.unloadings.forEach((u, i) => {
		const prior = Number.isFinite(u.u_restPrior_kg);
		const k = Number.isFinite(rough[u.combine]!) ? rough[u.combine]! : 1;
		const u_kg = (prior ? u.u_restPrior_kg! : u.u_rest_kg) || 0;
		rests.kg[i] = (prior ? u.restPrior_kg : u.rest_kg) || 0;
		// A moment of unloading that is off moves mass from one fill to the next, just as a rest does.
		rests.u_kg[i] = Math.hypot(Math.max(TANK.clinging_kg, u_kg), k * (u.u_account_kg || 0));
	});
	rough.forEach((_, c) => {
		const s = (match.startPrior_kg ?? match.start_kg)[c];
		rests.kg[n + c] = Number.isFinite(s?.kg) ? s!.kg : 0;
		rests.u_kg[n + c] = Number.isFinite(s?.u_kg) ? s!.u_kg : 0;
	});
	return rests;
}

/** The usual play: constants or given shapes, factors that nothing is known of. */
export function usual(
	rough: readonly number[],
	shapes: readonly Shape[],
	rest: Rests,
	relations: readonly Relation[],
): Play {
	return {
		shapes,
		prior: (c, j) => ({ mean: j === 0 ? rough[c]! : 0, u: rough[c]! }),
		sigma: MONITOR.slow,
		tau_s: MONITOR.slow_s,
		white: 0,
		rests: 1,
		rest,
		doubt: new Map(),
		relations,
		cart: NO_SLIP,
	};
}
