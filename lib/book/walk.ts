import { CART } from '../model/index.ts';
import { inOrder, type Kept } from './kept.ts';
import type { Portion, Weighing } from './weighing.ts';

export type Move = Kept<'dump'> | Kept<'offload'> | Kept<'zero'>;

/** One cart's scale followed through time. */
export interface Walk {
	moves: readonly Move[];
	/** One weighing for each move, in the same order. */
	weighings: readonly Weighing[];
	/** Moves before which the cart was empty with nothing left open: a walk can resume there. */
	rests: readonly number[];
	level_kg: number;
	holds: Portion[];
}

/** A cart's state while its rows are followed: what came in and what went out since it was last empty. */
interface Following {
	level_kg: number;
	holds: Portion[];
	dumped_kg: number;
	unloaded_kg: number;
	open: Weighing[];
}

const resting = (now: Following): boolean =>
	now.holds.length === 0 && now.open.length === 0 && now.dumped_kg === 0 && now.unloaded_kg === 0;

export function walk(moves: readonly Move[], size_kg: number | null): Walk {
	return onward({ moves, weighings: [], rests: [], level_kg: 0 }, size_kg, null).walk;
}

/** A walk up to a move before which the cart was at rest. */
interface Started {
	moves: readonly Move[];
	weighings: Weighing[];
	rests: number[];
	level_kg: number;
}

/**
 * Continues from move `weighings.length`, where the cart was at rest with `level_kg` on its scale. Where `meets` finds
 * that an older walk was at rest with the same level at the same move, the rest of that walk is reused.
 */
function onward(
	{ moves, weighings, rests, level_kg }: Started,
	size_kg: number | null,
	meets: ((move: number, level_kg: number) => Walk | null) | null,
): { walk: Walk; fresh: Weighing[]; until: number } {
	const now: Following = { level_kg, holds: [], dumped_kg: 0, unloaded_kg: 0, open: [] };
	const fresh: Weighing[] = [];
	for (let i = weighings.length; i < moves.length; i++) {
		if (resting(now)) {
			const old = meets?.(i, now.level_kg);
			if (old) {
				const shift = moves.length - old.moves.length;
				const tail = old.weighings.slice(i - shift);
				const later = old.rests.filter((r) => r + shift >= i).map((r) => r + shift);
				return {
					walk: {
						moves,
						weighings: [...weighings, ...tail],
						rests: [...rests, ...later],
						level_kg: old.level_kg,
						holds: old.holds,
					},
					fresh,
					until: i - shift,
				};
			}
			rests.push(i);
		}
		const w = step(now, moves[i]!, size_kg);
		weighings.push(w);
		fresh.push(w);
	}
	return {
		walk: { moves, weighings, rests, level_kg: now.level_kg, holds: now.holds },
		fresh,
		until: Number.POSITIVE_INFINITY,
	};
}

/** The walk with some moves removed and others inserted: computed again only from the rest before them to one after. */
export function rewalk(
	old: Walk,
	out: ReadonlySet<string>,
	into: readonly Move[],
	size_kg: number | null,
): { walk: Walk; fresh: Weighing[]; gone: Weighing[] } {
	const moves = old.moves.slice();
	let first = moves.length;
	let last = -1;
	// Search from the end: changes are nearly always recent.
	for (let i = moves.length - 1, left = out.size; i >= 0 && left > 0; i--)
		if (out.has(moves[i]!.id)) {
			moves.splice(i, 1);
			left--;
			first = i;
			last = Math.max(last - 1, i - 1);
		}
	first = Math.min(first, moves.length);
	for (const m of into) {
		let at = moves.length;
		while (at > 0 && inOrder(moves[at - 1]!, m) > 0) at--;
		moves.splice(at, 0, m);
		first = Math.min(first, at);
		last = Math.max(at, last >= at ? last + 1 : last);
	}
	let start = 0;
	let rested = 0;
	for (const [k, r] of old.rests.entries()) {
		if (r > first) break;
		start = r;
		rested = k;
	}
	const shift = moves.length - old.moves.length;
	const oldRests = new Set(old.rests);
	const meets = (i: number, level_kg: number) => {
		const was = i - shift;
		if (i <= last || was <= 0 || !oldRests.has(was)) return null;
		return old.weighings[was - 1]!.after_kg === level_kg ? old : null;
	};
	const level_kg = start === 0 ? 0 : old.weighings[start - 1]!.after_kg;
	const done = onward(
		{ moves, weighings: old.weighings.slice(0, start), rests: old.rests.slice(0, rested), level_kg },
		size_kg,
		meets,
	);
	return { walk: done.walk, fresh: done.fresh, gone: old.weighings.slice(start, done.until) };
}

