import { CART, MONITOR, TANK } from '../../model/index.ts';
import { COSTS } from '../problem/costs.ts';
import { massAt } from '../problem/mass.ts';
import { emptyTable, fillTo, type Problem, type Table } from '../problem/problem.ts';
import { advance } from './advance.ts';
import type { Effort } from './effort.ts';
import { finish } from './finish.ts';
import { type Change, HOPELESS, type Hypothesis, NARROW, type Offer, Offers } from './hypothesis.ts';
import { offerMixed } from './mixed.ts';
import { offerRepeat } from './repeated-dump.ts';
import { offerNormal } from './single.ts';
import type { Step } from './step.ts';
import { Belief, changeFactor, changeFactors, learnRatio } from './update-belief.ts';

/**
 * Assigns dumps to the logs for one offset of the clock, by beam search over dumps in order of time. Every hypothesis carries
 * the filter state of factors and tank levels, so its cost measures how well weights, levels and times fit.
 *
 * @returns hypotheses over all dumps, cheapest first; over fewer dumps where `effort.limit` stopped the search
 */
export function align(problem: Problem, offset_s: number, effort: Effort): Hypothesis[] {
	const table = emptyTable(offset_s);
	let beam = startingHypotheses(problem, table);
	const { width, limit } = effort;
	const n = problem.observations.length;
	for (let i = 0; i < n; i++) {
		fillTo(problem, table, i);
		const offers = new Offers(width);
		const { changes } = effort;
		if (changes && i >= SIDE && i <= n - SIDE) {
			const from = [beam.find((h) => !h.changed), beam.find((h) => h.changed && !h.changed.earlier)];
			for (const h of from) if (h) beam.push(...changed(problem, h, i, changes));
		}
		const observation = problem.observations[i]!;
		for (const hypothesis of beam) offer({ problem, table, effort, i, observation, hypothesis, offers });
		beam = pick(problem, offers.sorted(), effort);
		if (limit && (beam[0]?.cost ?? 0) > limit(i)) return beam;
	}
	if (problem.endsEarly) return beam;
	const ended = beam.map((r) => finish(problem, r, effort.whole));
	return ended.sort((a, b) => a.cost - b.cost);
}

/** Fewest dumps on either side of a change. */
const SIDE = 2;

/** The same hypothesis with the cart's scale changed now, which all factors have in common, or one monitor. */
function changed(
	{ flows, fill_kg }: Problem,
	h: Hypothesis,
	before: number,
	costs: NonNullable<Effort['changes']>,
): Hypothesis[] {
	return [-1, ...flows.keys()].map((combine) => {
		const belief = h.belief.copy();
		if (combine < 0) changeFactors(belief, CART.cell);
		else changeFactor(belief, combine, MONITOR.change, fill_kg / belief.x[combine]!);
		const cost = h.cost + (combine < 0 ? costs.scale : costs.monitor);
		return {
			...h,
			cost,
			belief,
			changed: { before, combine, from_s: h.time_s[combine] ?? before, earlier: h.changed },
		};
	});
}

/** All tanks empty at the start, and every combination in which some are not. */
function startingHypotheses(problem: Problem, table: Table): Hypothesis[] {
	const C = problem.flows.length;
	const { priors } = problem;
	const empty = new Belief(2 * C);
	for (let c = 0; c < C; c++) {
		empty.set(c, priors.factor[c]!, priors.u_factor[c]! ** 2);
		empty.set(C + c, 0, TANK.clinging_kg ** 2);
	}
	for (const r of priors.ratios) learnRatio(empty, r.a, r.b, r.ratio, r.u * r.u);
	const start: Hypothesis = {
		cost: 0,
		belief: empty,
		mass_kg: problem.flows.map((f) => (problem.after_s === null ? 0 : massAt(f, problem.after_s + table.offset_s))),
		time_s: problem.flows.map((f) => f.start_s - 3600),
		nextRun: problem.flows.map(() => 0),
		last_s: -Infinity,
		changed: null,
		assignment: null,
		parent: null,
		rivals: [],
		endings: [],
	};
	const list = [start];
	for (let set = 1; set < (C <= 4 ? 1 << C : 1); set++) {
		const belief = empty.copy();
		let cost = 0;
		for (let c = 0; c < C; c++) {
			if (!(set & (1 << c))) continue;
			const some = COSTS.startShare * problem.tank_kg[c]!;
			belief.set(C + c, some, some * some);
			cost += COSTS.startsWithGrain;
		}
		list.push({ ...start, cost, belief });
	}
	return list;
}

