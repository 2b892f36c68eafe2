import { describe, expect, it } from 'vitest';
import { utmProjection } from '../../lib/geo/utm.ts';
import { emptyRecords, type Records } from '../../lib/model/index.ts';
import { cutPieces, type HeaderPath } from '../../lib/track/path/cut-pieces.ts';
import { followPath, type Path, turnRateAt } from '../../lib/track/path/follow-path.ts';
import { machineOf } from '../../lib/track/path/machine.ts';
import { badPlaces, fillPlaces, usualPace } from '../../lib/track/path/positions.ts';
import { describePass, emptyTrack } from '../../lib/track/path/track-columns.ts';
import { headerWidth } from '../../lib/track/path/widths.ts';
import { SortedWindow } from '../../lib/track/path/window.ts';
import { plainPlan } from '../plain.ts';

const ZONE = { number: 15, south: false, epsg: 32615 } as const;

/** Records of one combine, `interval_s` each, ending at the given times. */
function recordsAt(times_s: readonly number[], interval_s = 1): Records {
	const records = { ...emptyRecords(times_s.length), combines: ['A'] };
	records.time_s.set(times_s);
	records.interval_s.fill(interval_s);
	return records;
}

const upTo = (n: number) => Array.from({ length: n }, (_, k) => k);

/** A path from places given by time. */
function pathOf(times_s: readonly number[], placeAt: (t: number) => readonly [number, number], interval_s = 1): Path {
	const x_m = Float64Array.from(times_s, (t) => placeAt(t)[0]);
	const y_m = Float64Array.from(times_s, (t) => placeAt(t)[1]);
	return followPath(recordsAt(times_s, interval_s), 0, x_m, y_m);
}

describe('usable places', () => {
	it('have a usual pace: the median speed of what moves, 1.5 m/s where nothing does', () => {
		const t = Float64Array.from([0, 1, 2, 3, 4, 100]);
		// 2, 2, 3 m/s; standing and the step over a gap do not count.
		expect(usualPace(t, Float64Array.from([0, 2, 4, 7, 7, 400]), new Float64Array(6))).toBe(2);
		expect(usualPace(t, new Float64Array(6), new Float64Array(6))).toBe(1.5);
	});

	it('leave out a place 60 m off, a missing one and a receiver that repeats itself while the machine drives on', () => {
		const t = Float64Array.from(upTo(40));
		const x = t.map((s) => 2 * s);
		const y = new Float64Array(40);
		y[10] = 60;
		x[15] = Number.NaN;
		for (const k of [21, 22, 23]) x[k] = x[20]!;
		const bad = badPlaces(t, x, y, 2);
		expect(upTo(40).filter((k) => bad[k])).toEqual([10, 15, 21, 22, 23]);
	});

	it('take a machine that stands, or was carried to another place, as it is', () => {
		const t = Float64Array.from(upTo(40));
		const stands = t.map((s) => (s < 10 ? 2 * s : s < 20 ? 20 : 2 * (s - 10)));
		expect(badPlaces(t, stands, new Float64Array(40), 2).includes(1)).toBe(false);
		const carried = t.map((s) => 2 * s + (s < 20 ? 0 : 5000));
		expect(badPlaces(t, carried, new Float64Array(40), 2).includes(1)).toBe(false);
	});

	it('are filled in on the line between good ones, not over more than half a minute', () => {
		const t = Float64Array.from([0, 1, 2, 3, 60, 61]);
		const x = Float64Array.from([0, 99, 99, 6, 99, 8]);
		const y = Float64Array.from([3, 0, 0, 9, 0, 0]);
		fillPlaces(t, x, y, Uint8Array.from([0, 1, 1, 0, 1, 0]));
		expect(Array.from(x)).toEqual([0, 2, 4, 6, Number.NaN, 8]);
		expect(Array.from(y.subarray(0, 4))).toEqual([3, 5, 7, 9]);
	});
});

