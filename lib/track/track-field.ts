import { harvestedOutline } from '../geo/outline.ts';
import { outlineArea_m2, projectRings } from '../geo/ring.ts';
import { type Projection, utmProjection, utmZone } from '../geo/utm.ts';
import {
	type Account,
	type Each,
	type Field,
	inTurn,
	type Progress,
	type Records,
	type Track,
} from '../model/index.ts';
import { upperMedian } from '../stats/index.ts';
import { type Harvested, harvestedGround, reassignStrips } from './ground/harvested.ts';
import { findAllLags } from './lag/lags.ts';
import { headerDown } from './path/header.ts';
import { machineOf } from './path/machine.ts';
import { describePass, emptyTrack } from './path/track-columns.ts';
import { combineGround, type Described, describeRecords } from './records/describe-records.ts';
import { flagTrack, type UnflaggedTrack } from './records/flagging.ts';
import { remarks } from './remarks.ts';

export interface TrackInput extends Pick<Field, 'records' | 'plan' | 'boundary' | 'varieties'> {
	account: Account;
}

/**
 * Finds the passes, each combine's lag and the ground that each record's grain was cut on, over all combines in
 * order of time, and flags the records that carry no yield for mechanical reasons.
 */
export function trackField(input: TrackInput, progress: Progress): Track {
	return flagTrack(unflaggedTrack(input, progress), input);
}

/** The track without its flags, which is the part that no threshold changes. */
export function unflaggedTrack(input: TrackInput, progress: Progress, each: Each = inTurn): UnflaggedTrack {
	const { records, plan, boundary, account } = input;
	progress.step('track', 0);
	const { zone, projection, scale } = project(records);
	const machines = each(
		machineOf,
		records.combines.map((_, combine) => ({ records, plan, zone, combine })),
	);
	progress.step('track', 0.15);

	const rings = boundary === null ? null : projectRings(boundary, projection);
	let headers = machines.map((m) => headerDown(records, account, m.path, Number.NaN));
	const cover = () =>
		harvestedGround(
			machines,
			headers.map((h) => h.down),
			rings,
			each,
		);
	let harvested = cover();
	progress.step('track', 0.5);
	const place = (headersKnown: boolean) => {
		const found = findAllLags({ records, plan, account, machines, harvested, headers, headersKnown }, each);
		const lag_s = found.lags.map((l) => l.lag_s);
		return {
			lags: found.lags,
			mixing: found.mixing,
			harvested: reassignStrips(harvested, machines, found.flows, lag_s),
		};
	};
	let placed = place(false);
	if (headers.some((h) => h.inferred)) {
		// With the lag known, the flow shows where the header was in the crop.
		headers = machines.map((m, c) => headerDown(records, account, m.path, placed.lags[c]!.lag_s));
		harvested = cover();
		placed = place(true);
	}
	const { lags } = placed;
	harvested = placed.harvested;
	progress.step('track', 0.75);

	const { pieces, runs, receivers, wander, ground } = harvested;
	const track = emptyTrack(records.n, zone);
	track.lags = lags;
	track.receiverOffset_m = receivers.right_m.map((a) => a - receivers.right_m[0]!);
	track.width_u_rel = harvested.widths.map((w, c) => w.u_m / machines[c]!.header_m);
	track.thresholds = {
		seam_overlap_m: wander.overlap_m,
		seam_spread_m: wander.spread_m,
		seam_tolerance_m: ground.tolerance_m,
	};
	const members: number[][] = runs.map(() => []);
	const grounds = each(
		combineGround,
		machines.map(({ path, ahead_m }, c) => {
			const { right_m, east_m, north_m } = receivers;
			const shift = { right_m: right_m[c]!, east_m: east_m[c]!, north_m: north_m[c]!, ahead_m, combine: c, wander };
			return { records, account, path, pieces, ground, lag: lags[c]!, mixing: placed.mixing[c]!, shift, rings };
		}),
	);
	const combines = machines.map(({ path }, c): Described => {
		return describeRecords({ path, pieces, scale, ...grounds[c]! }, track, members);
	});
	track.passes = runs.map((run, id) => describePass(run, id, members[id]!, track));
	track.areas = {
		...areasOf(harvested, scale),
		boundary_m2: boundary === null ? Number.NaN : outlineArea_m2(boundary, projection),
	};
	track.outline = boundary ?? harvestedOutline({ ...pieces, width_m: ground.new_m }, projection);
	track.remarks = remarks({
		account,
		described: combines,
		records,
		headers,
		lags,
		machines,
		widths: harvested.widths,
		refutedWidths: harvested.refutedWidths,
		receivers,
		boundaryRefused: harvested.boundaryRefused,
		track,
	});
	progress.step('track', 1);
	return { track, combines };
}

/** The UTM zone of the records' median place, and the grid's scale factor there. */
function project(records: Records): { zone: Track['zone']; projection: Projection; scale: number } {
	// Medians, so that stray positions do not matter.
	const middle = { lon_deg: upperMedian(records.lon_deg), lat_deg: upperMedian(records.lat_deg) };
	const known = Number.isFinite(middle.lon_deg + middle.lat_deg);
	const zone = known ? utmZone(middle.lon_deg, middle.lat_deg) : utmZone(0, 0);
	const projection = utmProjection(zone);
	const scale = known ? projection.scale(...projection.forward(middle.lon_deg, middle.lat_deg)) : 1;
	return { zone, projection, scale };
}

/** Ground cut and ground driven, m² on the ellipsoid. */
function areasOf({ pieces, ground }: Harvested, scale: number): { cut_m2: number; distanceTimesSwath_m2: number } {
	let distance = 0;
	let cut = 0;
	for (let i = 0; i < pieces.n; i++) {
		distance += pieces.length_m[i]! * pieces.width_m[i]!;
		cut += pieces.length_m[i]! * ground.new_m[i]!;
	}
	return { cut_m2: cut / scale ** 2, distanceTimesSwath_m2: distance / scale ** 2 };
}
