import type { PointIndex } from '../geo/near.ts';
import type { Account, Seam, Track } from '../model/index.ts';
import { groupBy, hypotenuse } from '../stats/index.ts';
import type { Ground } from './contacts.ts';

/** One pass across a block of seam. */
export interface Strand {
	pass: number;
	combine: number;
	/** Sideways from the seam, in swath widths and in meters: negative on the first pass's side. */
	across: number;
	across_m: number;
	/** log(kg/m²) of accounted mass, times the factor's shape where there is one. */
	logYield: number;
	area_m2: number;
	/** Its records: from `first` to before `end` of the members of all strands. */
	first: number;
	end: number;
	moisture_pct: number;
	time_s: number;
}

/** A block of a seam with the passes beside it, in order across: the seam lies between -0.5 and +0.5. */
export interface Block {
	seam: number;
	x_m: number;
	y_m: number;
	length_m: number;
	/** Outward from the seam. */
	left: Strand[];
	right: Strand[];
	/** Unit vector from the first pass's side to the second's. */
	toX: number;
	toY: number;
}

/** Length of a block, meters: several times the smear and the lag's error along the pass. */
const BLOCK_M = 64;
/** Passes used on either side. */
export const REACH = 3;

/** Passes cut with less than this share of the usual width are left out. */
const FULL_HEADER = 0.95;

/** Largest distance of the nearest full pass behind a partial one from the seam, swaths, less a half. */
const FIRST = 2.1;

/** Columns of all records, and the index of their positions. */
export interface RecordColumns {
	track: Track;
	ground: Ground;
	/** Of the ground's places. */
	index: PointIndex;
	account: Account;
	/** Records of all strands; those of new ones are added. */
	members: number[];
}

/** Cuts a seam into blocks and sums each pass beside it, as far as passes of the same combine reach. */
export function blocksOf(seam: Seam, number: number, records: RecordColumns): Block[] {
	const { track } = records;
	const passA = track.passes[seam.passA]!;
	const ax = Math.sin(passA.heading_rad);
	const ay = Math.cos(passA.heading_rad);
	const line = seam.line_m;
	const stations = line.length / 2;
	// Along the pass, against the line's first point.
	const at = Array.from({ length: stations }, (_, k) => {
		const s = (line[2 * k]! - line[0]!) * ax + (line[2 * k + 1]! - line[1]!) * ay;
		return { s, x: line[2 * k]!, y: line[2 * k + 1]! };
	}).sort((p, q) => p.s - q.s);
	const groups = groupBy(at, (p) => Math.floor((p.s - at[0]!.s) / BLOCK_M));
	const out: Block[] = [];
	for (const group of groups.values()) {
		if (group.length < 3) continue;
		const x = group.reduce((sum, p) => sum + p.x, 0) / group.length;
		const y = group.reduce((sum, p) => sum + p.y, 0) / group.length;
		const from = group[0]!.s - 4;
		const to = group.at(-1)!.s + 4;
		const strands = across({ x, y, ax, ay, half_m: (to - from) / 2 }, records);
		const block = sides(strands, seam, records.members);
		if (!block) continue;
		// On which side is the second pass? Strands are measured to the left of the first pass's heading.
		const sign = block.sign;
		out.push({
			seam: number,
			x_m: x,
			y_m: y,
			length_m: to - from,
			left: block.left,
			right: block.right,
			toX: -ay * sign,
			toY: ax * sign,
		});
	}
	return out;
}

interface Sum {
	records: number[];
	mass: number;
	area: number;
	aside: number;
	water: number;
	watered: number;
	time: number;
	count: number;
	width: number;
}

/** Every pass parallel to the seam within reach of a block, with its sums over the block's length. */
function across(
	{ x, y, ax, ay, half_m }: { x: number; y: number; ax: number; ay: number; half_m: number },
	{ track, ground, index, account }: RecordColumns,
): Map<number, Sum> {
	const sums = new Map<number, Sum>();
	const heading = Math.atan2(ax, ay);
	const width = widthNear({ track, ground, index }, x, y);
	const reach = (REACH + 0.6) * width;
	for (const k of index.within(x, y, hypotenuse(half_m, reach))) {
		const i = ground.records[k]!;
		const dx = track.cutX_m[i]! - x;
		const dy = track.cutY_m[i]! - y;
		if (Math.abs(dx * ax + dy * ay) > half_m) continue;
		const aside = -dx * ay + dy * ax;
		if (Math.abs(aside) > reach) continue;
		const pass = track.pass[i]!;
		if (pass < 0 || Math.abs(Math.sin(track.passes[pass]!.heading_rad - heading)) > 0.2) continue;
		let sum = sums.get(pass);
		if (!sum)
			sums.set(
				pass,
				(sum = { records: [], mass: 0, area: 0, aside: 0, water: 0, watered: 0, time: 0, count: 0, width: 0 }),
			);
		// A header cuts no more than its width; any more is a gap between passes.
		const usual = ground.usual_m[track.passes[pass]!.combine]!;
		const area = track.area_m2[i]! * Math.min(1, usual / track.width_m[i]!);
		sum.records.push(i);
		sum.mass += account.account_kg[i]!;
		sum.area += area;
		sum.aside += aside;
		sum.time += trackTime(track, pass);
		sum.width += track.width_m[i]! / usual;
		const m = track.moisture_pct[i]!;
		if (Number.isFinite(m)) {
			sum.water += m * area;
			sum.watered += area;
		}
		sum.count++;
	}
	return sums;
}

