import { describe, expect, it } from 'vitest';
import { emptyRecords } from '../../lib/model/index.ts';
import { SEAM_SHARE, type Sides } from '../../lib/track/ground/find-sides.ts';
import type { Ground } from '../../lib/track/ground/new-ground.ts';
import { piecesOf, traceGrain } from '../../lib/track/ground/trace-grain.ts';
import { emptyWander } from '../../lib/track/ground/wander.ts';
import { findLags, prepare } from '../../lib/track/lag/lag.ts';
import { pairPlaces, piecesPaired, somePairs } from '../../lib/track/lag/piece-pairs.ts';
import { findResponses } from '../../lib/track/lag/response.ts';
import { shiftMoisture } from '../../lib/track/lag/shift-moisture.ts';
import { smearGround } from '../../lib/track/lag/smear.ts';
import {
	otherValue,
	placeOn,
	runningSums,
	smearBack,
	smearOn,
	sumTo,
	timeGridOf,
} from '../../lib/track/lag/time-grid.ts';
import { cutPieces, type PassRun, type Pieces } from '../../lib/track/path/cut-pieces.ts';
import { followPath, type Path } from '../../lib/track/path/follow-path.ts';

const WIDTH_M = 9;
const upTo = (n: number) => Array.from({ length: n }, (_, k) => k);

/** Lanes of 300 m, up and down beside each other, at 2 m/s with 30 s between them. */
const LANE_S = 150;
const TURN_S = 30;
function lanes(count: number, more: { down?: (lane: number, k: number) => boolean } = {}) {
	const times: number[] = [];
	const x: number[] = [];
	const y: number[] = [];
	const down: number[] = [];
	for (let lane = 0; lane < count; lane++) {
		for (let k = 0; k <= LANE_S + TURN_S; k++) {
			const t = lane * (LANE_S + TURN_S + 1) + k;
			times.push(t);
			const along = Math.min(k, LANE_S) * 2;
			const turned = Math.max(0, k - LANE_S) / TURN_S;
			x.push((lane + turned) * WIDTH_M);
			y.push(lane % 2 ? 300 - along : along);
			down.push(k > 0 && k <= LANE_S && (more.down?.(lane, k) ?? true) ? 1 : 0);
		}
	}
	const n = times.length;
	const records = { ...emptyRecords(n), combines: ['A'] };
	records.time_s.set(times);
	records.interval_s.fill(1);
	const path = followPath(records, 0, Float64Array.from(x), Float64Array.from(y));
	const { pieces, runs } = cutPieces([
		{
			path,
			down: Uint8Array.from(down),
			width_m: WIDTH_M,
			inUse_m: new Float64Array(n).fill(Infinity),
			ahead_m: 0,
		},
	]);
	return { records, path, pieces, runs, new_m: new Float64Array(pieces.n).fill(WIDTH_M) };
}

/** The flow of a sensor: area rate on a fine grid through a pure delay and a first-order smear, written out anew. */
function flowOf(path: Path, rateAt: (t: number) => number, delay_s: number, smear_s: number): Float64Array {
	const step_s = 0.05;
	const m = Math.ceil(path.end_s[path.n - 1]! / step_s) + 1;
	const out = new Float64Array(m);
	let level = 0;
	for (let g = 0; g < m; g++) {
		level += (1 - Math.exp(-step_s / smear_s)) * (rateAt(g * step_s - delay_s) - level);
		out[g] = level;
	}
	// A record holds the mean over its interval.
	return Float64Array.from(path.end_s, (end_s) => {
		const from = Math.max(0, Math.round((end_s - 1) / step_s));
		const to = Math.max(from + 1, Math.round(end_s / step_s));
		let sum = 0;
		for (let g = from; g < to; g++) sum += out[g]!;
		return sum / (to - from);
	});
}

