/** The ground that the headers covered, counted once over all machines, from the states of the headers. */
import type { Rings } from '../../geo/ring.ts';
import type { Each } from '../../model/index.ts';
import type { TimeGrid } from '../lag/time-grid.ts';
import { cutPieces, type PassRun, type Pieces } from '../path/cut-pieces.ts';
import type { Machine } from '../path/machine.ts';
import { fenceOf } from './fence.ts';
import { findSides, SEAM_SHARE, type Sides, WIDE_SHARE } from './find-sides.ts';
import { findWander } from './find-wander.ts';
import { type Ground, newGround, smoothAlong } from './new-ground.ts';
import { reassignOverlaps } from './overlap.ts';
import { findReceivers, offsetsTogether, type Receivers, withoutOffsets } from './receivers.ts';
import { refutedOverlaps } from './refuted.ts';
import { fullWidth, narrowed, type Refuted, refutedInUse, type SetWidth, setWidths } from './set-width.ts';
import { correctedPlaces, type Wander } from './wander.ts';

/** If more than this share of the cut ground is outside the boundary, the boundary does not limit the ground. */
const BEYOND = 0.06;
/** Receivers' constant offsets, and what lies beyond the boundary, are estimated from about this many pieces: more add time, not information. */
const ROUGH_PIECES = 60_000;
/** Far offsets are believed where without them there are so many times more seams. */
const FAR_SEAMS = 1.2;

/** The ground for one set of header states. */
export interface Harvested {
	pieces: Pieces;
	runs: PassRun[];
	/** Header widths as set against how far apart passes lie, by combine. */
	widths: SetWidth[];
	/** Widths in use by the log that pass spacing refutes. */
	refutedWidths: Refuted[];
	receivers: Receivers;
	wander: Wander;
	sides: Sides;
	/** Overlaps by side, smoothed along the passes. */
	overlaps: readonly [Float64Array, Float64Array];
	ground: Ground;
	/** True where too much was cut outside the boundary for it to be right; it then does not limit the ground. */
	boundaryRefused: boolean;
}

/**
 * Cuts the tracks of all machines into pieces, removes the receivers' offsets and wander, and counts ground once, in
 * order of time over all machines.
 *
 * @param down - 1 where the header was down, per machine, in order of its path
 * @param boundary - its rings; null = none given
 */
export function harvestedGround(
	machines: readonly Machine[],
	down: readonly Uint8Array[],
	boundary: Rings | null,
	each: Each,
): Harvested {
	const cut = cutPieces(
		machines.map(({ path, inUse_m, ahead_m, header_m }, c) => ({
			path,
			down: down[c]!,
			width_m: header_m,
			inUse_m,
			ahead_m,
		})),
		each,
	);
	const { runs } = cut;
	const row_m = machines.map((m) => m.row_m);
	const every = Math.max(1, Math.floor(cut.pieces.n / ROUGH_PIECES));
	const measure = (pieces: Pieces, share: number) => {
		const { x_m, y_m } = pieces;
		const rough = findSides({ pieces, x_m, y_m, boundary: null, every, share }, each);
		return { pieces, rough, receivers: findReceivers(pieces, rough, machines.length) };
	};
	// Far offsets, where taking them out brings passes side by side that seemed to lie apart or on each other.
	const far = measure(cut.pieces, WIDE_SHARE).receivers;
	const asRecorded = measure(cut.pieces, SEAM_SHARE);
	const moved = measure({ ...cut.pieces, ...withoutOffsets(cut.pieces, far) }, SEAM_SHARE);
	const isFar = moved.receivers.seams > FAR_SEAMS * asRecorded.receivers.seams;
	let measured = isFar ? moved : asRecorded;
	const widths = setWidths(machines, measured.receivers);
	if (widths.some((w) => w.excess_m !== 0)) measured = measure(narrowed(measured.pieces, widths), SEAM_SHARE);
	const { rough, receivers } = measured;
	let { pieces } = measured;
	const wander = findWander(pieces, rough, receivers, machines.length);
	const { x_m, y_m } = correctedPlaces(pieces, receivers, wander);
	const limiting = boundary !== null && shareOutside(boundary, x_m, y_m, every) <= BEYOND ? boundary : null;
	const sides = findSides({ pieces, x_m, y_m, boundary: limiting }, each);
	const refutedWidths = refutedInUse(pieces, sides);
	if (refutedWidths.length > 0) pieces = fullWidth(pieces, refutedWidths);
	const { n, pass, way_m } = pieces;
	const [left, right] = each(
		smoothAlong,
		sides.overlap_m.map((values) => ({ pieces: { n, pass, way_m }, values })),
	);
	const overlaps = [left!, right!] as const;
	const ground = newGround({ pieces, sides, overlaps, seams: wander, row_m, reassigned: null, refuted: null });
	return {
		pieces,
		runs,
		widths,
		refutedWidths,
		receivers: isFar ? offsetsTogether(far, receivers) : receivers,
		wander,
		sides,
		overlaps,
		ground,
		boundaryRefused: boundary !== null && limiting === null,
	};
}

/**
 * The ground with overlaps reassigned to the later of two passes where the flow shows that it cut them.
 *
 * @param flows - per machine, null where it has no records
 */
export function reassignStrips(
	harvested: Harvested,
	machines: readonly Machine[],
	flows: (TimeGrid | null)[],
	lag_s: number[],
): Harvested {
	const { pieces, sides, overlaps, wander } = harvested;
	const { new_m } = harvested.ground;
	const row_m = machines.map((m) => m.row_m);
	const reassigned = reassignOverlaps({ pieces, sides, overlap_m: overlaps, new_m, flows, lag_s });
	const seams = wander;
	const first =
		reassigned === null
			? harvested.ground
			: newGround({ pieces, sides, overlaps, seams, row_m, reassigned, refuted: null });
	const refuted = refutedOverlaps({ pieces, sides, ground: first, flows, lag_s });
	const ground = refuted === null ? first : newGround({ pieces, sides, overlaps, seams, row_m, reassigned, refuted });
	return { ...harvested, ground };
}

/** Share of the places outside, by one in `every`. */
function shareOutside(boundary: Rings, x_m: Float64Array, y_m: Float64Array, every: number): number {
	const fence = fenceOf(boundary);
	let outside = 0;
	for (let i = 0; i < x_m.length; i += every) if (!fence.inside(x_m[i]!, y_m[i]!)) outside++;
	return outside / Math.ceil(x_m.length / every);
}
