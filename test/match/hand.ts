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