describe('a path', () => {
	it('heads as it drives: east, then a circle to the left at one turn per circumference', () => {
		const radius_m = 20;
		const path = pathOf(upTo(120), (t) => {
			if (t <= 60) return [2 * t, 0];
			const angle = (2 * (t - 60)) / radius_m;
			return [120 + radius_m * Math.sin(angle), radius_m * (1 - Math.cos(angle))];
		});
		expect(path.pace_m_s).toBeCloseTo(2, 2);
		expect([path.ux[30], path.uy[30], path.turnRate_rad_m[30]]).toEqual([1, 0, 0]);
		expect(path.speed_m_s[30]).toBeCloseTo(2, 12);
		for (const k of [75, 90, 105]) {
			const angle = (2 * (k - 60)) / radius_m;
			expect(Math.atan2(path.uy[k]!, path.ux[k]!)).toBeCloseTo(Math.atan2(Math.sin(angle), Math.cos(angle)), 3);
			expect(path.turnRate_rad_m[k]).toBeCloseTo(1 / radius_m, 3);
		}
		expect(turnRateAt(path, 89.5)).toBe(path.turnRate_rad_m[90]);
		expect(turnRateAt(path, 1e9)).toBe(0);
	});

	it('keeps its last heading where it stands', () => {
		const path = pathOf(upTo(30), (t) => [0, 2 * Math.min(t, 10)]);
		expect([path.ux[25], path.uy[25]]).toEqual([0, 1]);
		expect(path.speed_m_s[25]).toBe(0);
	});

	it('evens out stamps that jitter, and leaves those that agree with their intervals', () => {
		const exact = pathOf(upTo(50), (t) => [2 * t, 0]);
		expect(Array.from(exact.end_s)).toEqual(upTo(50));
		expect(exact.start_s[10]).toBe(9);
		const jittered = upTo(200).map((t) => t + 0.3 * Math.sin(7 * t));
		const path = pathOf(jittered, (t) => [2 * t, 0]);
		const off = (list: ArrayLike<number>) => Math.max(...upTo(150).map((k) => Math.abs(list[k + 50]! - (k + 50))));
		expect(off(path.end_s)).toBeLessThan(0.2 * off(jittered));
	});

	it('starts an interval before its end after a gap, and shares the interval among records of one moment', () => {
		const path = pathOf([0, 1, 2, 50, 51, 51], (t) => [2 * t, 0]);
		expect(path.step_s).toBe(1);
		expect(path.start_s[3]).toBe(49);
		expect(path.from_s[3]).toBe(49);
		// Both ended at 51.
		expect(path.from_s[5]).toBe(51);
	});
});

it('intervals that the times contradict tell nothing of the path', () => {
	const plain = pathOf(upTo(100), (t) => [2 * t, 0]);
	const twice = pathOf(upTo(100), (t) => [2 * t, 0], 2);
	for (const key of ['end_s', 'start_s', 'from_s'] as const) expect(twice[key]).toEqual(plain[key]);
});

describe('a header', () => {
	it('is as wide as the log usually says; a width in use below that is kept by record', () => {
		const records = recordsAt(upTo(100));
		records.swath_m.fill(9);
		records.swath_m.fill(6, 0, 10);
		const path = followPath(records, 0, new Float64Array(100), new Float64Array(100));
		const { header_m, inUse_m } = headerWidth(records, path, plainPlan());
		expect(header_m).toBe(9);
		expect([inUse_m[5], inUse_m[50]]).toEqual([6, Infinity]);
		const planned = (swath_m: number) =>
			headerWidth(records, path, plainPlan({ combines: { A: { swath_m } } as never })).header_m;
		// A little wider than the log, or another header altogether.
		expect([planned(9.14), planned(12), planned(6)]).toEqual([9.14, 9, 9]);
		records.swath_m.fill(Number.NaN);
		expect(headerWidth(records, path, plainPlan()).header_m).toBe(6);
	});

	it('and the antenna belong to a machine whose places are in meters of the zone', () => {
		const { inverse, forward } = utmProjection(ZONE);
		const records = recordsAt(upTo(20));
		for (const k of upTo(20)) [records.lon_deg[k], records.lat_deg[k]] = inverse(450_000 + 2 * k, 4_650_000);
		const plan = plainPlan({ combines: { A: { row_m: 0.76, header_ahead_m: 4 } } as never });
		const machine = machineOf({ records, plan, zone: ZONE, combine: 0 });
		expect(machine.path.x_m[7]).toBeCloseTo(450_014, 3);
		expect(machine.path.y_m[7]).toBeCloseTo(forward(records.lon_deg[7]!, records.lat_deg[7]!)[1], 6);
		expect([machine.row_m, machine.ahead_m, machine.antennaGiven]).toEqual([0.76, 4, true]);
		const plain = machineOf({ records, plan: plainPlan(), zone: ZONE, combine: 0 });
		expect([plain.row_m, plain.ahead_m, plain.antennaGiven]).toEqual([Number.NaN, 0, false]);
	});
});

