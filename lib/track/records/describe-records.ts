/** Each record of one combine: the ground its grain came from, its moisture there, and what its flag is set from. */

import type { Rings } from '../../geo/ring.ts';
import type { Account, Lag, Records, Track } from '../../model/index.ts';
import { columnOf, firstAbove } from '../../stats/index.ts';
import { fenceOf } from '../ground/fence.ts';
import type { Ground } from '../ground/new-ground.ts';
import { type Grain, type OwnPieces, piecesOf, type Shift, traceGrain } from '../ground/trace-grain.ts';
import { shiftMoisture } from '../lag/shift-moisture.ts';
import { type Mixing, type Smeared, smearGround } from '../lag/smear.ts';
import { runningSums } from '../lag/time-grid.ts';
import type { Pieces } from '../path/cut-pieces.ts';
import { type Path, turnRateAt } from '../path/follow-path.ts';
import { fillColumns } from '../path/track-columns.ts';
import { findRecordOutliers, type RecordOutliers } from './record-outliers.ts';

/** A record is compared with its neighbors only where it cut at least this share of the header … */
const WIDE = 0.25;
/** … and where the area that its grain came from is known to this share. */
const BLENDED = 0.1;

/** What the flags of one combine's records are set from, in order of its path; kept as long as thresholds may change. */
export interface Described {
	path: Pick<Path, 'n' | 'index' | 'end_s' | 'from_s' | 'pace_m_s'>;
	grain: Pick<Grain, 'x_m' | 'bad' | 'way_m' | 'cutting' | 'width_m' | 'header_m'>;
	smeared: Pick<Smeared, 'u_rel' | 'share' | 'where'>;
	outliers: RecordOutliers;
	moisture_pct: Float64Array;
	/** 1 where the middle of the record's ground is outside the boundary. */
	outside: Uint8Array;
	turnRate_rad_m: Float64Array;
	/** Ground whose grain was still on its way to the sensor when the record ended, m². */
	underway_m2: Float64Array;
}

/** One combine's track over the ground cut by all. */
export interface CombineInput {
	records: Records;
	account: Account;
	path: Path;
	pieces: Pieces;
	ground: Ground;
	lag: Lag;
	mixing: Mixing;
	shift: Shift;
	/** The boundary's; null = none given. */
	rings: Rings | null;
}

/** The ground of each record of one combine without and with the smear, and what its records show beside each other. */
export interface CombineGround {
	grain: Grain;
	smeared: Smeared;
	moisture_pct: Float64Array;
	outliers: RecordOutliers;
	turnRate_rad_m: Float64Array;
	/** 1 where the middle of the record's ground is outside the boundary. */
	outside: Uint8Array;
	/** Ground whose grain was still on its way to the sensor when the record ended, grid m². */
	underway_m2: Float64Array;
}

/** Traces the ground of one combine's records, with the smear, and what the records show beside each other. */
export function combineGround(input: CombineInput): CombineGround {
	const { records, account, path, pieces, ground, lag, mixing, shift, rings } = input;
	const own = piecesOf(pieces, shift.combine);
	const grain = traceGrain({ path, pieces, ground, own, lag_s: lag.lag_s }, shift);
	const smeared = smearGround({ path, pieces, new_m: ground.new_m, grain }, mixing);
	const usable = new Uint8Array(path.n);
	const pass = new Int32Array(path.n).fill(-1);
	for (let k = 0; k < path.n; k++) {
		const piece = grain.piece[k]!;
		if (piece >= 0) pass[k] = pieces.pass[piece]!;
		const wide = grain.width_m[k]! > WIDE * grain.header_m[k]!;
		const sound = !grain.bad[k] && account.fault[path.index[k]!] === 0;
		if (wide && sound && smeared.u_rel[k]! < BLENDED) usable[k] = 1;
	}
	const outside = new Uint8Array(path.n);
	if (rings !== null) {
		const fence = fenceOf(rings);
		for (let k = 0; k < path.n; k++) if (!fence.inside(grain.x_m[k]!, grain.y_m[k]!)) outside[k] = 1;
	}
	const kg = columnOf(path.index, (i) => account.account_kg[i]!);
	return {
		grain,
		smeared,
		moisture_pct: shiftMoisture(records, path, lag),
		outliers: findRecordOutliers(kg, smeared.area_m2, usable, pass),
		turnRate_rad_m: columnOf(grain.cut_s, (t) => turnRateAt(path, t)),
		outside,
		underway_m2: underway(path, pieces, ground, own, Math.max(0, lag.lag_s)),
	};
}

/** Ground newly cut within the lag before each record's end. */
function underway({ end_s }: Path, pieces: Pieces, ground: Ground, own: OwnPieces, lag_s: number): Float64Array {
	// Of the pieces that have ended: a piece takes about a second.
	const cut = runningSums(columnOf(own.list, (i) => pieces.length_m[i]! * ground.new_m[i]!));
	return columnOf(end_s, (t) => cut[firstAbove(own.to_s, t)]! - cut[firstAbove(own.to_s, t - lag_s)]!);
}

/**
 * Fills the columns of `track` for the records of one combine.
 *
 * @param input - `scale`: grid distance / ground distance in the field
 * @param members - by pass; its records are added
 * @returns what the flags are set from, in order of the combine's path
 */
export function describeRecords(
	input: CombineGround & { path: Path; pieces: Pieces; scale: number },
	track: Track,
	members: number[][],
): Described {
	const { path, pieces, scale, grain, smeared, moisture_pct, outliers, turnRate_rad_m, outside, underway_m2 } = input;
	fillColumns({ path, grain, area_m2: smeared.area_m2, moisture_pct, pieces, scale }, track, members);
	const { n, index, end_s, from_s, pace_m_s } = path;
	const { x_m, bad, way_m, cutting, width_m, header_m } = grain;
	const { u_rel, share, where } = smeared;
	return {
		path: { n, index, end_s, from_s, pace_m_s },
		grain: { x_m, bad, way_m, cutting, width_m, header_m },
		smeared: { u_rel, share, where },
		outliers,
		moisture_pct,
		outside,
		turnRate_rad_m,
		underway_m2: underway_m2.map((area) => area / scale ** 2),
	};
}
