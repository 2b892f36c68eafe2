import { sum } from 'd3-array';
import { type Account, CART, type Match, MONITOR, stepsByCart } from '../../model/index.ts';
import { align } from '../beam/align.ts';
import { FOUND_S } from '../beam/effort.ts';
import type { Change, Hypothesis } from '../beam/hypothesis.ts';
import { factorChange } from '../beam/update-belief.ts';
import type { Explained } from '../explained.ts';
import { flowing } from '../problem/mass.ts';
import type { Supposition } from './supposition.ts';
import { withRows } from './weighed-rows.ts';

/** Hypotheses kept after each dump. */
const WIDTH = 36;
/** A smaller change is no reason to match otherwise: the weights still fit the same tanks. */
const LEAST = 0.03;
/** A change that costs this much more than none may still be what happened, nats. */
const CLOSE = 2;

/**
 * The field without a lasting change, or without two: of the cart's scale, where a load cell that fails takes a quarter or a
 * third of the weight, and of one monitor. Moments and shares are those of the best hypothesis in which all factors together,
 * or one, may change. Only the match is made so: the factors find out for themselves whether the scale or the monitors changed,
 * and have the caution.
 */
export function lastingChange(e: Explained): Supposition[] {
	const { problem, offset, solved } = e;
	const { flows, observations } = problem;
	if (!observations.every((o) => Number.isFinite(o.time_s))) return [];
	const hours = (Math.max(...flows.map((f) => f.end_s)) - Math.min(...flows.map((f) => f.start_s))) / 3600;
	// At any of as many moments as there are dumps, over a field of so many hours.
	const cost = (between_h: number) => Math.log(observations.length) - Math.log(Math.min(0.5, hours / between_h));
	const changes = { scale: cost(CART.change_h), monitor: cost(MONITOR.change_h) };
	const all = align(problem, offset.at_s, { width: WIDTH, whole: true, clock_s: FOUND_S, changes });
	const plain = (all.find((h) => !h.changed) ?? solved.hypothesis).cost;
	// Each: what follows from it is seen only where it is supposed.
	const kinds = [
		(c: Change) => !c.earlier && c.combine < 0,
		(c: Change) => !c.earlier && c.combine >= 0,
		(c: Change) => c.earlier !== null,
	];
	return kinds.flatMap((kind) => {
		const h = all.find((x) => x.changed && kind(x.changed));
		if (!h || h.cost > plain + CLOSE) return [];
		const list = changesOf(h);
		const without = withoutChanges(e, h, list);
		if (!without) return [];
		const what = list.map(({ combine }) =>
			combine < 0 ? "The cart's scale" : `The monitor of combine ${e.input.records.combines[combine]}`,
		);
		return {
			...without,
			price: sum(list, ({ combine }) => (combine < 0 ? changes.scale : changes.monitor)),
			// Rescaled by the share that fits best, the field no longer pays for that choice, as it did in the search.
			least: e.cost + h.cost - plain,
			caution: null,
			open: `${[...new Set(what)].join(' and ')} changed within the day. Enter recalibrations as events, and get tickets for truckloads through the day.`,
			// A clock that was reset moves the observations' times: then it is searched again.
			...(offset.clock.byDay.length === 0 && { clock: offset }),
		};
	});
}

/** The changes of a hypothesis, the latest first. */
function changesOf(h: Hypothesis): Change[] {
	const list: Change[] = [];
	for (let c = h.changed; c; c = c.earlier) list.push(c);
	return list;
}

/** The field without the changes of a hypothesis; null where one is too small to matter, or cannot be taken out. */
function withoutChanges({ input, problem }: Explained, h: Hypothesis, list: readonly Change[]): Undone {
	let now = input;
	let last = h;
	const undo: Supposition['undo'][] = [];
	for (const { combine, before: at, from_s } of list) {
		let until_s = from_s;
		let before = last;
		for (; before.assignment && before.assignment.observation >= at; before = before.parent!)
			until_s = before.assignment.parts.find((p) => p.combine === combine)?.place.end_s ?? until_s;
		const of = combine < 0 ? problem.flows.map((_, c) => c) : [combine];
		const share = factorChange(of, before.belief, last.belief);
		if (Math.abs(share - 1) < LEAST) return null;
		const without: Undone =
			combine < 0
				? otherScale(now, problem.observations[at]!.dump, share)
				: otherMonitor(now, combine, (from_s + until_s) / 2, share);
		if (!without) return null;
		now = without.input;
		undo.unshift(without.undo);
		last = before;
	}
	return {
		input: now,
		undo(match, given): void {
			for (const one of undo) one(match, given);
		},
	};
}

type Undone = Pick<Supposition, 'input' | 'undo'> | null;

/** All that the cart weighed from a dump on brought back to the scale before it; null where there is more than one cart. */
function otherScale(input: Explained['input'], dump: number, share: number): Undone {
	const { book } = input;
	const [steps = [], ...more] = stepsByCart(book);
	if (more.length > 0) return null;
	const later = steps.slice(steps.findIndex((s) => s.dump === dump));
	const dumps = new Set(later.map((s) => s.dump));
	return {
		input: { ...input, book: withRows(book, later, (row) => ({ ...row, weight_kg: row.weight_kg / share })) },
		undo(match: Match): void {
			match.scaleChanged = true;
			for (const w of match.weighings) {
				if (!w.byCart || !w.dumps.some((d) => dumps.has(d))) continue;
				w.weight_kg *= share;
				w.reference_kg *= share;
			}
		},
	};
}

/** One combine's log from a moment on brought back to the monitor before it. */
function otherMonitor(input: Explained['input'], combine: number, from_s: number, share: number): Undone {
	const { records, account } = input;
	const scaled: Account = { ...account, account_kg: account.account_kg.slice() };
	for (let i = 0; i < records.n; i++)
		if (records.combine[i] === combine && records.time_s[i]! > from_s) scaled.account_kg[i]! *= share;
	const seams = input.seams.filter((s) => s.combineA !== combine && s.combineB !== combine);
	return {
		input: { ...input, account: scaled, seams },
		undo(match: Match): void {
			const { sum_kg, total_kg } = flowing(records, account, combine);
			match.factors[combine]! *= flowing(records, scaled, combine).total_kg / total_kg;
			for (const u of match.unloadings) if (u.combine === combine) u.account_kg = sum_kg[u.to]! - sum_kg[u.from]!;
		},
	};
}