/** Every piece beside the one of the lane before that lies across from it. */
function sidesOf(pieces: Pieces): Sides {
	const { n } = pieces;
	const sides: Sides = {
		overlap_m: [new Float64Array(n).fill(Number.NaN), new Float64Array(n).fill(Number.NaN)],
		piece: [new Int32Array(n).fill(-1), new Int32Array(n).fill(-1)],
		share: SEAM_SHARE,
		crossed: new Map(),
	};
	for (let i = 0; i < n; i++) {
		for (let j = 0; j < i; j++) {
			const apart = Math.abs(pieces.x_m[i]! - pieces.x_m[j]!);
			if (pieces.pass[i]! < 0 || pieces.pass[j] !== pieces.pass[i]! - 1) continue;
			if (Math.abs(apart - WIDTH_M) > 0.5 || Math.abs(pieces.y_m[i]! - pieces.y_m[j]!) > 1.01) continue;
			const side = pieces.uy[i]! > 0 ? 0 : 1;
			sides.piece[side][i] = j;
			sides.overlap_m[side][i] = 0;
		}
	}
	return sides;
}

describe('a time grid', () => {
	const { path, pieces, new_m } = lanes(2);
	const ramp = path.end_s.map((t) => 3 + t / 100);
	const grid = timeGridOf(path, ramp, pieces, new_m);

	it('has a record’s value at the middle of its interval, and lines between', () => {
		expect(grid.step_s).toBe(1);
		// A step's value stands at its beginning.
		for (const g of [1, 40, 170, 300]) expect(grid.value[g]).toBeCloseTo(3 + (g + path.start_s[0]! + 0.5) / 100, 9);
		expect(placeOn(grid, path.start_s[0]!)).toBe(0);
	});

	it('shares out the area of every piece', () => {
		const area = upTo(pieces.n).reduce((s, i) => s + pieces.length_m[i]! * new_m[i]!, 0);
		expect(grid.rate.reduce((s, v) => s + v, 0)).toBeCloseTo(area, 6);
		expect(grid.rate[50]).toBeCloseTo(2 * WIDTH_M, 9);
		expect([grid.over[50], grid.over[165], grid.pass[50], grid.pass[250]]).toEqual([1, 0, 0, 1]);
	});

	it('has no values in a gap of the log, and leaves most of a long one out', () => {
		const kept = upTo(path.n).filter((k) => k < 60 || k >= 90);
		const part = followPath(
			{
				...emptyRecords(kept.length),
				combines: ['A'],
				time_s: Float64Array.from(kept, (k) => path.end_s[k]! + (k < 60 ? 0 : 86_400)),
				interval_s: new Float64Array(kept.length).fill(1),
			},
			0,
			Float64Array.from(kept, (k) => path.x_m[k]!),
			Float64Array.from(kept, (k) => path.y_m[k]!),
		);
		const gap = timeGridOf(part, new Float64Array(kept.length).fill(5), pieces, new_m);
		expect(gap.n).toBeLessThan(kept.length + 700);
		expect(gap.value.filter((v) => v === 5).length).toBeGreaterThan(kept.length - 10);
		expect(gap.value.filter(Number.isNaN).length).toBeGreaterThan(500);
	});

	it('takes another value of the same records', () => {
		const wet = otherValue(grid, path, new Float64Array(path.n).fill(18));
		expect(wet.value[77]).toBe(18);
		expect(wet.rate).toBe(grid.rate);
	});
});

describe('a first-order smear', () => {
	const step = Float64Array.from(upTo(60), (g) => (g < 20 ? 0 : 1));

	it('follows a step by 1 − kᵐ, is delayed by its time constant, and backward is its mirror image', () => {
		const smeared = smearOn(step, 0.5, 2);
		// The share kept that makes the mean delay on the grid the time constant: τ / (τ + step).
		for (const m of [1, 4, 9]) expect(smeared[19 + m]).toBeCloseTo(1 - 0.8 ** m, 12);
		const impulse = new Float64Array(400);
		impulse[10] = 1;
		const spread = smearOn(impulse, 0.5, 2);
		const mean = spread.reduce((s, v, g) => s + g * v, 0) / spread.reduce((s, v) => s + v, 0);
		expect((mean - 10) * 0.5).toBeCloseTo(2, 6);
		const mirrored = smearBack(step.slice().reverse(), 0.5, 2).reverse();
		expect(mirrored).toEqual(smeared);
		expect(smearOn(step, 0.5, 0)).toEqual(step);
	});

	it('is summed up to any place between steps', () => {
		const sums = runningSums(Float64Array.of(2, 4, 6));
		expect(Array.from(sums)).toEqual([0, 2, 6, 12]);
		expect(sumTo(sums, 1.25)).toBe(3);
	});
});

