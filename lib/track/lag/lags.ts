/** Each combine's lag from all evidence: seams, ends of passes, the user's pins. */

import {
	type Account,
	type Each,
	type FieldPlan,
	inTurn,
	type Lag,
	MASS_FAULT,
	type Records,
} from '../../model/index.ts';
import { columnOf } from '../../stats/index.ts';
import type { Harvested } from '../ground/harvested.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import type { Path } from '../path/follow-path.ts';
import type { Machine } from '../path/machine.ts';
import { findLags, prepare, type Ready } from './lag.ts';
import { pairPlaces, piecesPaired } from './piece-pairs.ts';
import { ASSUMED_SMEAR_S, findResponses, type Response, type Responses } from './response.ts';
import type { Mixing } from './smear.ts';
import { otherValue, type TimeGrid, timeGridOf } from './time-grid.ts';

/** Lag without any evidence, seconds: the middle of published values (Beal and Tian 2001: 8 to 14 s). */
const ASSUMED_LAG_S = 11;
/**
 * Common error of lags from the ends of passes, standard uncertainty, seconds: the header is lowered before the crop
 * and lifted after it and, where the antenna's place is not given, the lag of the map is not the lag of the grain.
 */
const EDGE_ANTENNA_GIVEN_S = 1;
const EDGE_COMMON_S = 2.5;
/** The same where the header runs from cut ground into the crop, whose edge is known to a few decimeters. */
const EDGE_PLACED_S = 0.2;
/** Differences between seams and edges up to this may be chance, seconds. */
const APART_S = 0.5;
/** Least standard uncertainty of a lag, seconds: the grain's path differs from load to load. */
const LEAST_U_S = 0.25;
/**
 * Common error of lags from seams, standard uncertainty, seconds: records, positions, the log's clock and, where the
 * antenna's place is not given, changes of speed, which pull the estimate toward the lag of the grain.
 */
const SEAM_ANTENNA_GIVEN_S = 0.15;
const SEAM_COMMON_S = 0.4;

export interface LagInput {
	records: Records;
	plan: FieldPlan;
	account: Account;
	machines: readonly Machine[];
	harvested: Harvested;
	headers: { inferred: boolean }[];
	/** True where header states are given or were inferred with a known lag, so that ends of passes can be used. */
	headersKnown: boolean;
}

/** Lags of all combines, in the order of `records.combines`, and their flows on regular time grids. */
export function findAllLags(
	input: LagInput,
	each: Each = inTurn,
): { lags: Lag[]; mixing: Mixing[]; flows: (TimeGrid | null)[] } {
	const { records, plan, account, machines, harvested, headers, headersKnown } = input;
	const { pieces, runs, sides } = harvested;
	const { new_m } = harvested.ground;
	const paths = machines.map((m) => m.path);
	const readings = each(
		readingsOf,
		paths.map((path, c) => ({
			records,
			account,
			path,
			pieces,
			new_m,
			edgesKnown: headersKnown || !headers[c]!.inferred,
		})),
	);
	const flows = readings.map((r) => r?.flow ?? null);
	const edges = readings.map((r) => r?.responses ?? null);
	const smears = readings.map((r) => r?.smear ?? null);
	const places = { pieces, sides, new_m, grids: flows, runs };
	const paired = piecesPaired(places);
	const start = edges.map((e, c) =>
		headers[c]!.inferred ? Number.NaN : ((e?.placed ?? e?.timed)?.lag_s ?? Number.NaN),
	);
	const known = machines.map((m) => m.antennaGiven);
	const ready = {
		flow: readings.map((r) => r?.ready.flow ?? null),
		wet: readings.map((r) => r?.ready.moisture ?? null),
	};
	const found = findLags(ready.flow, pairPlaces(places, paired, 30_000 * paths.length), start);
	const wet = findLags(
		ready.wet,
		pairPlaces(places, paired, 10_000 * paths.length),
		found.map((f, c) => (Number.isNaN(f.lag_s) ? start[c]! : f.lag_s)),
	);
	const lags = paths.map((_, c): Lag => {
		const seam = found[c]!;
		const m = wet[c]!;
		const common = {
			combine: c,
			moistureLag_s: m.u_s < 2 ? m.lag_s : Number.NaN,
			smear_s: smears[c]?.smear_s ?? Number.NaN,
		};
		const pinned = plan.pins.lags?.[records.combines[c]!];
		if (pinned !== undefined) return { ...common, lag_s: pinned, u_s: 0, source: 'pinned' };
		const estimates: { lag: number; u: number }[] = [];
		if (Number.isFinite(seam.lag_s)) {
			estimates.push({
				lag: seam.lag_s,
				u: Math.hypot(seam.u_s, known[c] ? SEAM_ANTENNA_GIVEN_S : SEAM_COMMON_S),
			});
		}
		const { placed: edge = null, timed = null } = edges[c] ?? {};
		const seam_u_s = estimates[0]?.u ?? Number.NaN;
		// Where the two disagree, changes of speed have biased the seams; edges on the ground are free of that bias.
		if (!known[c] && edge !== null && estimates.length > 0) {
			const apart = Math.max(0, Math.abs(edge.lag_s - seam.lag_s) - APART_S);
			estimates[0]!.u = Math.hypot(estimates[0]!.u, apart);
		}
		if (edge !== null) {
			estimates.push({ lag: edge.lag_s, u: Math.hypot(edge.u_s, edge.common_s, EDGE_PLACED_S) });
		} else if (timed !== null && !headers[c]!.inferred) {
			estimates.push({
				lag: timed.lag_s,
				u: Math.hypot(timed.u_s, timed.common_s, known[c] ? EDGE_ANTENNA_GIVEN_S : EDGE_COMMON_S),
			});
		}
		if (estimates.length === 0) return { ...common, lag_s: ASSUMED_LAG_S, u_s: 3, source: 'assumed' };
		const weight = estimates.reduce((s, v) => s + 1 / v.u ** 2, 0);
		const lag_s = estimates.reduce((s, v) => s + v.lag / v.u ** 2, 0) / weight;
		// Two estimates farther apart than their uncertainties allow are less certain than stated: Birge's ratio (1932).
		const [one, two] = estimates;
		const birge = one && two ? Math.max(1, Math.abs(one.lag - two.lag) / Math.hypot(seam_u_s, two.u)) : 1;
		return { ...common, lag_s, u_s: Math.max(LEAST_U_S, birge / Math.sqrt(weight)), source: 'estimated' };
	});
	return { lags, mixing: lags.map((lag, c) => mixingOf(lag, edges[c]!, smears[c]!, known[c]!)), flows };
}

