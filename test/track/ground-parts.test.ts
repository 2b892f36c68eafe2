import { booleanPointInPolygon, polygon } from '@turf/turf';
import { Matrix, solve } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { inTurn } from '../../lib/model/index.ts';
import { fenceOf } from '../../lib/track/ground/fence.ts';
import { FENCE, findSides, SEAM_SHARE, type Sides, WIDE_SHARE } from '../../lib/track/ground/find-sides.ts';
import { findWander } from '../../lib/track/ground/find-wander.ts';
import { cellsOf } from '../../lib/track/ground/ground-cells.ts';
import { harvestedGround } from '../../lib/track/ground/harvested.ts';
import { type Ground, newGround } from '../../lib/track/ground/new-ground.ts';
import { reassignOverlaps } from '../../lib/track/ground/overlap.ts';
import { findReceivers, offsetsTogether, type Receivers, withoutOffsets } from '../../lib/track/ground/receivers.ts';
import { refutedOverlaps } from '../../lib/track/ground/refuted.ts';
import { fullWidth, narrowed, refutedInUse, setWidths } from '../../lib/track/ground/set-width.ts';
import { piecesOf, recordAt, traceGrain } from '../../lib/track/ground/trace-grain.ts';
import { correctedPlaces, emptyWander, KNOT_S, knotAt, wanderAt } from '../../lib/track/ground/wander.ts';
import { type Links, leastSquares } from '../../lib/track/ground/wander-squares.ts';
import type { TimeGrid } from '../../lib/track/lag/time-grid.ts';
import type { Pieces } from '../../lib/track/path/cut-pieces.ts';
import type { Path } from '../../lib/track/path/follow-path.ts';
import type { Machine } from '../../lib/track/path/machine.ts';
import { worktimeOf } from '../../lib/track/path/worktime.ts';

const WIDTH_M = 9;
const upTo = (n: number) => Array.from({ length: n }, (_, k) => k);

interface Lane {
	x_m: number;
	combine?: number;
	width_m?: number;
	/** Meters driven north, or south where negative. */
	length_m?: number;
}

/** Lanes one after another, in pieces of two meters at 2 m/s. */
function piecesAlong(
	lanes: readonly Lane[],
	receiver?: (c: number, t: number, uy: number) => [number, number],
): Pieces {
	const rows = lanes.flatMap(({ x_m, combine = 0, width_m = WIDTH_M, length_m = 200 }, pass) => {
		const count = Math.abs(length_m) / 2;
		const uy = Math.sign(length_m);
		return upTo(count).map((k) => {
			const from_s = pass * 150 + k;
			const [dx, dy] = receiver?.(combine, from_s + 0.5, uy) ?? [0, 0];
			const along = 2 * k + 1;
			return { pass, combine, width_m, from_s, uy, x: x_m + dx, y: (uy > 0 ? along : 200 - along) + dy, way: 0 };
		});
	});
	const numbers = (of: (row: (typeof rows)[number], i: number) => number) => Float64Array.from(rows, of);
	return {
		n: rows.length,
		combine: Uint8Array.from(rows, (r) => r.combine),
		pass: Int32Array.from(rows, (r) => r.pass),
		from_s: numbers((r) => r.from_s),
		to_s: numbers((r) => r.from_s + 1),
		x_m: numbers((r) => r.x),
		y_m: numbers((r) => r.y),
		ux: numbers(() => 0),
		uy: numbers((r) => r.uy),
		length_m: numbers(() => 2),
		width_m: numbers((r) => r.width_m),
		inUse_m: numbers(() => Infinity),
		way_m: numbers((_, i) => 2 * i),
	};
}

/** Lanes side by side, up and down. */
const upAndDown = (count: number, spacing_m = WIDTH_M, more: (k: number) => Partial<Lane> = () => ({})): Lane[] =>
	upTo(count).map((k) => ({ x_m: k * spacing_m, length_m: k % 2 ? -200 : 200, ...more(k) }));