describe('the response at the ends of passes', () => {
	const { path, pieces, new_m } = lanes(12);
	const rateAt = (t: number) => {
		const k = t % (LANE_S + TURN_S + 1);
		return t > 0 && k > 0 && k <= LANE_S ? 2 * WIDTH_M : 0;
	};

	it.each([
		[9, 1],
		[12, 3],
		[6, 2],
	])('shows a mean delay of %s s of which %s s are smear', (lag_s, smear_s) => {
		const flow = flowOf(path, rateAt, lag_s - smear_s, smear_s);
		const { placed, timed } = findResponses(timeGridOf(path, flow, pieces, new_m));
		const found = (placed ?? timed)!;
		expect(Math.abs(found.lag_s - lag_s)).toBeLessThan(0.3);
		// On a grid of a second, the smear is known to about half of one.
		expect(Math.abs(found.smear_s - smear_s)).toBeLessThan(0.6);
		// What the flow is counted in does not matter.
		const more = findResponses(
			timeGridOf(
				path,
				flow.map((f) => 40 * f),
				pieces,
				new_m,
			),
		);
		expect((more.placed ?? more.timed)!.lag_s).toBeCloseTo(found.lag_s, 6);
	});

	it('is none where the flow does not follow the area, or hardly anything was cut', () => {
		const noise = Float64Array.from(path.end_s, (_, k) => 10 + 8 * Math.sin(k * k));
		expect(findResponses(timeGridOf(path, noise, pieces, new_m))).toEqual({ placed: null, timed: null });
		const idle = timeGridOf(path, noise, pieces, new Float64Array(pieces.n));
		expect(findResponses(idle)).toEqual({ placed: null, timed: null });
	});
});

describe('places side by side', () => {
	const { path, pieces, runs, new_m } = lanes(8);
	const sides = sidesOf(pieces);
	const crop = (y: number) => 1 + 0.15 * Math.sin(y / 14) + 0.1 * Math.cos(y / 9);
	const yAt = (t: number) => {
		const lane = Math.floor(t / (LANE_S + TURN_S + 1));
		const k = t - lane * (LANE_S + TURN_S + 1);
		const along = Math.min(k, LANE_S) * 2;
		return { y: lane % 2 ? 300 - along : along, cutting: t > 0 && k > 0 && k <= LANE_S };
	};
	const rateAt = (t: number) => (yAt(t).cutting ? 2 * WIDTH_M * crop(yAt(t).y) : 0);
	const flow = flowOf(path, rateAt, 8, 2);
	const grid = timeGridOf(path, flow, pieces, new_m);
	const input = { pieces, sides, new_m, grids: [grid], runs };

	it('are pieces of full-width passes cut in opposite directions, away from the ends', () => {
		const paired = piecesPaired(input);
		expect(paired.length).toBeGreaterThan(700);
		for (const code of paired) {
			const i = code >> 1;
			const j = sides.piece[(code & 1) as 0 | 1][i]!;
			expect(pieces.uy[i]! * pieces.uy[j]!).toBeLessThan(0);
			const run = runs[pieces.pass[i]!] as PassRun;
			expect(Math.min(pieces.from_s[i]! - run.start_s, run.end_s - pieces.to_s[i]!)).toBeGreaterThanOrEqual(12);
		}
		expect(piecesPaired({ ...input, new_m: new Float64Array(pieces.n).fill(4) }).length).toBe(0);
		expect(piecesPaired({ ...input, grids: [null] }).length).toBe(0);
	});

	it('are thinned evenly, and say when either pass was there', () => {
		const paired = piecesPaired(input);
		const pairs = pairPlaces(input, paired, 200);
		expect(pairs.n).toBeLessThanOrEqual(200);
		expect(pairs.groups).toBe(7);
		for (let k = 0; k < pairs.n; k++) {
			const [a, b] = [pairs.a[k]!, pairs.b[k]!].map((g) => yAt(g + path.start_s[0]!).y);
			expect(Math.abs(a! - b!)).toBeLessThan(0.05);
		}
		const some = somePairs(pairs, (k) => pairs.group[k]! >= 5);
		expect(some.groups).toBe(2);
		expect(some.n).toBe(pairs.group.filter((g) => g >= 5).length);
		expect(Math.max(...some.group)).toBe(1);
	});

	it('agree best at the lag, wherever the search begins', () => {
		const pairs = pairPlaces(input, piecesPaired(input), 30_000);
		for (const start of [Number.NaN, 8.5, 12]) {
			const [found] = findLags([prepare(grid, 2, true)], pairs, [start]);
			expect(Math.abs(found!.lag_s - 10)).toBeLessThan(0.25);
			expect(found!.u_s).toBeLessThan(0.5);
			expect(found!.pairs).toBe(pairs.n);
		}
		expect(
			findLags(
				[null],
				somePairs(pairs, () => false),
				[Number.NaN],
			)[0]!.lag_s,
		).toBeNaN();
	});
});