function trackTime(track: Track, pass: number): number {
	const p = track.passes[pass]!;
	return (p.start_s + p.end_s) / 2;
}

/** Width of the swaths about a place. */
function widthNear(
	{ track, ground, index }: Pick<RecordColumns, 'track' | 'ground' | 'index'>,
	x: number,
	y: number,
): number {
	for (const radius of [8, 16, 32]) {
		let sum = 0;
		let n = 0;
		for (const k of index.within(x, y, radius)) {
			sum += track.width_m[ground.records[k]!]!;
			n++;
		}
		if (n > 3) return sum / n;
	}
	return 9;
}

/** Orders strands outward on either side; a side ends where the combine changes or a pass is missing. */
function sides(
	sums: Map<number, Sum>,
	seam: Seam,
	members: number[],
): { left: Strand[]; right: Strand[]; sign: number } | null {
	const a = sums.get(seam.passA);
	const b = sums.get(seam.passB);
	if (!a || !b || a.count < 2 || b.count < 2) return null;
	// The line between them, by the share of a full header that each cut; strands are placed in full swaths from it.
	const atA = a.aside / a.count;
	const atB = b.aside / b.count;
	const partA = a.width / a.count;
	const partB = b.width / b.count;
	const middle = (atA * partB + atB * partA) / (partA + partB);
	const sign = atB > atA ? 1 : -1;
	const width = (2 * Math.abs(atB - atA)) / (partA + partB);
	const strands = [...sums]
		// The width cut by a partial header is too uncertain for a comparison: the next pass is used instead.
		.filter(([, s]) => s.count >= 2 && s.mass > 0 && s.width / s.count >= FULL_HEADER)
		.map(([pass, s]) => ({ pass, s, across: (sign * (s.aside / s.count - middle)) / width }))
		.sort((p, q) => p.across - q.across);
	const side = (way: -1 | 1): typeof strands => {
		const own = strands.filter((s) => s.across * way > 0).sort((p, q) => Math.abs(p.across) - Math.abs(q.across));
		const out: typeof strands = [];
		for (const s of own) {
			const last = out.at(-1);
			const gap = last ? Math.abs(s.across - last.across) : Math.abs(s.across) + 0.5;
			// Two passes at the same position are one that was interrupted and resumed.
			if (last && gap < 0.5) continue;
			if (gap > (last ? 1.5 : FIRST)) break;
			out.push(s);
		}
		return out;
	};
	const left = side(-1);
	const right = side(1);
	if (left.length === 0 || right.length === 0) return null;
	const of = (p: (typeof strands)[number]) => strand(p, width, members);
	return { left: left.map(of), right: right.map(of), sign };
}

function strand(p: { pass: number; s: Sum; across: number }, width_m: number, members: number[]): Strand {
	const first = members.length;
	for (const i of p.s.records) members.push(i);
	return {
		pass: p.pass,
		combine: -1,
		across: p.across,
		across_m: p.across * width_m,
		logYield: Math.log(p.s.mass / p.s.area),
		area_m2: p.s.area,
		first,
		end: members.length,
		moisture_pct: p.s.watered > 0 ? p.s.water / p.s.watered : Number.NaN,
		time_s: p.s.time / p.s.count,
	};
}

/** Sets each strand's combine and ends a side where another combine begins. */
export function withCombines(blocks: Block[], seam: Seam, combineOf: (pass: number) => number): Block[] {
	for (const b of blocks) {
		for (const [side, combine] of [
			[b.left, seam.combineA],
			[b.right, seam.combineB],
		] as const) {
			for (const s of side) s.combine = combineOf(s.pass);
			const end = side.findIndex((s) => s.combine !== combine);
			if (end >= 0) side.length = end;
		}
	}
	return blocks.filter((b) => b.left.length > 0 && b.right.length > 0);
}
