/** The stage's one function: everything that the tracks of all combines say together. */
import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import { harvestedOutline } from '../geo/outline.ts';
import { outlineArea_m2, projectRings } from '../geo/ring.ts';
import { medianPlace, utmProjection, utmZone } from '../geo/utm.ts';
import type { Account, FieldPlan, Lag, Progress, Records, Track } from '../model/index.ts';
import { type Fence, layFence } from './ground/fence.ts';
import { tally, traceGrain } from './ground/grain.ts';
import { newGround, smoothAlong } from './ground/ground.ts';
import { weighClaims } from './ground/overlap.ts';
import { findReceivers, settle } from './ground/receivers.ts';
import { lookSides } from './ground/sides.ts';
import { findWander } from './ground/wander.ts';
import { ASSUMED_SMEAR_S } from './lag/edge-response.ts';
import { findAllLags } from './lag/lags.ts';
import { shiftMoisture } from './lag/moisture.ts';
import { smearBlend } from './lag/smear.ts';
import { describePass, emptyTrack, scatter } from './path/columns.ts';
import { headerDown } from './path/header.ts';
import { bendAt, followPath, type Path } from './path/motion.ts';
import { cutPieces, type Pieces } from './path/pieces.ts';
import { headerWidth } from './path/widths.ts';
import { flagTrack, type LaidTrack, type Sorted } from './records/flagging.ts';
import { oddRecords } from './records/odd.ts';
import { remarks } from './remarks.ts';

/** Share of the cut ground outside the boundary from which on the boundary does not limit what was cut. */
const BEYOND = 0.06;

export interface TrackInput {
	records: Records;
	plan: FieldPlan;
	boundary: Polygon | MultiPolygon | null;
	varieties: FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null;
	account: Account;
}

/**
 * Finds the passes, each combine's lag and the ground that each record's grain was cut on, over all combines in
 * order of time, and flags the records that carry no yield for mechanical reasons.
 */
export function trackField(input: TrackInput, progress: Progress): Track {
	return flagTrack(layTrack(input, progress), input);
}