it('moisture is taken from as much later as its sensor sees the grain later', () => {
	const { records, path } = lanes(1);
	records.moisture_pct.set(path.end_s.map((t) => 15 + t / 100));
	const lag = { combine: 0, lag_s: 10, u_s: 0.3, moistureLag_s: 14, smear_s: 2, source: 'estimated' as const };
	const shifted = shiftMoisture(records, path, lag);
	expect(shifted[50]).toBeCloseTo(15.54, 9);
	// Past the end there is only the last one's; where none is near, a record keeps its own.
	expect(shifted[path.n - 1]).toBeCloseTo(15 + path.end_s[path.n - 1]! / 100, 9);
	expect(shiftMoisture(records, path, { ...lag, moistureLag_s: Number.NaN })[50]).toBeCloseTo(15.5, 9);
	records.moisture_pct[54] = Number.NaN;
	expect(shiftMoisture(records, path, lag)[50]).toBeCloseTo(15.5, 9);
});

describe('the ground in a record, with the smear', () => {
	const { path, pieces, new_m } = lanes(2);
	const ground: Ground = {
		new_m,
		left_m: new_m.map((w) => -w / 2),
		right_m: new_m.map((w) => w / 2),
		tolerance_m: 0.35,
	};
	const receivers = { right_m: [0], east_m: [0], north_m: [0], excess_m: [0], excess_u_m: [0] };
	const wander = emptyWander(pieces, 1, { ...receivers, overlap_m: 0, spread_m: 0, seams: 0 });
	const shift = { right_m: 0, east_m: 0, north_m: 0, ahead_m: 0, combine: 0, wander };
	const own = piecesOf(pieces, 0);
	const smeared = (lag_s: number, smear_s: number) =>
		smearGround(
			{ path, pieces, new_m, grain: traceGrain({ path, pieces, ground, own, lag_s }, shift) },
			{ lag_s, later_s: 0, smear_s, u_s: 0.3, smear_u_s: 0.3 },
		);

	it('is that of its own window where the speed is steady, and follows 1 − e^(−t/τ) after a start', () => {
		const [lag_s, smear_s] = [10, 3];
		const { area_m2, share, where } = smeared(lag_s, smear_s);
		expect(area_m2[100]).toBeCloseTo(2 * WIDTH_M, 3);
		expect(Math.abs(share[100]!)).toBeLessThan(1e-3);
		expect(where[100]).toBe(0);
		// The header went down at 0 s; the grain of t − (lag − τ) arrives smeared.
		for (const t of [8, 10, 14]) {
			const s = t - (lag_s - smear_s);
			const mean = 1 - smear_s * (Math.exp(-(s - 1) / smear_s) - Math.exp(-s / smear_s));
			expect(Math.abs(area_m2[t]! / (2 * WIDTH_M) - mean)).toBeLessThan(0.03);
		}
		expect([where[14], where[LANE_S + 5]]).toEqual([-1, 1]);
	});

	it('adds up to what was cut, whatever the smear', () => {
		const cut = upTo(pieces.n).reduce((s, i) => s + pieces.length_m[i]! * new_m[i]!, 0);
		// Only what comes after the log's end is missing.
		for (const smear_s of [0.5, 2, 4]) {
			const sum = smeared(9, smear_s).area_m2.reduce((s, a) => s + a, 0);
			expect(Math.abs(sum / cut - 1)).toBeLessThan(2e-3);
		}
	});
});