/** The path of a machine that drives north at 2 m/s for so many seconds. */
function northward(n: number, { combine = 0, x_m = 0, start_s = 0 } = {}): Path {
	const column = (of: (k: number) => number) => Float64Array.from(upTo(n), of);
	return {
		combine,
		n,
		index: Int32Array.from(upTo(n)),
		end_s: column((k) => start_s + k + 1),
		start_s: column((k) => start_s + k),
		from_s: column((k) => start_s + k),
		x_m: column(() => x_m),
		y_m: column((k) => 2 * (k + 1)),
		bad: new Uint8Array(n),
		ux: column(() => 0),
		uy: column(() => 1),
		speed_m_s: column(() => 2),
		turnRate_rad_m: column(() => 0),
		step_s: 1,
		pace_m_s: 2,
	};
}

const sidesOf = (pieces: Pieces, boundary: Float64Array[] | null = null) =>
	findSides({ pieces, x_m: pieces.x_m, y_m: pieces.y_m, boundary }, inTurn);

const still = (combines: number, more: Partial<Receivers> = {}): Receivers => ({
	right_m: new Array<number>(combines).fill(0),
	east_m: new Array<number>(combines).fill(0),
	north_m: new Array<number>(combines).fill(0),
	excess_m: new Array<number>(combines).fill(0),
	excess_u_m: new Array<number>(combines).fill(0.01),
	overlap_m: 0,
	spread_m: 0.05,
	seams: 100,
	...more,
});

describe('a fence', () => {
	// An L of two squares of 200 m and one more, with a hole.
	const ring = [0, 0, 400, 0, 400, 200, 200, 200, 200, 400, 0, 400];
	const hole = [50, 50, 50, 110, 120, 110, 120, 50];
	const rings = [Float64Array.from(ring), Float64Array.from(hole)];
	const fence = fenceOf(rings);
	const closed = (flat: number[]) => [...upTo(flat.length / 2), 0].map((k) => [flat[2 * k]!, flat[2 * k + 1]!]);
	const asTurf = polygon([closed(ring), closed(hole)]);

	it('holds the places that another library says it holds', () => {
		let seed = 7;
		const random = () => (seed = (seed * 48_271) % 2_147_483_647) / 2_147_483_647;
		for (let k = 0; k < 3000; k++) {
			const [x, y] = [500 * random() - 50, 500 * random() - 50];
			expect(fence.inside(x, y)).toBe(booleanPointInPolygon([x, y], asTurf));
		}
		expect(fence.inside(Number.NaN, 0)).toBe(false);
	});

	it('cuts a header line where it leaves the field, and says whether it runs along there', () => {
		// Northward, 2 m from the east side: the right 2.5 m are outside.
		expect(fence.outside(398, 100, 0, 1, 4.5)).toEqual({ pairs: [2, 4.5], alongFrom: [true], alongTo: [false] });
		// Southward, they are to the left.
		expect(fence.outside(398, 100, 0, -1, 4.5)).toEqual({ pairs: [-4.5, -2], alongFrom: [false], alongTo: [true] });
		expect(fence.outside(300, 100, 0, 1, 4.5)).toBeNull();
		expect(fence.outside(900, 100, 0, 1, 4.5)).toEqual({ pairs: [-4.5, 4.5], alongFrom: [false], alongTo: [false] });
		// Across the narrow way: the hole's side crosses the line at an angle.
		const s = Math.SQRT1_2;
		const slanted = fence.outside(398, 100, s, s, 4.5)!;
		expect(slanted.pairs[0]).toBeCloseTo(2 / s, 9);
		expect(slanted.alongFrom).toEqual([false]);
	});
});