/** All of the track but its flags: what no threshold changes. */
export function layTrack(input: TrackInput, progress: Progress): LaidTrack {
	const { records, plan, boundary, account } = input;
	progress.step('track', 0);
	const middle = medianPlace(records.lon_deg, records.lat_deg);
	const zone = utmZone(
		Number.isFinite(middle.lon_deg) ? middle.lon_deg : 0,
		Number.isFinite(middle.lat_deg) ? middle.lat_deg : 0,
	);
	const projection = utmProjection(zone);
	const grid = projection.forwardAll(records.lon_deg, records.lat_deg);
	const combines = records.combines.length;
	const paths: Path[] = [];
	for (let c = 0; c < combines; c++) paths.push(followPath(records, c, grid.x_m, grid.y_m));
	progress.step('track', 0.15);

	const widths = paths.map((path) => headerWidth(records, path, plan));
	const ahead_m = records.combines.map((name) => plan.combines[name]?.header_ahead_m ?? 0);
	const row_m = records.combines.map((name) => plan.combines[name]?.row_m ?? Number.NaN);
	const someRows = row_m.some((r) => r > 0);
	let lags: Lag[] = [];
	const fence = boundary === null ? null : layFence(projectRings(boundary, projection));
	let found = lay(paths.map((path) => headerDown(records, account, path, Number.NaN)));

	function lay(headers: { down: Uint8Array; inferred: boolean }[]) {
		const { pieces, runs } = cutPieces(
			paths,
			headers.map((h) => h.down),
			widths.map((w) => w.header_m),
			widths.map((w) => w.claimed_m),
			ahead_m,
		);
		const every = Math.max(1, Math.floor(pieces.n / 60_000));
		const rough = lookSides(pieces, pieces.x_m, pieces.y_m, null, every);
		const receivers = findReceivers(pieces, rough, combines, someRows ? 0 : Number.NaN);
		const wander = findWander(pieces, rough, receivers, combines);
		const at = settle(pieces, receivers, wander);
		const believed = trusted(fence, pieces, at.x_m, at.y_m);
		const sides = lookSides(pieces, at.x_m, at.y_m, believed);
		const smooth = [smoothAlong(pieces, sides.overlap_m[0]), smoothAlong(pieces, sides.overlap_m[1])] as const;
		const ground = newGround(pieces, sides, smooth, wander.overlap_m, wander.spread_m, row_m, null);
		return { headers, pieces, runs, receivers, wander, sides, smooth, ground, fence: believed };
	}
	progress.step('track', 0.5);

	const estimate = (settled: boolean) => {
		const all = findAllLags(
			records,
			plan,
			account,
			paths,
			found.pieces,
			found.runs,
			found.sides,
			found.ground.new_m,
			found.headers,
			settled,
		);
		lags = all.lags;
		const claims = weighClaims(
			found.pieces,
			found.sides,
			found.smooth,
			found.ground.new_m,
			all.flows,
			lags.map((l) => l.lag_s),
		);
		if (claims === null) return;
		const { pieces, sides, smooth, wander } = found;
		found.ground = newGround(pieces, sides, smooth, wander.overlap_m, wander.spread_m, row_m, claims);
	};
	estimate(false);
	if (found.headers.some((h) => h.inferred)) {
		// With the lag known the grain itself says where the header was in the crop.
		found = lay(paths.map((path, c) => headerDown(records, account, path, lags[c]!.lag_s)));
		estimate(true);
	}
	progress.step('track', 0.75);

	const { pieces, runs, receivers, wander, ground } = found;
	const track = emptyTrack(records.n, zone);
	track.lags = lags;
	track.receiverOffset_m = receivers.right_m.map((a) => a - receivers.right_m[0]!);
	const scale = Number.isFinite(middle.lon_deg + middle.lat_deg)
		? projection.scale(...projection.forward(middle.lon_deg, middle.lat_deg))
		: 1;
	track.thresholds = {
		seam_overlap_m: wander.overlap_m,
		seam_spread_m: wander.spread_m,
		seam_tolerance_m: ground.tolerance_m,
	};
	const sorted: Sorted[] = [];
	const members: number[][] = runs.map(() => []);
	paths.forEach((path, c) => {
		const sums = tally(pieces, ground, c);
		const shift = {
			right_m: receivers.right_m[c]!,
			east_m: receivers.east_m[c]!,
			north_m: receivers.north_m[c]!,
			ahead_m: ahead_m[c]!,
			combine: c,
			wander,
		};
		const grain = traceGrain(path, pieces, ground, sums, lags[c]!.lag_s, shift);
		const moisture = shiftMoisture(records, path, lags[c]!);
		const smear = Number.isFinite(lags[c]!.smear_s) ? lags[c]!.smear_s : ASSUMED_SMEAR_S;
		const blend = smearBlend(path, pieces, ground.new_m, grain, smear, lags[c]!.lag_s);
		const outside = new Uint8Array(path.n);
		if (fence !== null) {
			for (let k = 0; k < path.n; k++) if (!fence.inside(grain.x_m[k]!, grain.y_m[k]!)) outside[k] = 1;
		}
		const bend = Float64Array.from(grain.cut_s, (t) => bendAt(path, t));
		const usable = new Uint8Array(path.n);
		const inPass = new Int32Array(path.n).fill(-1);
		for (let k = 0; k < path.n; k++) {
			const piece = grain.piece[k]!;
			if (piece >= 0) inPass[k] = pieces.pass[piece]!;
			const wide = grain.width_m[k]! > 0.25 * grain.header_m[k]!;
			if (wide && Math.abs(blend.share[k]!) < 0.1 && !grain.bad[k] && account.fault[path.index[k]!] === 0)
				usable[k] = 1;
		}
		const kg = Float64Array.from(path.index, (i) => account.account_kg[i]!);
		const odd = oddRecords(kg, grain, usable, inPass);
		sorted.push({ path, grain, blend, odd, moisture_pct: moisture, outside, bend });
		scatter(path, grain, moisture, pieces, scale, track, members);
	});
	track.passes = runs.map((run, id) => describePass(run, id, members[id]!, track));
	let distance = 0;
	let cut = 0;
	for (let i = 0; i < pieces.n; i++) {
		distance += pieces.length_m[i]! * pieces.width_m[i]!;
		cut += pieces.length_m[i]! * ground.new_m[i]!;
	}
	track.areas = {
		cut_m2: cut / scale ** 2,
		distanceTimesSwath_m2: distance / scale ** 2,
		boundary_m2: boundary === null ? Number.NaN : outlineArea_m2(boundary, projection),
	};
	track.outline = boundary ?? harvestedOutline({ ...pieces, width_m: ground.new_m }, projection);
	track.remarks = remarks(records, found.headers, lags, paths, fence !== null && found.fence === null, track);
	progress.step('track', 1);
	return { track, combines: sorted };
}

/** The boundary, unless much was cut beyond it: then it is the boundary that is drawn wrong. */
function trusted(fence: Fence | null, pieces: Pieces, x_m: Float64Array, y_m: Float64Array): Fence | null {
	if (fence === null) return null;
	let out = 0;
	let all = 0;
	for (let i = 0; i < pieces.n; i++) {
		all++;
		if (!fence.inside(x_m[i]!, y_m[i]!)) out++;
	}
	return out > BEYOND * all ? null : fence;
}
