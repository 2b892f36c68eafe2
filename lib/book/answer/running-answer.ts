import { greatest } from 'd3-array';
import { MONITOR, remembered } from '../../model/index.ts';
import type { Book } from '../book.ts';
import { dumpsOn, find, kept, keptAll } from '../kept.ts';
import { type Caution, cautionsOf, type TicketSlips, ticketCautions } from './cautions.ts';
import { type BookChain, chainOf } from './chain.ts';
import { type Against, pairsOf } from './combine-pairs.ts';
import { type Explanation, explanationsOf } from './explanations.ts';
import { bookFills } from './fills.ts';
import { againstOverAll, factorOverAll } from './over-all.ts';
import { NOTHING, type RunningFactor, runningFactor } from './running-factor.ts';
import { type ScaleRatio, scaleRatio } from './scale-ratio.ts';
import { solveBook } from './solve-book.ts';

export type { Caution } from './cautions.ts';
export type { Against } from './combine-pairs.ts';
export { errorOf_pct, type FillPoint, type RunningFactor } from './running-factor.ts';

/** What the screens request: the fills of one field, or of a whole season. */
export interface Scope {
	field?: string | null;
	season?: number | null;
}

/** Results for a scope: each combine's factor, and every pair of combines compared. */
export interface Running {
	factors: RunningFactor[];
	/** Every pair of combines that were both weighed. A constant percentage error of one cart's scale cancels. */
	against: Against[];
	/** Causes common to many weights that the answer allows for. */
	cautions: Caution[];
}

const known = new WeakMap<Book, Map<string, Running>>();

/**
 * The running answer: everything weighed and read in the scope, as one chain of grain coming in, tanks emptied and
 * scales read. Unknowns are the monitors' slow errors, readings that neighboring weights share, and the cart ratios
 * (lib/tank). This is the model by which the report solves factors from logs, here with entered values. A weight of
 * two combines informs both. A recalibrated monitor starts over. A weight that is clearly wrong is in no factor. Where one cause
 * common to many weights may explain them as well, the answer is over both.
 */
export function running(book: Book, scope: Scope = {}): Running {
	const key = JSON.stringify([scope.field ?? null, scope.season ?? null]);
	return remembered(
		remembered(known, book, () => new Map()),
		key,
		() => runningAfresh(book, scope),
	);
}

function runningAfresh(book: Book, scope: Scope): Running {
	const { explanations, cautions } = explained(
		book,
		scope,
		scope.field == null ? null : fieldBefore(book, scope.field),
	);
	const names = kept(book, 'combine').map((c) => c.id);
	const combines = explanations[0]?.solved.chain.combines ?? [];
	for (const c of combines) if (!names.includes(c)) names.push(c);
	const results = explanations.map(({ weight, solved }) => {
		const factors = names.map((combine) => {
			const c = combines.indexOf(combine);
			return c < 0 ? { ...NOTHING, combine } : runningFactor(solved, c);
		});
		return { weight, factors, against: pairsOf(solved, factors) };
	});
	const factors = names.map((combine, i) =>
		results.length === 0
			? { ...NOTHING, combine }
			: factorOverAll(results.map(({ weight, factors }) => ({ weight, factor: factors[i]! }))),
	);
	return { factors, against: againstOverAll(results), cautions };
}

/** The field of the same season on which the last dump before this one's first was; null where there is none. */
function fieldBefore(book: Book, field: string): Earlier {
	const [first] = dumpsOn(book, field);
	if (!first) return null;
	const until_s = first.v.time_s;
	const season = find(book, 'field', field)?.v.season ?? null;
	const last_s = ({ id }: { id: string }) =>
		dumpsOn(book, id).findLast((d) => d.v.time_s < until_s)?.v.time_s ?? -Infinity;
	const before = greatest(
		keptAll(book, 'field').filter((f) => f.id !== field && f.v.season === season && last_s(f) > -Infinity),
		last_s,
	);
	return before ? { field: before.id, until_s } : null;
}

/** A cart's ratio if its tickets are wrong. */
type Supposed = { cart: string; ratio: ScaleRatio } | null;

/** All explanations, likeliest first, and what is said of them. */
export interface Explained {
	explanations: Explanation[];
	cautions: Caution[];
}

/** A field before another: its fills up to that time come first in a chain. */
export type Earlier = { field: string; until_s: number } | null;

