import { accountMass } from '../../lib/account/account.ts';
import type { Effort } from '../../lib/match/beam/effort.ts';
import { type Assignment, type Hypothesis, Offers } from '../../lib/match/beam/hypothesis.ts';
import type { Step } from '../../lib/match/beam/step.ts';
import type { MatchInput } from '../../lib/match/problem/input.ts';
import { prepare } from '../../lib/match/problem/prepare.ts';
import { emptyTable, fillTo, type Problem } from '../../lib/match/problem/problem.ts';
import {
	type CombinePlan,
	type Dump,
	emptyRecords,
	type FieldPlan,
	type LoadBook,
	type Offload,
	type Records,
	type Reference,
	type Ticket,
} from '../../lib/model/index.ts';
import { Belief } from '../../lib/tank/index.ts';
import { plainPlan, plainRow } from '../plain.ts';

/** A clock to count from: 2026-10-01T12:00:00Z. */
export const NOON = Date.UTC(2026, 9, 1, 12) / 1000;

/** What a hand-made combine did: one record a second, flow as a function of the second. */
export interface Work {
	name: string;
	from_s: number;
	to_s: number;
	flow(t_s: number): number;
	auger?(t_s: number): boolean;
	standing?(t_s: number): boolean;
}

export function recordsOf(works: Work[]): Records {
	const n = works.reduce((sum, w) => sum + (w.to_s - w.from_s), 0);
	const records = emptyRecords(n);
	records.combines = works.map((w) => w.name);
	let i = 0;
	works.forEach((w, c) => {
		for (let t = w.from_s + 1; t <= w.to_s; t++, i++) {
			records.combine[i] = c;
			records.line[i] = i + 2;
			records.time_s[i] = NOON + t;
			records.flow_kg_s[i] = w.flow(t);
			records.interval_s[i] = 1;
			records.distance_m[i] = w.standing?.(t) ? 0 : 1.8;
			records.headerDown[i] = 1;
			records.lat_deg[i] = 42;
			records.lon_deg[i] = -93 + t * 1e-5;
			if (w.auger) records.augerOn[i] = w.auger(t) ? 1 : 0;
		}
	});
	return records;
}

const row = (id: string, order: number, t: number, kg: number) => plainRow(id, order, NOON + t, kg);

export const dump = (id: string, order: number, t: number, kg: number, more: Partial<Dump> = {}): Dump => ({
	...row(id, order, t, kg),
	combines: [],
	emptied: -1,
	settled: true,
	...more,
});

export const offload = (
	id: string,
	order: number,
	t: number,
	kg: number,
	truckLoad: string | null = null,
): Offload => ({
	...row(id, order, t, kg),
	truckLoad,
});

export const ticket = (id: string, t: number, net_kg: number, more: Partial<Ticket> = {}): Ticket => ({
	ticket: id,
	origin: { file: 'tickets.csv', row: 2 },
	order: Number(id) || 0,
	time_s: NOON + t,
	timeGrain: 'second',
	truckLoad: null,
	net_kg,
	combine: null,
	moisture_pct: Number.NaN,
	testWeight_kg_hl: Number.NaN,
	destination: null,
	note: null,
	...more,
});

export const bookOf = (dumps: Dump[], offloads: Offload[] = [], tickets: Ticket[] = []): LoadBook => ({
	dumps,
	offloads,
	tickets,
});

export function planOf(combines: string[], more: Partial<FieldPlan> = {}): FieldPlan {
	const combine: CombinePlan = { swath_m: 9, row_m: null, tank_kg: 9000, header_ahead_m: null, display_total: null };
	const each = Object.fromEntries(combines.map((c) => [c, { ...combine }]));
	return plainPlan({ name: 'Hand Field', season: 2026, combines: each, ...more });
}

export const exactReference: Reference = {
	ratio: 1,
	u_rel: 0.001,
	interval: [0.998, 1.002],
	n: 4,
	source: 'tickets',
	limit_rel: 0,
	df: 3,
	loads: [],
};

/** A hand-made field as input of the match. */
export const inputOf = (records: Records, book: LoadBook, more: Partial<MatchInput> = {}): MatchInput => ({
	records,
	account: accountMass(records),
	book,
	plan: planOf(records.combines),
	reference: exactReference,
	seams: [],
	track: null as never,
	...more,
});

export const problemOf = (records: Records, book: LoadBook, more: Partial<MatchInput> = {}): Problem =>
	prepare(inputOf(records, book, more)).problem;

/** What is known of a combine's factor and tank, with standard deviations. */
export interface Known {
	factor?: number;
	u?: number;
	level_kg?: number;
	u_kg?: number;
}

/** The hypothesis before any dump: factors and levels as given, else a factor of 1 and an empty tank for certain. */
export function hypothesisOf(problem: Problem, known: Known[] = [], more: Partial<Hypothesis> = {}): Hypothesis {
	const C = problem.flows.length;
	const belief = new Belief(2 * C);
	for (let c = 0; c < C; c++) {
		const { factor = 1, u = 0, level_kg = 0, u_kg = 0 } = known[c] ?? {};
		belief.set(c, factor, u * u);
		belief.set(C + c, level_kg, u_kg * u_kg);
	}
	return {
		cost: 0,
		belief,
		mass_kg: problem.flows.map(() => 0),
		time_s: problem.flows.map((f) => f.start_s - 3600),
		nextRun: problem.flows.map(() => 0),
		last_s: -Infinity,
		changed: null,
		assignment: null,
		parent: null,
		rivals: [],
		endings: [],
		...more,
	};
}

/** A hypothesis of these assignments, in their order. */
export function through(problem: Problem, assignments: readonly Assignment[], more: Partial<Hypothesis> = {}) {
	let parent = hypothesisOf(problem, [], more);
	for (const assignment of assignments) parent = hypothesisOf(problem, [], { ...more, parent, assignment });
	return parent;
}

/** A dump as the weight of these tanks, each emptied at a second; at a run of its auger where one is given. */
export function assigned(observation: number, parts: { c: number; t: number; run?: number; rests?: boolean }[]) {
	const place = (t: number, run: number) => ({
		end_s: NOON + t,
		mass_kg: 0,
		slack: 1600,
		run,
		nextRun: run + 1,
		cost: 0,
		skippedTo: 0,
	});
	const assignment: Assignment = {
		observation,
		kind: parts.length > 1 ? 'mixed' : 'normal',
		parts: parts.map(({ c, t, run = -1, rests = false }) => ({ combine: c, place: place(t, run), rests })),
		inserts: [],
		of: -1,
	};
	return assignment;
}

/** Dump i after a hypothesis, at a clock that is right; every offer is kept. */
export function stepOf(
	problem: Problem,
	i = 0,
	hypothesis = hypothesisOf(problem),
	effort: Partial<Effort> = {},
): Step {
	const table = emptyTable(0);
	fillTo(problem, table, i);
	const width = 1000;
	const offers = new Offers(width);
	offers.after(hypothesis);
	return {
		problem,
		table,
		effort: { width, whole: true, clock_s: 0, ...effort },
		i,
		observation: problem.observations[i]!,
		hypothesis,
		offers,
	};
}

/** Normal density at a distance d with variance v. */
export const density = (d: number, v: number): number => Math.exp((-d * d) / (2 * v)) / Math.sqrt(2 * Math.PI * v);