it('pieces are sorted into squares, each in order of time, however far a stray one lies', () => {
	const pieces = piecesAlong(upAndDown(3));
	pieces.x_m[17] = 4e6;
	const cells = cellsOf(pieces, pieces.x_m, pieces.y_m, SEAM_SHARE);
	expect(cells.columns * cells.rows).toBeLessThan(20 * pieces.n + 20_000);
	expect([...cells.items].sort((a, b) => a - b)).toEqual(upTo(pieces.n));
	for (let s = 0; s < cells.columns * cells.rows; s++) {
		const items = cells.items.subarray(cells.start[s]!, cells.start[s + 1]!);
		for (let q = 0; q < items.length; q++) {
			const i = items[q]!;
			expect(Math.floor((pieces.x_m[i]! - cells.x0_m) / cells.size_m)).toBe(s % cells.columns);
			if (q > 0) expect(i).toBeGreaterThan(items[q - 1]!);
		}
	}
	expect(cellsOf(piecesAlong([]), new Float64Array(0), new Float64Array(0), SEAM_SHARE).items.length).toBe(0);
});

describe('the sides of a piece', () => {
	it('are the parallel neighbor cut before it, with its overlap, in whichever direction either was driven', () => {
		const pieces = piecesAlong(upAndDown(2, 8.5));
		const { overlap_m, piece } = sidesOf(pieces);
		// The second lane runs south, so that the first lies to its right.
		const i = 150;
		expect(piece[1][i]).toBeLessThan(100);
		expect(pieces.y_m[piece[1][i]!]! - pieces.y_m[i]!).toBeCloseTo(0, 9);
		expect(overlap_m[1][i]).toBeCloseTo(0.5, 9);
		expect(overlap_m[0][i]).toBeNaN();
		// Nothing was cut before the first.
		expect(piece[0].subarray(0, 100).every((p) => p === -1)).toBe(true);
	});

	it('are the boundary where that is nearer, and ground that a pass crosses is taken from the middle', () => {
		const box = [Float64Array.of(-3, -50, 300, -50, 300, 300, -3, 300)];
		const pieces = piecesAlong(upAndDown(1));
		const { overlap_m, piece } = sidesOf(pieces, box);
		expect([piece[0][50], piece[1][50]]).toEqual([FENCE, -1]);
		expect(overlap_m[0][50]).toBeCloseTo(1.5, 9);
		const crossing = piecesAlong(upAndDown(2));
		// The first lane now runs east over the second, 4 m wide, its middle 2 m left of that lane's middle.
		for (let k = 0; k < 100; k++) {
			crossing.ux[k] = 1;
			crossing.uy[k] = 0;
			crossing.x_m[k] = 2 * k - 90;
			crossing.y_m[k] = 100;
			crossing.width_m[k] = 4;
		}
		const crossed = sidesOf(crossing).crossed;
		const over = [...crossed.keys()].map((i) => crossing.y_m[i]!);
		expect(Math.min(...over)).toBeGreaterThan(97);
		expect(Math.max(...over)).toBeLessThan(103);
		for (const pairs of crossed.values()) expect(Array.from(pairs)).toEqual([-4.5, 4.5]);
	});
});