/** Carries out the cheapest offers; of those that lead to the same state only the cheapest. */
function pick(problem: Problem, offers: readonly Offer[], { width, changes }: Effort): Hypothesis[] {
	const list: Hypothesis[] = [];
	// Those without a change, with one of the scale, with one of a monitor and with two leave room for each other.
	const room = changes ? Array<number>(4).fill(width / 4) : [width];
	const seen = new Map<string, Hypothesis>();
	const best = offers[0]?.cost ?? 0;
	for (const o of offers) {
		if (list.length >= width || o.cost > best + HOPELESS) break;
		const kind = kindOf(o.parent.changed);
		if (room[kind]! <= 0) continue;
		const hypothesis = advance(problem, o);
		if (width > NARROW) {
			const key = stateKey(hypothesis);
			const same = seen.get(key);
			if (same) {
				if (same.rivals.length < 3) same.rivals = [...same.rivals, hypothesis];
				continue;
			}
			seen.set(key, hypothesis);
		}
		list.push(hypothesis);
		room[kind]!--;
	}
	return list;
}

const kindOf = (change: Change | null): number => (!change ? 0 : change.earlier ? 3 : change.combine < 0 ? 1 : 2);

function stateKey(r: Hypothesis): string {
	const C = r.mass_kg.length;
	const { x, P } = r.belief;
	let key = `${r.changed?.from_s},${r.changed?.combine}`;
	for (let c = 0; c < C; c++) {
		const l = C + c;
		const u = Math.sqrt(P[l * 2 * C + l]!);
		key += `|${r.nextRun[c]},${Math.round(r.mass_kg[c]! / 40)},${Math.round(x[l]! / 50)},${Math.round(2 * Math.log(u))},${Math.round(x[c]! * 300)}`;
	}
	return key;
}

/** Cost of a dump of one of the combines that may weigh up to two usual ones. */
const tankLoad = ({ problem, observation }: Step): number =>
	Math.log(observation.combines.length) + Math.log(2 * problem.fill_kg);

/** Offers every assignment of a dump after a hypothesis. */
function offer(step: Step): void {
	const { problem, effort, i, observation, offers } = step;
	offers.after(step.hypothesis);
	const odd = observation.pinned !== null ? COSTS.overruled : 0;
	const lacked = problem.incomplete && !observation.noted && observation.kg <= 2 * problem.fill_kg;
	const foreign = lacked ? tankLoad(step) : COSTS.foreign + Math.log(CART.nonsense_kg);
	const foreignCost = foreign + (observation.sure ? 20 : odd);
	if (offers.wants(foreignCost))
		offers.add(foreignCost, { observation: i, kind: 'foreign', parts: [], inserts: [], of: -1 });
	offerRepeat(step, odd);
	if (observation.mixed.length === 0) {
		const which = Math.log(observation.combines.length);
		for (const c of observation.combines) offerNormal(step, c, which);
		if (observation.mayBeOther && effort.whole) {
			const wrong = COSTS.mislabeled + Math.log(Math.max(1, problem.flows.length - 1));
			problem.flows.forEach((_, c) => {
				if (!observation.combines.includes(c)) offerNormal(step, c, wrong);
			});
		}
	}
	offerMixed(step);
}
