/** The stage's one function: everything that the tracks of all combines say together. */
import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import { harvestedOutline } from '../geo/outline.ts';
import { insideRings, outlineArea_m2, projectRings } from '../geo/ring.ts';
import { medianPlace, utmProjection, utmZone } from '../geo/utm.ts';
import type { Account, FieldPlan, Lag, Note, Pass, Progress, Records, Track } from '../model/index.ts';
import { smearBlend } from './blend.ts';
import { weighClaims } from './claims.ts';
import { type Fence, layFence } from './fence.ts';
import { flagRecords, type Limits } from './flags.ts';
import { type Grain, tally, traceGrain } from './grain.ts';
import { newGround, smoothAlong } from './ground.ts';
import { headerDown } from './header.ts';
import { ASSUMED_SMEAR_S, findAllLags } from './lags.ts';
import { median, quantile } from './middle.ts';
import { followPath, type Path } from './motion.ts';
import { oddRecords } from './odd.ts';
import { cutPieces, type PassRun, type Pieces } from './pieces.ts';
import { findReceivers, settle } from './receivers.ts';
import { lookSides } from './sides.ts';
import { findWander } from './wander.ts';

/** Share of the cut ground outside the boundary from which on the boundary does not limit what was cut. */
const BEYOND = 0.06;

/** Relative uncertainty of a part header's width that a record may have. */
const WIDTH_KNOWN = 0.07;

/** Where whole rows are taken, one row more or less must not weigh too much: fewer rows than this are too few. */
const ROWS_KNOWN = 4.5;

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
	const rings = boundary === null ? null : projectRings(boundary, projection);
	const fence = rings === null ? null : layFence(rings);
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
	const thresholds: Record<string, number> = {
		seam_overlap_m: wander.overlap_m,
		seam_spread_m: wander.spread_m,
		seam_tolerance_m: ground.tolerance_m,
	};
	const flows = account.account_kg.map((m, i) => m / records.interval_s[i]!).filter((f) => f > 0);
	const usual_kg_s = flows.length > 0 ? median(flows) : 0;
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
		if (rings !== null) {
			for (let k = 0; k < path.n; k++) {
				if (!insideRings(rings, grain.x_m[k]!, grain.y_m[k]!)) outside[k] = 1;
			}
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
		const limit = limits(plan, usual_kg_s, odd.noise, wander.spread_m, row_m[c]!);
		flagRecords(records, path, grain, account, blend, odd, moisture, outside, bend, limit, track.flag);
		for (const [word, value] of Object.entries(limit)) thresholds[`${records.combines[c]}.${word}`] = value;
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
	track.thresholds = thresholds;
	track.remarks = remarks(records, found.headers, lags, paths, fence !== null && found.fence === null, track);
	progress.step('track', 1);
	return track;
}

/** The boundary, unless much was cut beyond it: then it is the boundary that is drawn wrong. */
function trusted(fence: Fence | null, pieces: Pieces, x_m: Float64Array, y_m: Float64Array): Fence | null {
	if (fence === null) return null;
	let out = 0;
	let all = 0;
	const every = Math.max(1, Math.floor(pieces.n / 20_000));
	for (let i = 0; i < pieces.n; i += every) {
		all++;
		if (!insideRings(fence.rings, x_m[i]!, y_m[i]!)) out++;
	}
	return out > BEYOND * all ? null : fence;
}

function emptyTrack(n: number, zone: Track['zone']): Track {
	const nan = () => new Float64Array(n).fill(Number.NaN);
	return {
		zone,
		x_m: nan(),
		y_m: nan(),
		speed_m_s: nan(),
		heading_rad: nan(),
		pass: new Int32Array(n).fill(-1),
		passes: [],
		lags: [],
		cutX_m: nan(),
		cutY_m: nan(),
		corners_m: new Float64Array(8 * n).fill(Number.NaN),
		width_m: new Float64Array(n),
		area_m2: new Float64Array(n),
		flag: new Uint8Array(n),
		moisture_pct: nan(),
		receiverOffset_m: [],
		areas: { cut_m2: 0, distanceTimesSwath_m2: 0, boundary_m2: Number.NaN },
		outline: null,
		thresholds: {},
	};
}