describe('widths as set', () => {
	const machine = (row_m: number) => ({ row_m }) as Machine;
	const found = (row_m: number, excess_m: number, excess_u_m = 0.02) =>
		setWidths([machine(row_m)], still(1, { excess_m: [excess_m], excess_u_m: [excess_u_m] }))[0]!;

	it('lose whole rows where the header takes rows, and what is more than driving where it does not', () => {
		expect(found(0.76, 0.7)).toEqual({ excess_m: 0.76, u_m: 0, rows: 1 });
		expect(found(0.76, -1.5)).toEqual({ excess_m: -1.52, u_m: 0, rows: -2 });
		expect(found(0.76, 0.05)).toEqual({ excess_m: 0, u_m: 0, rows: 0 });
		// Half a row is no number of rows, yet too much to be chance.
		expect(found(0.76, 0.38)).toEqual({
			excess_m: 0.38,
			u_m: expect.closeTo(0.38 / Math.sqrt(3), 12),
			rows: Number.NaN,
		});
		expect(found(Number.NaN, 0.3)).toMatchObject({ excess_m: 0, u_m: 0 });
		expect(found(Number.NaN, 1.2)).toEqual({
			excess_m: 1.2,
			u_m: expect.closeTo(0.25 / Math.sqrt(3), 12),
			rows: Number.NaN,
		});
	});

	it('stay uncertain where two combines meet only each other', () => {
		expect(found(Number.NaN, 1.2, 0.5).u_m).toBeCloseTo(1.2 / Math.sqrt(3), 12);
		expect(found(0.76, 0.7, 0.3).rows).toBeNaN();
	});

	it('are taken off the pieces of their combine', () => {
		const pieces = piecesAlong(upAndDown(2, WIDTH_M, (k) => ({ combine: k })));
		const { width_m } = narrowed(pieces, [
			{ excess_m: 0.76, u_m: 0, rows: 1 },
			{ excess_m: 0, u_m: 0, rows: 0 },
		]);
		expect([width_m[0], width_m[150]]).toEqual([WIDTH_M - 0.76, WIDTH_M]);
	});

	it('in use that the passes’ spacing shows to be false are dropped: a kilometer of neighbors a whole header apart', () => {
		const inUse = (spacing_m: number, count = 12) => {
			const pieces = piecesAlong(upAndDown(count, spacing_m));
			pieces.inUse_m.fill(6);
			return { pieces, refuted: refutedInUse(pieces, sidesOf(pieces)) };
		};
		const whole = inUse(WIDTH_M);
		expect(whole.refuted).toEqual([{ combine: 0, inUse_m: 6 }]);
		expect(fullWidth(whole.pieces, whole.refuted).inUse_m.every((w) => w === Infinity)).toBe(true);
		// Lanes that lie 6 m apart bear the width in use out, and two lanes are no proof.
		expect(inUse(6).refuted).toEqual([]);
		expect(inUse(WIDTH_M, 2).refuted).toEqual([]);
	});
});

describe('receivers', () => {
	it('show an antenna off the middle, a shift between two and a header set too wide, at the seams', () => {
		// B's antenna sits 0.3 m right of its middle, its receiver reads 0.4 m east; its header is set 0.5 m too wide.
		const lanes = upAndDown(24, WIDTH_M, (k) => ({
			combine: Math.floor(k / 3) % 2,
			width_m: WIDTH_M + 0.5 * (Math.floor(k / 3) % 2),
		}));
		const pieces = piecesAlong(lanes, (c, _, uy) => [c * (0.3 * uy + 0.4), 0]);
		const found = findReceivers(pieces, sidesOf(pieces), 2);
		expect(found.seams).toBe(23);
		expect(found.right_m[1]! - found.right_m[0]!).toBeCloseTo(0.3, 1);
		expect(found.east_m[1]).toBeCloseTo(0.4, 1);
		expect(found.excess_m[1]! - found.excess_m[0]!).toBeCloseTo(0.5, 1);
		expect(found.spread_m).toBeLessThan(0.1);
	});

	it.each([0.25, 2.5, -3.5])('are found where a receiver is %f m off', (off_m) => {
		const lanes = upAndDown(24, WIDTH_M, (k) => ({ combine: Math.floor(k / 2) % 2 }));
		const wide = (pieces: Pieces) =>
			findSides({ pieces, x_m: pieces.x_m, y_m: pieces.y_m, boundary: null, share: WIDE_SHARE }, inTurn);
		const shifted = piecesAlong(lanes, (c) => [c * off_m, 0]);
		expect(findReceivers(shifted, wide(shifted), 2).east_m[1]).toBeCloseTo(off_m, 1);
		const aside = piecesAlong(upAndDown(24), (_c, _t, uy) => [(off_m * uy) / 2, 0]);
		const found = findReceivers(aside, wide(aside), 1);
		expect(found.right_m[0]).toBeCloseTo(off_m / 2, 1);
		const back = withoutOffsets(aside, found);
		expect(offsetsTogether(found, found).right_m[0]).toBeCloseTo(off_m, 0);
		const true_m = piecesAlong(upAndDown(24));
		expect(Math.max(...back.x_m.map((x, i) => Math.abs(x - true_m.x_m[i]!)))).toBeLessThan(0.1);
	});

	it('show nothing where hardly any seams are', () => {
		const pieces = piecesAlong(upAndDown(2));
		expect(findReceivers(pieces, sidesOf(pieces), 1)).toMatchObject({
			right_m: [0],
			excess_m: [0],
			seams: 1,
			spread_m: 0.2,
		});
	});
});