/**
 * All explanations of the weights in a scope. What a cart's scale did on an earlier field, and how much weights scatter, hold on
 * this one too.
 *
 * @param moved - how much a combine's factor may have moved since the earlier field, relative: by anything, if not given
 */
export function explained(
	book: Book,
	scope: Scope,
	earlier: Earlier,
	moved: (combine: string) => number = () => MONITOR.factor,
): Explained {
	const chainUnder = (supposed: Supposed): BookChain => {
		const chain = chainIn(book, scope, earlier, supposed);
		if (earlier === null) return chain;
		const from = chain.loads.findIndex((l) => l.fill.field === scope.field);
		if (from < 0) return chainIn(book, scope, null, supposed);
		return from === 0 ? chain : { ...chain, moved: { from, u_rel: chain.combines.map(moved) } };
	};
	const chain = chainUnder(null);
	if (chain.loads.length === 0) return { explanations: [], cautions: [] };
	const asTickets = explanationsOf(chain);
	const slips = ticketSlips(book, scope, asTickets[0]!, chainUnder);
	return {
		explanations: [...asTickets, ...slips.flatMap((s) => s.instead)].sort((p, q) => q.weight - p.weight),
		cautions: [...cautionsOf(chain, asTickets), ...ticketCautions(slips)],
	};
}

/**
 * Carts whose tickets may be wrong, with the explanations in which they are: the weights as they stand, by another ratio. Those
 * in which they are right lose that much of their weight.
 */
function ticketSlips(
	book: Book,
	scope: Scope,
	best: Explanation,
	chainUnder: (supposed: Supposed) => BookChain,
): TicketSlips[] {
	return best.solved.chain.carts.flatMap(({ id }, cart) => {
		const found = scaleRatio(book, id, scope.season ?? null);
		// Tickets that are apart from each other are not of other grain where a scale that slipped explains them.
		const either = found.either.filter((e) => best.solved.slip.cart !== cart || e.kind !== 'other');
		const right = either.find((e) => e.kind === 'right')?.weight ?? 1;
		const wrong = either.filter((e) => e.kind !== 'right');
		if (wrong.length === 0) return [];
		const instead = wrong.map((e) => ({
			weight: e.weight / right,
			solved: solveBook(chainUnder({ cart: id, ratio: e.ratio })),
		}));
		return [{ cart: id, off_pct: 100 * (found.ratio - 1), likeliest: wrong[0]!, instead }];
	});
}

/** Running factors of all combines, including those without data. */
export function runningFactors(book: Book, scope: Scope = {}): RunningFactor[] {
	return running(book, scope).factors;
}

/**
 * The chain of all fills in a scope, and of tanks emptied in between without a monitor reading.
 *
 * @param before - fills of another field up to that time come first, so that what was learned there is carried over
 */
function chainIn(book: Book, scope: Scope, before: Earlier, supposed: Supposed): BookChain {
	const since = recalibrated(book);
	const { fills, waiting } = bookFills(book);
	const within = (field: string, time_s: number) =>
		inScope(book, field, scope) || (before !== null && field === before.field && time_s < before.until_s);
	const wanted = fills.filter(
		(f) => within(f.field, f.time_s) && f.monitor.every((m) => f.time_s > (since.get(m.combine) ?? -Infinity)),
	);
	const read = new Set(wanted.flatMap((f) => f.dumps));
	const emptied = waiting.flatMap((w) => {
		const d = find(book, 'dump', w.dump)!.v;
		const gone = w.reason !== 'not emptied' && !read.has(w.dump) && within(d.field, d.time_s);
		return gone ? [{ time_s: d.time_s, combines: d.combines }] : [];
	});
	const ratios = new Map(supposed ? [[supposed.cart, supposed.ratio]] : []);
	return chainOf(book, wanted, emptied, (cart) =>
		remembered(ratios, cart, () => scaleRatio(book, cart, scope.season ?? null)),
	);
}

/** When each combine's monitor was last recalibrated: its earlier readings do not apply to its later ones. */
export function recalibrated(book: Book): Map<string, number> {
	const times = new Map<string, number>();
	for (const e of kept(book, 'event'))
		if (e.v.kind === 'calibrated' && e.v.combine !== null)
			times.set(e.v.combine, Math.max(e.v.time_s, times.get(e.v.combine) ?? -Infinity));
	return times;
}

function inScope(book: Book, field: string, scope: Scope): boolean {
	if (scope.field != null && field !== scope.field) return false;
	return scope.season == null || (find(book, 'field', field)?.v.season ?? null) === scope.season;
}
