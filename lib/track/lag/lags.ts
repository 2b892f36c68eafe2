/** Each combine's lag from all there is: seams, the passes' ends, what the user has pinned. */
import type { Account, FieldPlan, Lag, Records } from '../../model/index.ts';
import type { Laid } from '../ground/lay.ts';
import type { Machine } from '../path/machine.ts';
import { ASSUMED_SMEAR_S, type EdgeResponse, findEdgeResponses } from './edge-response.ts';
import { findLags } from './lag.ts';
import { pairPlaces } from './pairs.ts';
import { layTimeGrid, type TimeGrid } from './time-grid.ts';

/** Where nothing speaks: the middle of what combines have (Beal and Tian 2001: 8 to 14 s). */
const ASSUMED_LAG_S = 11;
/**
 * What the passes' ends may be off by in common: the header drops before the crop and lifts after it, and where
 * nobody has said where the antenna is, the map's lag is not the grain's.
 */
const EDGE_ANTENNA_GIVEN_S = 1;
const EDGE_COMMON_S = 2.5;
/** The same where the header runs from cut ground into the crop: the place is known to a few decimeters. */
const EDGE_PLACED_S = 0.2;
/** By how much seams and edges may differ by chance. */
const APART_S = 0.5;
/** No lag is known better than this: the grain's own way differs from load to load. */
const LEAST_U_S = 0.25;
/** Records this far apart are a slow log, seconds. */
const SLOW_S = 2.5;
/**
 * What the best agreement may be off by in common: records, positions, the clock of the log; and, where nobody has
 * said where the antenna is, changes of speed, which pull it to the grain's own time.
 */
const SEAM_ANTENNA_GIVEN_S = 0.15;
const SEAM_COMMON_S = 0.4;

export interface LagInput {
	records: Records;
	plan: FieldPlan;
	account: Account;
	machines: readonly Machine[];
	laid: Laid;
	headers: { inferred: boolean }[];
	/** The header's states were inferred with a lag found before: ends of passes can be used. */
	settled: boolean;
}

/** Lags of all combines, in the order of `records.combines`, and the flows on an even grid of time. */
export function findAllLags(input: LagInput): { lags: Lag[]; flows: (TimeGrid | null)[] } {
	const { records, plan, account, machines, laid, headers, settled } = input;
	const { pieces, runs, sides } = laid;
	const { new_m } = laid.ground;
	const paths = machines.map((m) => m.path);
	const flows: (TimeGrid | null)[] = paths.map((path) =>
		path.n < 30
			? null
			: layTimeGrid(
					path,
					Float64Array.from(path.index, (i) => sensed_kg(account, i) / records.interval_s[i]!),
					pieces,
					new_m,
				),
	);
	const edges = flows.map((grid, c) =>
		grid === null || (headers[c]!.inferred && !settled) ? null : findEdgeResponses(grid),
	);
	const responses: (EdgeResponse | null)[] = edges.map((e) => e?.all ?? null);
	const smear_s = responses.map((r, c) => {
		const found = r?.smear_s ?? ASSUMED_SMEAR_S;
		// A slow log blurs its own responses: less than usual cannot be seen in it.
		return paths[c]!.step_s > SLOW_S ? Math.max(ASSUMED_SMEAR_S, found) : found;
	});
	const pairs = pairPlaces(pieces, sides, new_m, flows, runs, 30_000 * paths.length);
	const start = responses.map((r, c) => (r === null || headers[c]!.inferred ? Number.NaN : r.lag_s));
	const known = machines.map((m) => m.antennaGiven);
	const placed = edges.map((e) => e?.placed ?? null);
	const found = findLags(flows, pairs, smear_s, start, true);
	const moistures = paths.map((path, c) =>
		flows[c] == null
			? null
			: layTimeGrid(
					path,
					Float64Array.from(path.index, (i) => records.moisture_pct[i]!),
					pieces,
					new_m,
				),
	);
	const none = paths.map(() => 0);
	const wet = findLags(
		moistures,
		pairPlaces(pieces, sides, new_m, moistures, runs, 10_000 * paths.length),
		none,
		found.map((f, c) => (Number.isNaN(f.lag_s) ? start[c]! : f.lag_s)),
		false,
	);
	const lags = paths.map((_, c): Lag => {
		const seam = found[c]!;
		const response = responses[c] ?? null;
		const m = wet[c]!;
		const common = {
			combine: c,
			moistureLag_s: m.u_s < 2 ? m.lag_s : Number.NaN,
			smear_s: response === null ? Number.NaN : smear_s[c]!,
		};
		const pinned = plan.pins.lags?.[records.combines[c]!];
		if (pinned !== undefined) return { ...common, lag_s: pinned, u_s: 0, source: 'pinned' };
		const votes: { lag: number; u: number }[] = [];
		if (Number.isFinite(seam.lag_s)) {
			votes.push({
				lag: seam.lag_s,
				u: Math.hypot(seam.u_s, known[c] ? SEAM_ANTENNA_GIVEN_S : SEAM_COMMON_S),
			});
		}
		const edge = placed[c]!;
		const seam_u_s = votes[0]?.u ?? Number.NaN;
		// Where both disagree, changes of speed have pulled the seams: edges on the ground are free of that.
		if (!known[c] && edge !== null && votes.length > 0) {
			const apart = Math.max(0, Math.abs(edge.lag_s - seam.lag_s) - APART_S);
			votes[0]!.u = Math.hypot(votes[0]!.u, apart);
		}
		if (edge !== null) {
			votes.push({ lag: edge.lag_s, u: Math.hypot(edge.u_s, edge.common_s, EDGE_PLACED_S) });
		} else if (response !== null && !headers[c]!.inferred) {
			votes.push({ lag: response.lag_s, u: Math.hypot(response.u_s, known[c] ? EDGE_ANTENNA_GIVEN_S : EDGE_COMMON_S) });
		}
		if (votes.length === 0) return { ...common, lag_s: ASSUMED_LAG_S, u_s: 3, source: 'assumed' };
		const weight = votes.reduce((s, v) => s + 1 / v.u ** 2, 0);
		const lag_s = votes.reduce((s, v) => s + v.lag / v.u ** 2, 0) / weight;
		// Two witnesses farther apart than they say they may be know less than they say: Birge's ratio (1932).
		const [one, two] = votes;
		const birge = one && two ? Math.max(1, Math.abs(one.lag - two.lag) / Math.hypot(seam_u_s, two.u)) : 1;
		return { ...common, lag_s, u_s: Math.max(LEAST_U_S, birge / Math.sqrt(weight)), source: 'estimated' };
	});
	return { lags, flows };
}

/** What the sensor saw: accounted, but for flow that the account does not believe in at a pass's end. */
function sensed_kg(account: Account, i: number): number {
	return account.fault[i] === 4 ? account.monitor_kg[i]! : account.account_kg[i]!;
}