/** What limits trust in the places and the ground, in plain words. */
function remarks(
	records: Records,
	headers: { inferred: boolean }[],
	lags: Lag[],
	paths: Path[],
	fenceRefused: boolean,
	track: Track,
): Note[] {
	const list: Note[] = [];
	const name = (c: number) => `Combine ${records.combines[c]}`;
	if (fenceRefused) {
		list.push({
			level: 'caution',
			text: 'Much was cut outside the boundary as drawn: it does not limit the ground counted, and records outside it are flagged.',
		});
	}
	for (const [c, path] of paths.entries()) {
		if (path.n === 0) continue;
		const lag = lags[c]!;
		if (lag.source === 'assumed') {
			list.push({
				level: 'caution',
				text: `${name(c)}: no neighbouring passes tell how long its grain takes to the sensor; ${lag.lag_s} s is assumed, and places may be off by several metres.`,
			});
		} else if (lag.source === 'estimated' && lag.u_s > 1.5) {
			list.push({
				level: 'caution',
				text: `${name(c)}: its lag of ${lag.lag_s.toFixed(1)} s is known to ± ${(2 * lag.u_s).toFixed(1)} s only.`,
			});
		}
		if (headers[c]!.inferred) {
			list.push({
				level: 'note',
				text: `${name(c)}: the log does not say when the header was down; it was worked out from how the machine moved and the grain that followed.`,
			});
		}
		const bad = path.bad.reduce((n, b) => n + b, 0);
		if (bad > 0.02 * path.n) {
			list.push({
				level: 'caution',
				text: `${name(c)}: ${bad} positions are missing, jump or repeat; places between good ones stand in for them.`,
			});
		}
	}
	const { cut_m2, boundary_m2 } = track.areas;
	if (Number.isFinite(boundary_m2) && Math.abs(cut_m2 / boundary_m2 - 1) > 0.05) {
		const share = Math.abs(100 * (cut_m2 / boundary_m2 - 1)).toFixed(0);
		list.push({
			level: 'caution',
			text: `The ground cut is ${share} % ${cut_m2 < boundary_m2 ? 'less' : 'more'} than the boundary holds.`,
		});
	}
	return list;
}

/** Header width of a combine, and by record what the log claims of it: operators set less where a part is used. */
function headerWidth(records: Records, path: Path, plan: FieldPlan): { header_m: number; claimed_m: Float64Array } {
	const planned = plan.combines[records.combines[path.combine]!]?.swath_m ?? Number.NaN;
	const claims: number[] = [];
	for (let k = 0; k < path.n; k++) {
		const w = records.swath_m[path.index[k]!]!;
		if (w > 0) claims.push(w);
	}
	const usual = claims.length > 0 ? quantile(claims, 0.9) : planned > 0 ? planned : 6;
	// A plan that says more than the log ever does is of another header; one that says a little more is not.
	const header_m = planned > usual && planned < 1.1 * usual ? planned : usual;
	const claimed_m = Float64Array.from(path.index, (i) => {
		const w = records.swath_m[i]!;
		return w > 0 && w < 0.95 * header_m ? w : Number.POSITIVE_INFINITY;
	});
	return { header_m, claimed_m };
}

/**
 * @param wander_m spread of the seams' overlaps
 * @param noise standard deviation of a record about its neighbours, relative: a bias below it is not worth a record
 */
function limits(plan: FieldPlan, usual_kg_s: number, noise: number, wander_m: number, row_m: number): Limits {
	const of = (word: string, value: number) => plan.flags[word] ?? value;
	const bias = Math.min(0.1, Math.max(0.03, noise));
	return {
		standing: of('standing', 0.25),
		turning: of('turning', 0.1),
		filling: of('filling', bias),
		emptying: of('emptying', bias),
		jolt: of('jolt', 1.25 * bias),
		surge: of('surge', Math.max(0.2, 5 * noise)),
		dropout: of('dropout', Math.max(0.2, 5 * noise)),
		flowless: of('flowless', 0.05 * usual_kg_s),
		moistureLow: of('moistureLow', 3),
		moisture: of('moisture', 45),
		narrow: of('narrow', Math.max(1, wander_m / WIDTH_KNOWN, row_m > 0 ? ROWS_KNOWN * row_m : 0)),
		recut: of('recut', 0.1),
	};
}