describe('a receiver’s wander', () => {
	const pieces = piecesAlong(upAndDown(4));

	it('has knots each minute of work, lines between, and is taken out of the places', () => {
		const wander = emptyWander(pieces, 1, still(1));
		expect(wander.knots[0]).toBe(Math.ceil(550 / KNOT_S) + 2);
		wander.east_m.set(upTo(wander.knots[0]!).map((q) => q));
		const out = new Float64Array(2);
		wanderAt(wander, 0, 90, out);
		expect(out[0]).toBeCloseTo(1.5, 9);
		wanderAt(wander, 0, -500, out);
		expect(out[0]).toBe(0);
		expect(knotAt(wander, 0, 100)).toBe(2);
		expect(knotAt(wander, 0, 1e9)).toBe(wander.knots[0]! - 1);
		const moved = correctedPlaces(pieces, still(1, { right_m: [0.3], east_m: [0.1], north_m: [0.2] }), wander);
		// The first lane runs north, so that its right is east.
		expect(moved.x_m[60]).toBeCloseTo(pieces.x_m[60]! - 0.3 - 0.1 - 60.5 / 60, 9);
		expect(moved.y_m[60]).toBeCloseTo(pieces.y_m[60]! - 0.2, 9);
		// A silence of two days counts as two hours.
		const twoDaysOn = (t: number, i: number) => t + (i < 200 ? 0 : 172_800);
		const later = { ...pieces, from_s: pieces.from_s.map(twoDaysOn), to_s: pieces.to_s.map(twoDaysOn) };
		expect(emptyWander(later, 1, still(1)).knots[0]).toBeLessThan((7200 + 600) / KNOT_S + 5);
	});

	it('is found from the seams, up to what all have in common', () => {
		const drift = (t: number) => 0.25 * Math.sin(t / 400);
		const many = piecesAlong(upAndDown(20), (_, t) => [drift(t), 0]);
		const wander = findWander(many, sidesOf(many), still(1, { spread_m: 0.2 }), 1);
		expect(wander.spread_m).toBeLessThan(0.06);
		const out = new Float64Array(2);
		const left = upTo(20).map((k) => {
			wanderAt(wander, 0, k * 150 + 50, out);
			return drift(k * 150 + 50) - out[0]!;
		});
		const mean = left.reduce((s, v) => s + v, 0) / 20;
		const rms = (list: number[]) => Math.sqrt(list.reduce((s, v) => s + v * v, 0) / list.length);
		expect(rms(left.map((v) => v - mean))).toBeLessThan(0.5 * rms(upTo(20).map((k) => drift(k * 150 + 50))));
	});

	it('solves its least squares as dense algebra does', () => {
		let seed = 11;
		const random = () => (seed = (seed * 48_271) % 2_147_483_647) / 2_147_483_647 - 0.5;
		const wander = { ...emptyWander(pieces, 1, still(1)), first: [0, 5], knots: [5, 4] };
		const n = 18;
		const m = 30;
		const links: Links = {
			m,
			a: Int32Array.from(upTo(m), () => 2 * Math.floor((random() + 0.5) * 9)),
			b: Int32Array.from(upTo(m), () => 2 * Math.floor((random() + 0.5) * 9)),
			nx: Float64Array.from(upTo(m), random),
			ny: Float64Array.from(upTo(m), random),
			overlap: Float64Array.from(upTo(m), random),
			weight: new Float64Array(m).fill(1),
		};
		const weight = Float64Array.from(upTo(m), () => 1 + random());
		const [stay, step, usual] = [0.7, 3, 0.1];
		const x = new Float64Array(n);
		leastSquares(x, { links, weight, usual, wander, stay, step });
		// The same as rows of a weighted design: each knot near zero, near the next of its chain, and the links.
		const rows: number[][] = [];
		const right: number[] = [];
		const row = (entries: [number, number][], value: number, w: number) => {
			const list = new Array<number>(n).fill(0);
			for (const [at, by] of entries) list[at]! += by * Math.sqrt(w);
			rows.push(list);
			right.push(value * Math.sqrt(w));
		};
		for (let q = 0; q < n; q++) row([[q, 1]], 0, stay);
		for (const [from, to] of [
			[0, 10],
			[10, 18],
		] as const)
			for (let q = from; q + 2 < to; q++)
				row(
					[
						[q + 2, 1],
						[q, -1],
					],
					0,
					step,
				);
		for (let k = 0; k < m; k++)
			row(
				[
					[links.a[k]!, links.nx[k]!],
					[links.a[k]! + 1, links.ny[k]!],
					[links.b[k]!, -links.nx[k]!],
					[links.b[k]! + 1, -links.ny[k]!],
				],
				links.overlap[k]! - usual,
				weight[k]!,
			);
		const A = new Matrix(rows);
		const dense = solve(A.transpose().mmul(A), A.transpose().mmul(Matrix.columnVector(right))).to1DArray();
		// It ends at a residual of a thousandth.
		for (let q = 0; q < n; q++) expect(Math.abs(x[q]! - dense[q]!)).toBeLessThan(1e-3);
	});
});

