/** The ground that the headers went over, laid down once the header's states are known. */
import type { TimeGrid } from '../lag/time-grid.ts';
import type { Machine } from '../path/machine.ts';
import { cutPieces, type PassRun, type Pieces } from '../path/pieces.ts';
import type { Fence } from './fence.ts';
import { type Ground, newGround, smoothAlong } from './ground.ts';
import { weighClaims } from './overlap.ts';
import { findReceivers, type Receivers } from './receivers.ts';
import { lookSides, type Sides } from './sides.ts';
import { correctedPlaces, findWander, type Wander } from './wander.ts';

/** Share of the cut ground outside the boundary from which on the boundary does not limit what was cut. */
const BEYOND = 0.06;
/** Receivers' steady offsets are read from about this many pieces: more add time, not certainty. */
const ROUGH_PIECES = 60_000;

/** Everything that is known of the ground for one set of header states. */
export interface Laid {
	pieces: Pieces;
	runs: PassRun[];
	receivers: Receivers;
	wander: Wander;
	sides: Sides;
	/** Overlaps by side, smoothed along the passes. */
	overlaps: readonly [Float64Array, Float64Array];
	ground: Ground;
	/** More was cut outside the boundary than inside error explains: it does not limit the ground. */
	fenceRefused: boolean;
}

/**
 * Cuts the ways of all machines into pieces, takes the receivers' offsets and wander out of them, and counts ground
 * once, in order of time over all machines.
 *
 * @param down - 1 where the header was down, per machine, in order of its path
 */
export function layGround(machines: readonly Machine[], down: readonly Uint8Array[], fence: Fence | null): Laid {
	const { pieces, runs } = cutPieces(
		machines.map((m) => m.path),
		[...down],
		machines.map((m) => m.header_m),
		machines.map((m) => m.claimed_m),
		machines.map((m) => m.ahead_m),
	);
	const row_m = machines.map((m) => m.row_m);
	const every = Math.max(1, Math.floor(pieces.n / ROUGH_PIECES));
	const rough = lookSides(pieces, pieces.x_m, pieces.y_m, null, every);
	const receivers = findReceivers(pieces, rough, machines.length, row_m.some((r) => r > 0) ? 0 : Number.NaN);
	const wander = findWander(pieces, rough, receivers, machines.length);
	const { x_m, y_m } = correctedPlaces(pieces, receivers, wander);
	const limiting = fence !== null && shareOutside(fence, x_m, y_m) <= BEYOND ? fence : null;
	const sides = lookSides(pieces, x_m, y_m, limiting);
	const overlaps = [smoothAlong(pieces, sides.overlap_m[0]), smoothAlong(pieces, sides.overlap_m[1])] as const;
	const ground = newGround(pieces, sides, overlaps, wander.overlap_m, wander.spread_m, row_m, null);
	return {
		pieces,
		runs,
		receivers,
		wander,
		sides,
		overlaps,
		ground,
		fenceRefused: fence !== null && limiting === null,
	};
}

/**
 * The ground once more, now that the flow can be placed: strips whose grain came with the later of two passes are its.
 *
 * @param flows - per machine, null where it has no records
 */
export function claimStrips(
	laid: Laid,
	machines: readonly Machine[],
	flows: (TimeGrid | null)[],
	lag_s: number[],
): Laid {
	const { pieces, sides, overlaps, wander } = laid;
	const claims = weighClaims(pieces, sides, overlaps, laid.ground.new_m, flows, lag_s);
	if (claims === null) return laid;
	const row_m = machines.map((m) => m.row_m);
	const ground = newGround(pieces, sides, overlaps, wander.overlap_m, wander.spread_m, row_m, claims);
	return { ...laid, ground };
}

function shareOutside(fence: Fence, x_m: Float64Array, y_m: Float64Array): number {
	let outside = 0;
	for (let i = 0; i < x_m.length; i++) if (!fence.inside(x_m[i]!, y_m[i]!)) outside++;
	return outside / x_m.length;
}
