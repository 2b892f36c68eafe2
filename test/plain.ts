/** Plain parts of hand-made fields, each with nothing unusual in it: tests say what is unusual in theirs. */
import type { Account, FieldPlan, Match, Offload, Records } from '../lib/model/index.ts';

/** A field of corn with nothing else given. */
export function plainPlan(more: Partial<FieldPlan> = {}): FieldPlan {
	return {
		name: 'Plot',
		season: null,
		client: null,
		farm: null,
		crop: { name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5 },
		timeZone: null,
		boundary: null,
		varieties: null,
		logs: [],
		cartLog: null,
		cartTrace: null,
		tickets: null,
		combines: {},
		scales: {},
		events: [],
		pins: {},
		total: null,
		flags: {},
		destinations: {},
		...more,
	};
}

/** A match in which nothing was weighed, the clock known to a second. */
export const plainMatch = (more: Partial<Match> = {}): Match => ({
	clock: { offset_s: 0, u_s: 1, source: 'estimated', byDay: [] },
	unloadings: [],
	fates: [],
	weighings: [],
	start_kg: [],
	factors: [],
	independent: [],
	clockFit: [],
	notes: [],
	cautions: [],
	...more,
});

/** A row of the cart's list, the `order`-th of its file; `time_s` may be NaN. */
export function plainRow(id: string, order: number, time_s: number, weight_kg: number): Offload {
	return {
		id,
		origin: { file: 'cart.csv', row: order + 2 },
		order,
		time_s,
		timeGrain: Number.isFinite(time_s) ? 'second' : 'none',
		weight_kg,
		u_kg: Number.NaN,
		truckLoad: null,
		scale: null,
		field: null,
		moisture_pct: Number.NaN,
		testWeight_kg_hl: Number.NaN,
		variety: null,
		destination: null,
		lat_deg: Number.NaN,
		lon_deg: Number.NaN,
		note: null,
	};
}

/** Flow × interval, nothing mended. */
export function plainAccount(records: Records): Account {
	const kg = Float64Array.from(records.flow_kg_s, (f, i) => {
		const m = f * records.interval_s[i]!;
		return Number.isNaN(m) ? 0 : Math.max(0, m);
	});
	return { monitor_kg: kg, account_kg: kg.slice(), fault: new Uint8Array(records.n) };
}