/** What one combine's sensors read on regular time grids, and how its flow responds to the area cut. */
interface Readings {
	flow: TimeGrid;
	/** null where it is not known when the header was down. */
	responses: Responses | null;
	/** The response that shows the smear best; null where none does. */
	smear: Response | null;
	ready: { flow: Ready; moisture: Ready };
}

/** The readings of one combine; null where it has hardly any records. */
export function readingsOf(input: {
	records: Records;
	account: Account;
	path: Path;
	pieces: Pieces;
	new_m: Float64Array;
	edgesKnown: boolean;
}): Readings | null {
	const { records, account, path, pieces, new_m, edgesKnown } = input;
	if (path.n < 30) return null;
	const flow_kg_s = columnOf(path.index, (i) => sensed_kg(records, account, i) / records.interval_s[i]!);
	const flow = timeGridOf(path, flow_kg_s, pieces, new_m);
	const moisture_pct = columnOf(path.index, (i) => records.moisture_pct[i]!);
	const responses = edgesKnown ? findResponses(flow) : null;
	const smear = surestSmear(responses);
	return {
		flow,
		responses,
		smear,
		ready: {
			flow: prepare(flow, smear?.smear_s ?? ASSUMED_SMEAR_S, true),
			moisture: prepare(otherValue(flow, path, moisture_pct), 0, false),
		},
	};
}

/** The response that shows the smear best; null where none does. */
function surestSmear(responses: Responses | null): Response | null {
	const told = [responses?.placed, responses?.timed].filter((r) => r != null && r.smear_s > 0) as Response[];
	return told.reduce<Response | null>((a, b) => (a !== null && a.smear_u_s <= b.smear_u_s ? a : b), null);
}

/** How grain mixes on its way, and how late changes of speed show in the flow beside places on the ground. */
function mixingOf(lag: Lag, responses: Responses | null, smear: Response | null, antennaGiven: boolean): Mixing {
	const { placed = null, timed = null } = responses ?? {};
	const surer = timed ?? placed;
	const smear_s = smear?.smear_s ?? ASSUMED_SMEAR_S;
	const smear_u_s = smear === null ? 1 : Math.hypot(smear.smear_u_s, smear.common_s);
	if (surer === null) return { lag_s: lag.lag_s, later_s: 0, smear_s, u_s: lag.u_s, smear_u_s };
	// An antenna ahead or behind sets the two apart.
	const apart_s = surer.lag_s - lag.lag_s;
	const later_s = placed !== null && !antennaGiven && Math.abs(apart_s) > APART_S ? apart_s : 0;
	return {
		lag_s: lag.lag_s,
		later_s,
		smear_s,
		// Each kind of change has some of the other near it, which pulls the two together.
		u_s: Math.hypot(surer.u_s, surer.common_s, apart_s - later_s, later_s / 4),
		smear_u_s,
	};
}

/** Mass at the sensor: as accounted, except that flow long after cutting is kept; NaN where none was written. */
function sensed_kg({ flow_kg_s }: Records, account: Account, i: number): number {
	if (account.fault[i] === 0 && Number.isNaN(flow_kg_s[i]!)) return Number.NaN;
	return account.fault[i] === MASS_FAULT.idle ? account.monitor_kg[i]! : account.account_kg[i]!;
}