/** A change of less than this share of the load is scale noise, not grain. */
const EMPTY_KG = 1e-6;

function step(now: Following, m: Move, size_kg: number | null): Weighing {
	const kind = m.thing.kind as Weighing['kind'];
	const before_kg = now.level_kg;
	const odd: Weighing['odd'] = [];
	const sign = kind === 'dump' ? 1 : kind === 'offload' ? -1 : 0;
	const entered = m.v as { reading_kg: number | null; net_kg?: number | null };
	let net_kg = 0;
	let after_kg = before_kg;
	if (kind === 'zero') after_kg = entered.reading_kg ?? 0;
	else if (entered.reading_kg !== null) {
		net_kg = sign * (entered.reading_kg - before_kg);
		after_kg = entered.reading_kg;
	} else if (typeof entered.net_kg === 'number') {
		net_kg = entered.net_kg;
		after_kg = before_kg + sign * entered.net_kg;
	} else odd.push('no weight');
	if (net_kg < 0) {
		odd.push('wrong way');
		net_kg = 0;
	} else if (net_kg === 0 && kind !== 'zero' && odd.length === 0) odd.push('no weight');
	if (after_kg < -0.01 * Math.max(1000, net_kg)) odd.push('below nothing');
	if (size_kg !== null && after_kg > size_kg * 1.02) odd.push('above size');

	const w: Weighing = {
		id: m.id,
		kind,
		cart: m.v.cart,
		time_s: m.v.time_s,
		before_kg,
		after_kg,
		net_kg,
		odd,
		took: [],
		dumps_kg: null,
		load: kind === 'offload' ? (m.v as { load: string | null }).load : null,
	};
	if (kind === 'dump') {
		now.holds = [...now.holds, { dump: m.id, kg: net_kg }];
		now.dumped_kg += net_kg;
	}
	if (kind === 'zero' && after_kg <= 0) {
		// An empty cart on a zeroed scale: nothing of earlier grain is left.
		now.holds = [];
		now.dumped_kg = 0;
		now.unloaded_kg = 0;
		now.open = [];
	}
	if (kind === 'offload') takeOut(now, w, entered.reading_kg === null);
	now.level_kg = w.after_kg;
	return w;
}

function takeOut(now: Following, w: Weighing, byNet: boolean): void {
	const held = now.holds.reduce((s, p) => s + p.kg, 0);
	now.unloaded_kg += w.net_kg;
	now.open.push(w);
	const rest = now.dumped_kg - now.unloaded_kg;
	// What may remain between a cart's dumps and its offloads while it counts as empty: scale noise.
	const empty = Math.abs(rest) <= CART.same_kg + CART.same_rel * now.dumped_kg;
	// What remains of an emptied cart is not grain: everything it held went out, whatever the two scales' difference.
	const share = held <= 0 ? 0 : empty ? w.net_kg / held : Math.min(1, w.net_kg / held);
	w.took = now.holds.map((p) => ({ dump: p.dump, kg: p.kg * share })).filter((p) => p.kg > 0);
	const missing = w.net_kg - held * share;
	if (missing > EMPTY_KG) w.took.push({ dump: '', kg: missing });
	now.holds = empty || share >= 1 ? [] : now.holds.map((p) => ({ dump: p.dump, kg: p.kg * (1 - share) }));
	if (empty) {
		for (const o of now.open) o.dumps_kg = (o.net_kg * now.dumped_kg) / now.unloaded_kg;
		if (byNet) w.after_kg = 0;
	}
	if (empty || rest < 0) {
		now.dumped_kg = 0;
		now.unloaded_kg = 0;
		now.open = [];
	}
}