const plainGround = (pieces: Pieces): Ground => ({
	new_m: pieces.width_m.slice(),
	left_m: pieces.width_m.map((w) => -w / 2),
	right_m: pieces.width_m.map((w) => w / 2),
	tolerance_m: 0.35,
});

/** A flow on a grid of seconds, the grain arriving at once. */
const gridOf = (pieces: Pieces, at: (i: number) => number): TimeGrid => {
	const n = Math.ceil(pieces.to_s[pieces.n - 1]!) + 2;
	const value = new Float64Array(n).fill(Number.NaN);
	for (let i = 0; i < pieces.n; i++) value[Math.round(pieces.from_s[i]! + 0.5)] = at(i);
	return { step_s: 1, n, value, worktime: worktimeOf([0], [n], 600) } as TimeGrid;
};

describe('new ground', () => {
	const input = (pieces: Pieces, sides: Sides, more: object = {}) => ({
		pieces,
		sides,
		overlaps: sides.overlap_m,
		seams: { overlap_m: 0.2, spread_m: 0.05 },
		row_m: [Number.NaN],
		reassigned: null,
		refuted: null,
		...more,
	});

	it('loses the usual overlap at a seam, whatever the receiver wanders, and all of a larger one', () => {
		const near = piecesAlong(upAndDown(2, WIDTH_M - 0.4));
		expect(newGround(input(near, sidesOf(near))).new_m[150]).toBeCloseTo(WIDTH_M - 0.2, 9);
		const far = piecesAlong(upAndDown(2, WIDTH_M - 2));
		const ground = newGround(input(far, sidesOf(far)));
		expect(ground.new_m[150]).toBeCloseTo(WIDTH_M - 2, 9);
		// It is the right end that is lost: the lane before lies there.
		expect([ground.left_m[150], ground.right_m[150]]).toEqual([-4.5, 2.5]);
		expect(ground.new_m[50]).toBe(WIDTH_M);
	});

	it('is whole rows where the header takes them, and what the log gives as in use', () => {
		const pieces = piecesAlong(upAndDown(2, WIDTH_M - 1.9));
		const ground = newGround(input(pieces, sidesOf(pieces), { row_m: [0.75] }));
		// 1.7 m beyond the usual overlap are two rows.
		expect(ground.new_m[150]).toBeCloseTo(WIDTH_M - 1.5, 9);
		pieces.inUse_m.fill(6);
		const used = newGround(input(pieces, sidesOf(pieces)));
		expect([used.new_m[50], used.left_m[50], used.right_m[50]]).toEqual([6, -3, 3]);
	});

	it('keeps its width where the overlap is refuted, and is none where all was cut before', () => {
		const pieces = piecesAlong(upAndDown(2, WIDTH_M - 2));
		const sides = sidesOf(pieces);
		const refuted = [new Uint8Array(pieces.n), new Uint8Array(pieces.n).fill(1)] as const;
		expect(newGround(input(pieces, sides, { refuted })).new_m[150]).toBe(WIDTH_M);
		const again = piecesAlong([{ x_m: 0 }, { x_m: 0.1, length_m: -200 }]);
		expect(newGround(input(again, sidesOf(again))).new_m[150]).toBe(0);
	});
});