/** Moisture of each record's grain: the moisture sensor's own lag against the flow's taken out. */
function shiftMoisture(records: Records, path: Path, lag: Lag): Float64Array {
	const out = new Float64Array(path.n);
	const shift = Number.isFinite(lag.moistureLag_s) ? lag.moistureLag_s - lag.lag_s : 0;
	let j = 0;
	for (let k = 0; k < path.n; k++) {
		const t = path.end_s[k]! + shift;
		while (j + 1 < path.n && path.end_s[j + 1]! <= t) j++;
		while (j > 0 && path.end_s[j]! > t) j--;
		let near = j;
		if (j + 1 < path.n && path.end_s[j + 1]! - t < t - path.end_s[j]!) near = j + 1;
		const own = records.moisture_pct[path.index[k]!]!;
		const there = records.moisture_pct[path.index[near]!]!;
		out[k] = Math.abs(path.end_s[near]! - t) < 3 && Number.isFinite(there) ? there : own;
	}
	return out;
}

function bendAt(path: Path, time_s: number): number {
	let low = 0;
	let high = path.n - 1;
	while (low < high) {
		const mid = (low + high) >> 1;
		if (path.end_s[mid]! >= time_s) high = mid;
		else low = mid + 1;
	}
	return path.bend_rad_m[low] ?? 0;
}

/** From the path's order into the columns of the field. */
function scatter(
	path: Path,
	grain: Grain,
	moisture: Float64Array,
	pieces: Pieces,
	scale: number,
	track: Track,
	members: number[][],
): void {
	for (let k = 0; k < path.n; k++) {
		const i = path.index[k]!;
		track.x_m[i] = path.x_m[k]!;
		track.y_m[i] = path.y_m[k]!;
		track.speed_m_s[i] = path.speed_m_s[k]!;
		const heading = Math.atan2(path.ux[k]!, path.uy[k]!);
		track.heading_rad[i] = heading < 0 ? heading + 2 * Math.PI : heading;
		track.cutX_m[i] = grain.x_m[k]!;
		track.cutY_m[i] = grain.y_m[k]!;
		track.width_m[i] = grain.width_m[k]!;
		track.area_m2[i] = grain.area_m2[k]! / scale ** 2;
		track.moisture_pct[i] = moisture[k]!;
		track.corners_m.set(grain.corners_m.subarray(8 * k, 8 * k + 8), 8 * i);
		const piece = grain.piece[k]!;
		const pass = piece < 0 ? -1 : pieces.pass[piece]!;
		track.pass[i] = pass;
		if (pass >= 0) members[pass]!.push(i);
	}
}

function describePass(run: PassRun, id: number, records: number[], track: Track): Pass {
	let sx = 0;
	let sy = 0;
	let length = 0;
	for (let q = 0; q < records.length; q++) {
		if (q > 0) {
			const a = records[q - 1]!;
			const b = records[q]!;
			const dx = track.cutX_m[b]! - track.cutX_m[a]!;
			const dy = track.cutY_m[b]! - track.cutY_m[a]!;
			const d = Math.hypot(dx, dy);
			if (!Number.isFinite(d)) continue;
			length += d;
			sx += dx;
			sy += dy;
		}
	}
	const heading = Math.atan2(sx, sy);
	return {
		id,
		combine: run.combine,
		records: Int32Array.from(records),
		start_s: run.start_s,
		end_s: run.end_s,
		heading_rad: heading < 0 ? heading + 2 * Math.PI : heading,
		length_m: length,
		speed_m_s: run.end_s > run.start_s ? length / (run.end_s - run.start_s) : 0,
	};
}
