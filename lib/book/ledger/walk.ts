import { CART } from '../../model/index.ts';
import type { Thing } from '../entries/thing.ts';

/** Grain of one dump, kilograms as the cart showed. An empty dump id: grain from no dump in the book. */
export interface Portion {
	dump: string;
	kg: number;
}

/** One movement on a cart's scale, in order of time. */
export interface Weighing {
	id: string;
	kind: 'dump' | 'offload' | 'zero';
	cart: string;
	time_s: number;
	/** What the scale read before and after. */
	before_kg: number;
	after_kg: number;
	/** Grain moved: into the cart for a dump, out of it for an offload, nothing for a zeroing. Never negative. */
	net_kg: number;
	/** What is odd about it, as a key for the screen's text; empty where nothing is. */
	odd: ('no weight' | 'wrong way' | 'below nothing' | 'above size')[];
	/** Offloads: what was taken, by dump, with the cart's contents assumed to be mixed. */
	took: Portion[];
	/** Offloads: the dumps behind it, as the cart weighed them coming in; null where the two sides do not match. */
	dumps_kg: number | null;
	load: string | null;
}

export type Move = Thing<'dump'> | Thing<'offload'> | Thing<'zero'>;

/** One cart's scale followed through time. */
export interface Walk {
	moves: readonly Move[];
	/** One weighing for each move, in the same order. */
	weighings: readonly Weighing[];
	/** Moves before which the cart was empty with nothing left open: a walk can resume there. */
	rests: readonly number[];
	size_kg: number | null;
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

/**
 * Follows a cart's scale, move by move in order of time. With an earlier walk of the same cart it resumes where the cart
 * was last empty before the first move that differs; what lies before stays the same objects.
 */
export function walk(moves: readonly Move[], size_kg: number | null, before: Walk | null): Walk {
	const from = before?.size_kg === size_kg ? resumption(before, moves) : 0;
	const weighings = before?.weighings.slice(0, from) ?? [];
	const rests = before?.rests.filter((r) => r < from) ?? [];
	const level_kg = weighings.at(-1)?.after_kg ?? 0;
	const now: Following = { level_kg, holds: [], dumped_kg: 0, unloaded_kg: 0, open: [] };
	for (let i = from; i < moves.length; i++) {
		if (resting(now)) rests.push(i);
		weighings.push(step(now, moves[i]!, size_kg));
	}
	return { moves, weighings, rests, size_kg, level_kg: now.level_kg, holds: now.holds };
}

/** The move at which a walk over other moves can resume: the last rest up to which both are the same. */
function resumption({ moves: old, rests }: Walk, moves: readonly Move[]): number {
	const same = old.findIndex((m, i) => m !== moves[i]);
	const end = same < 0 ? old.length : same;
	return rests.findLast((r) => r <= end) ?? 0;
}

/** A change of less than this share of the load is scale noise, not grain. */
const EMPTY_KG = 1e-6;

function step(now: Following, m: Move, size_kg: number | null): Weighing {
	const kind = m.kind;
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