describe('an overlap', () => {
	const lanes = upAndDown(2, WIDTH_M - 4);
	const pieces = piecesAlong(lanes);
	const sides = sidesOf(pieces);
	const byTime = { ...plainGround(pieces), new_m: Float64Array.from(upTo(pieces.n), (i) => (i < 100 ? 9 : 5)) };
	const flows = (first_m: number, second_m: number) => [gridOf(pieces, (i) => (i < 100 ? first_m : second_m))];
	const reassigned = (first_m: number, second_m: number) =>
		reassignOverlaps({
			pieces,
			sides,
			overlap_m: sides.overlap_m,
			new_m: byTime.new_m,
			flows: flows(first_m, second_m),
			lag_s: [0],
		});

	it('goes to the later pass where the flows say that it cut it, and stays with the earlier where they do not', () => {
		// Flow goes with the width that a pass really cut.
		const swapped = reassigned(5, 9)!;
		expect(swapped.pairs).toBe(1);
		expect(swapped.kept[1][150]).toBe(1);
		const j = sides.piece[1][150]!;
		// The later pass lies to the east, which is to the right of the earlier one.
		expect(swapped.lost_m[1][j]).toBeCloseTo(4, 9);
		expect(swapped.lost_m[0][j]).toBeNaN();
		expect(reassigned(9, 5)).toBeNull();
		// A monitor that reads twice as much tells nothing of one pass against another of the same monitor.
		expect(reassigned(18, 10)).toBeNull();
		expect(reassigned(10, 18)!.pairs).toBe(1);
	});

	it('is judged alike where one of two monitors reads in pounds', () => {
		const both = piecesAlong([...upAndDown(2, WIDTH_M - 4, (k) => ({ combine: k })), { x_m: 200, combine: 1 }]);
		const beside = sidesOf(both);
		const new_m = Float64Array.from(upTo(both.n), (i) => (i >= 100 && i < 200 ? 5 : 9));
		const pairs = (first_m: number, second_m: number, unit: number) =>
			reassignOverlaps({
				pieces: both,
				sides: beside,
				overlap_m: beside.overlap_m,
				new_m,
				flows: [gridOf(both, (i) => (i < 100 ? first_m : 9)), gridOf(both, (i) => unit * (i < 200 ? second_m : 9))],
				lag_s: [0, 0],
			})?.pairs;
		for (const unit of [1, 2.2]) {
			expect(pairs(9, 5, unit)).toBeUndefined();
			expect(pairs(9, 14, unit)).toBe(1);
		}
	});

	it('that is narrow is refuted where the flow beside it does not drop', () => {
		const long = piecesAlong(upAndDown(2, WIDTH_M - 0.75));
		const beside = sidesOf(long);
		const cut = plainGround(long);
		// The second half of the later lane is taken to have lost a row on its right.
		for (let i = 150; i < 200; i++) {
			cut.new_m[i] = WIDTH_M - 0.75;
			cut.right_m[i] = 4.5 - 0.75;
		}
		const refuted = (drop: number) =>
			refutedOverlaps({
				pieces: long,
				sides: beside,
				ground: cut,
				flows: [gridOf(long, (i) => (i >= 150 ? 9 * drop : 9))],
				lag_s: [0],
			});
		expect(
			refuted(1)![1]
				.subarray(150, 200)
				.every((v) => v === 1),
		).toBe(true);
		expect(refuted(1)![1].subarray(100, 150).includes(1)).toBe(false);
		expect(refuted(1 - 0.75 / 9)).toBeNull();
	});
});

