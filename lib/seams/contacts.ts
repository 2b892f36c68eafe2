import { openTree, type PointIndex, type PointTree, pointTree } from '../geo/near.ts';
import type { Each, Track } from '../model/index.ts';
import { columnOf, hypotenuse, median } from '../stats/index.ts';

/** Positions of records on the map, as a tree to find passes beside each other. */
export interface Ground {
	tree: PointTree;
	/** Record of each place in the tree. */
	records: Int32Array;
	/** Usual width cut by each combine with a full header, meters. */
	usual_m: number[];
}

/** A stretch where two passes lie side by side, sampled at stations along the one with the lower number. */
export interface Contact {
	/** a < b. */
	a: number;
	b: number;
	/** Middle line, x, y pairs, in order along pass a. */
	line_m: number[];
	length_m: number;
	/** Way along pass a at the last station. */
	last_m: number;
}

/** Distance between stations along a pass, meters. */
const STATION_M = 8;

/** Indexes the ground of all records that are kept (no flag) and belong to a pass. */
export function groundOf(track: Track): Ground {
	const kept: number[] = [];
	for (const pass of track.passes) {
		for (const i of pass.records) {
			if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0) || track.pass[i]! < 0) continue;
			if (Number.isFinite(track.cutX_m[i]!)) kept.push(i);
		}
	}
	const records = Int32Array.from(kept);
	const x = columnOf(kept, (i) => track.cutX_m[i]!);
	const y = columnOf(kept, (i) => track.cutY_m[i]!);
	const widths: number[][] = [];
	for (const i of kept) (widths[track.passes[track.pass[i]!]!.combine] ??= []).push(track.width_m[i]!);
	return { tree: pointTree(x, y), records, usual_m: Array.from(widths, (w) => (w ? median(w) : Number.NaN)) };
}

/** Passes looked at by one part of the work. */
const PART = 100;

/** What contacts are found from. */
type PassColumns = Pick<Track, 'pass' | 'passes' | 'flag' | 'area_m2' | 'width_m' | 'cutX_m' | 'cutY_m'>;

/** Passes from one number to before another. */
interface PassesPart {
	track: PassColumns;
	ground: Ground;
	from: number;
	to: number;
}

/**
 * All pairs of neighboring passes, over all combines: parallel within 12 degrees, at a distance within 40 % of the mean
 * of their widths.
 */
export function contacts(of: Track, ground: Ground, each: Each): Contact[] {
	const { pass, passes, flag, area_m2, width_m, cutX_m, cutY_m } = of;
	const track = { pass, passes, flag, area_m2, width_m, cutX_m, cutY_m };
	const parts: PassesPart[] = [];
	for (let from = 0; from < passes.length; from += PART) {
		parts.push({ track, ground, from, to: Math.min(from + PART, passes.length) });
	}
	return each(contactsOfPasses, parts).flat();
}

/** Contacts of some passes with those of higher numbers. */
export function contactsOfPasses({ track, ground, from, to }: PassesPart): Contact[] {
	const found = new Map<string, Contact>();
	const index = openTree(ground.tree);
	for (const pass of track.passes.slice(from, to)) {
		let last_m = -Infinity;
		let way_m = 0;
		let beforeX = Number.NaN;
		let beforeY = Number.NaN;
		for (const i of pass.records) {
			if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0)) continue;
			const x = track.cutX_m[i]!;
			const y = track.cutY_m[i]!;
			if (!Number.isFinite(x)) continue;
			if (Number.isFinite(beforeX)) way_m += hypotenuse(x - beforeX, y - beforeY);
			beforeX = x;
			beforeY = y;
			if (way_m - last_m < STATION_M) continue;
			last_m = way_m;
			station({ track, ground, index }, { pass: pass.id, i, way_m }, found);
		}
	}
	return [...found.values()];
}

/** Passes beside one place of a pass. */
function station(
	{ track, ground, index }: { track: PassColumns; ground: Ground; index: PointIndex },
	{ pass, i, way_m }: { pass: number; i: number; way_m: number },
	found: Map<string, Contact>,
): void {
	const x = track.cutX_m[i]!;
	const y = track.cutY_m[i]!;
	const width = track.width_m[i]!;
	const heading = track.passes[pass]!.heading_rad;
	// Clockwise from north: along = (sin, cos), to the left = (−cos, sin).
	const ax = Math.sin(heading);
	const ay = Math.cos(heading);
	const nearest = new Map<number, { along: number; aside: number; x: number; y: number; width: number }>();
	for (const k of index.within(x, y, 1.5 * width + 6)) {
		const j = ground.records[k]!;
		const other = track.pass[j]!;
		// Each pair once, from the lower number.
		if (other <= pass) continue;
		if (Math.abs(Math.sin(track.passes[other]!.heading_rad - heading)) > 0.2) continue;
		const dx = track.cutX_m[j]! - x;
		const dy = track.cutY_m[j]! - y;
		const along = dx * ax + dy * ay;
		const best = nearest.get(other);
		if (Math.abs(along) > STATION_M || (best && Math.abs(best.along) <= Math.abs(along))) continue;
		nearest.set(other, { along, aside: -dx * ay + dy * ax, x: dx, y: dy, width: track.width_m[j]! });
	}
	for (const [other, n] of nearest) {
		const apart = Math.abs(n.aside) / ((width + n.width) / 2);
		if (apart < 0.6 || apart > 1.4) continue;
		const key = `${pass} ${other}`;
		let contact = found.get(key);
		if (!contact) found.set(key, (contact = { a: pass, b: other, line_m: [], length_m: 0, last_m: way_m - STATION_M }));
		// Stations may be as far apart as records; a gap in the contact does not count as length.
		contact.length_m += Math.min(way_m - contact.last_m, 3 * STATION_M);
		contact.last_m = way_m;
		// Beside this place, rather than at the other pass's record.
		contact.line_m.push(x + (n.x - n.along * ax) / 2, y + (n.y - n.along * ay) / 2);
	}
}