describe('pieces', () => {
	const header = (path: Path, more: Partial<HeaderPath> = {}): HeaderPath => ({
		path,
		down: new Uint8Array(path.n).fill(1),
		width_m: 9,
		inUse_m: new Float64Array(path.n).fill(Infinity),
		ahead_m: 0,
		...more,
	});
	const total = (values: Float64Array) => values.reduce((s, v) => s + v, 0);

	it('of about two meters cover the whole way, at one heading, with the cutter ahead of the antenna', () => {
		const path = pathOf(upTo(101), (t) => [5 * t, 0]);
		const { pieces, runs } = cutPieces([header(path, { ahead_m: 3 })]);
		// The first record's way is its own interval, a second before the first place.
		expect(total(pieces.length_m)).toBeCloseTo(505, 6);
		expect(pieces.length_m.every((l) => l > 1.5 && l < 3)).toBe(true);
		expect(pieces.ux.every((u) => u === 1)).toBe(true);
		expect(pieces.x_m[0]! - pieces.length_m[0]! / 2).toBeCloseTo(-5 + 3, 6);
		expect(runs).toHaveLength(1);
		expect(pieces.pass.every((p) => p === 0)).toBe(true);
		for (let i = 1; i < pieces.n; i++) {
			expect(pieces.from_s[i]).toBeCloseTo(pieces.to_s[i - 1]!, 9);
			expect(pieces.way_m[i]! - pieces.way_m[i - 1]!).toBeCloseTo(pieces.length_m[i]!, 6);
		}
	});

	it('are none where the header is up, the way is unknown or the machine stands; each time down is a run', () => {
		const path = pathOf(upTo(100), (t) => [2 * t, 0]);
		const down = Uint8Array.from(upTo(100), (k) => (k >= 40 && k < 60 ? 0 : 1));
		const { pieces, runs } = cutPieces([header(path, { down })]);
		expect(total(pieces.length_m)).toBeCloseTo(160, 6);
		expect(runs.map((r) => [r.start_s, r.end_s])).toEqual([
			[-1, 39],
			[59, 99],
		]);
		// A step of 400 m between two records is not taken as cut.
		const leap = pathOf(upTo(60), (t) => [2 * t + (t < 30 ? 0 : 400), 0]);
		expect(total(cutPieces([header(leap)]).pieces.length_m)).toBeLessThan(125);
		const stands = pathOf(upTo(60), () => [7, 7]);
		expect(cutPieces([header(stands)]).pieces.n).toBe(0);
	});

	it('of a turn belong to no run', () => {
		const radius_m = 8;
		const path = pathOf(upTo(120), (t) => {
			if (t <= 40) return [2 * t, 0];
			const angle = Math.min(Math.PI, (2 * (t - 40)) / radius_m);
			const back = Math.max(0, 2 * (t - 40) - Math.PI * radius_m);
			return [80 + radius_m * Math.sin(angle) - back, radius_m * (1 - Math.cos(angle))];
		});
		const { pieces, runs } = cutPieces([header(path)]);
		expect(runs).toHaveLength(2);
		const turning = upTo(pieces.n).filter((i) => pieces.pass[i] === -1);
		expect(turning.length).toBeGreaterThan(8);
		for (const i of turning) expect(Math.abs(pieces.from_s[i]! - 46)).toBeLessThan(10);
	});

	it('of several combines are in order of time, runs numbered through; which is listed first changes only the numbers', () => {
		const a = pathOf(upTo(50), (t) => [2 * t, 0]);
		const b = {
			...pathOf(
				upTo(50).map((t) => t + 0.5),
				(t) => [2 * t, 30],
			),
			combine: 1,
		};
		const both = cutPieces([header(a), header(b, { width_m: 12 })]);
		expect(both.pieces.n).toBe(cutPieces([header(a)]).pieces.n + cutPieces([header(b)]).pieces.n);
		for (let i = 1; i < both.pieces.n; i++) expect(both.pieces.to_s[i]! >= both.pieces.to_s[i - 1]!).toBe(true);
		expect(both.runs.map((r) => r.combine)).toEqual([0, 1]);
		for (const i of upTo(both.pieces.n)) {
			expect(both.runs[both.pieces.pass[i]!]!.combine).toBe(both.pieces.combine[i]);
			expect(both.pieces.width_m[i]).toBe(both.pieces.combine[i] === 0 ? 9 : 12);
			expect(both.pieces.y_m[i]).toBe(both.pieces.combine[i] === 0 ? 0 : 30);
		}
		const turned = cutPieces([header({ ...b, combine: 0 }), header({ ...a, combine: 1 })]);
		expect(turned.pieces.x_m).toEqual(both.pieces.x_m);
		expect(turned.pieces.way_m).toEqual(both.pieces.way_m);
	});

	it('do not depend on when or where: a shift of clock and place shifts them', () => {
		const way = (t: number) => [2 * t, 3 * Math.sin(t / 9)] as const;
		const here = cutPieces([header(pathOf(upTo(80), way))]).pieces;
		const there = cutPieces([
			header(
				pathOf(
					upTo(80).map((t) => t + 3600),
					(t) => [way(t - 3600)[0] + 1024, way(t - 3600)[1] - 512],
				),
			),
		]).pieces;
		expect(there.n).toBe(here.n);
		for (const i of upTo(here.n)) {
			expect(there.x_m[i]! - here.x_m[i]!).toBeCloseTo(1024, 6);
			expect(there.y_m[i]! - here.y_m[i]!).toBeCloseTo(-512, 6);
			expect(there.from_s[i]! - here.from_s[i]!).toBeCloseTo(3600, 6);
			expect(there.length_m[i]).toBeCloseTo(here.length_m[i]!, 6);
		}
	});
});