describe('the grain of a record', () => {
	const pieces = piecesAlong([{ x_m: 0 }]);
	const n = 130;
	const path = northward(n);
	const ground = plainGround(pieces);
	const shift = { right_m: 0, east_m: 0, north_m: 0, ahead_m: 0, combine: 0, wander: emptyWander(pieces, 1, still(1)) };
	const traced = (lag_s: number, more: Partial<typeof shift> = {}) =>
		traceGrain({ path, pieces, ground, own: piecesOf(pieces, 0), lag_s }, { ...shift, ...more });

	it('was cut a lag before, on ground whose corners are a header apart', () => {
		const grain = traced(10);
		expect(grain.cut_s[50]).toBe(40.5);
		expect([grain.x_m[50], grain.y_m[50]]).toEqual([0, 81]);
		expect([grain.area_m2[50], grain.way_m[50], grain.width_m[50], grain.cutting[50]]).toEqual([18, 2, 9, 1]);
		expect(Array.from(grain.corners_m.subarray(400, 408))).toEqual([-4.5, 80, -4.5, 82, 4.5, 82, 4.5, 80]);
		expect(grain.piece[50]).toBe(40);
		// Before the log's start the place is not known; after the lane's end nothing was cut.
		expect(grain.x_m[5]).toBeNaN();
		expect(grain.area_m2[125]).toBe(0);
		expect(grain.area_m2.reduce((s, a) => s + a, 0)).toBeCloseTo(200 * WIDTH_M, 6);
	});

	it('lies where the cutter was: ahead of the antenna, less what the receiver is off', () => {
		const grain = traced(10, { ahead_m: 3, right_m: 0.5, east_m: 0.2, north_m: -0.1 });
		expect(grain.x_m[50]).toBeCloseTo(-0.7, 12);
		expect(grain.y_m[50]).toBeCloseTo(84.1, 12);
	});

	it('is of the record that holds its time', () => {
		expect([recordAt(path, 40), recordAt(path, 40.1), recordAt(path, 1e9)]).toEqual([39, 40, n]);
	});
});

it('ground harvested by two machines is counted once, whichever came first', () => {
	const machine = (combine: number, x_m: number, start_s: number): Machine => ({
		name: 'AB'[combine]!,
		path: northward(100, { combine, x_m, start_s }),
		header_m: WIDTH_M,
		inUse_m: new Float64Array(100).fill(Infinity),
		row_m: Number.NaN,
		ahead_m: 0,
		antennaGiven: false,
	});
	const cut = (a_s: number, b_s: number) => {
		const machines = [machine(0, 0, a_s), machine(1, 5, b_s)];
		const { pieces, ground } = harvestedGround(
			machines,
			machines.map(() => new Uint8Array(100).fill(1)),
			null,
			inTurn,
		);
		const by = [0, 0];
		for (let i = 0; i < pieces.n; i++) by[pieces.combine[i]!]! += pieces.length_m[i]! * ground.new_m[i]!;
		return by;
	};
	// 14 m wide together; the later one gets the 5 m that are left.
	for (const [a_s, b_s] of [
		[0, 1000],
		[1000, 0],
	] as const) {
		const [a, b] = cut(a_s, b_s);
		expect(a! + b!).toBeCloseTo(200 * 14, 0);
		expect(a_s < b_s ? b : a).toBeCloseTo(200 * 5, 0);
	}
});