it('a pass is as long as its records lie apart, and heads from the first to the last of them', () => {
	const track = emptyTrack(4, ZONE);
	track.cutX_m.set([0, 3, Number.NaN, 6]);
	track.cutY_m.set([0, 4, Number.NaN, 8]);
	const run = { combine: 1, start_s: 100, end_s: 105 };
	const pass = describePass(run, 7, [0, 1, 3], track);
	expect(pass.length_m).toBe(10);
	expect(pass.speed_m_s).toBe(2);
	expect(pass.heading_rad).toBeCloseTo(Math.atan2(3, 4), 12);
	// Steps to and from a record without a place do not count.
	expect(describePass(run, 7, [0, 1, 2, 3], track).length_m).toBe(5);
	expect(describePass(run, 7, [3, 1, 0], track).heading_rad).toBeCloseTo(Math.PI + Math.atan2(3, 4), 12);
});

it('a sorted window keeps medians and quantiles of what is in it', () => {
	const window = new SortedWindow(8);
	expect(window.quantile(0.5)).toBeNaN();
	for (const v of [5, 1, Number.NaN, 3, 3]) window.add(v);
	expect(window.length).toBe(4);
	expect(window.median()).toBe(3);
	expect([window.quantile(0), window.quantile(1)]).toEqual([1, 5]);
	window.remove(3);
	window.remove(Number.NaN);
	window.remove(1);
	expect(window.median()).toBe(4);
});
