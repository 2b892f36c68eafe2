import { type Box, emptyBox, widen } from '../../geo/box.ts';
import { remembered } from '../../model/remembered.ts';

/** Ground nearer than this is always one field, meters. */
const NEAR_M = 45;
/** Ground farther apart than this is always another field, meters. */
const FAR_M = 300;

/** Cells of ground where grain was cut, grouped into places. */
export interface Places {
	/** Index of each row's place, −1 for rows that cut nothing. */
	place: Int32Array;
	count: number;
}

/**
 * Groups rows by the ground they lie on. Ground on both sides of a lane stays one field if the machines went back and
 * forth across it; if they finished one side before starting the other, it is two.
 *
 * @param works - 1 for rows that cut grain
 */
export function placesOf(
	x_m: Float64Array,
	y_m: Float64Array,
	time_s: Float64Array,
	machine: Int32Array,
	works: Uint8Array,
): Places {
	const n = x_m.length;
	const cell = NEAR_M / 3;
	const cells = new Map<string, number>();
	const of = new Int32Array(n).fill(-1);
	const cx: number[] = [];
	const cy: number[] = [];
	for (let i = 0; i < n; i++) {
		if (works[i] === 0 || !Number.isFinite(x_m[i]! + y_m[i]!)) continue;
		const a = Math.floor(x_m[i]! / cell);
		const b = Math.floor(y_m[i]! / cell);
		const key = `${a},${b}`;
		let c = cells.get(key);
		if (c === undefined) {
			c = cx.length;
			cells.set(key, c);
			cx.push(a);
			cy.push(b);
		}
		of[i] = c;
	}
	const parent = Int32Array.from({ length: cx.length }, (_, k) => k);
	const root = (k: number): number => {
		let r = k;
		while (parent[r] !== r) r = parent[r]!;
		while (parent[k] !== r) [parent[k], k] = [r, parent[k]!];
		return r;
	};
	const reach = 3;
	for (let c = 0; c < cx.length; c++) {
		for (let da = -reach; da <= reach; da++) {
			for (let db = -reach; db <= reach; db++) {
				const other = cells.get(`${cx[c]! + da},${cy[c]! + db}`);
				if (other !== undefined && other !== c) parent[root(other)] = root(c);
			}
		}
	}
	return joinCrossed(numbered(of, root), x_m, y_m, time_s, machine);
}

/** Places numbered by their first row. `of` is each row's ground, −1 for none; `placeOf` the place that ground is part of. */
function numbered(of: Int32Array, placeOf: (ground: number) => number): Places {
	const number = new Map<number, number>();
	const place = of.map((ground) => {
		if (ground < 0) return -1;
		return remembered(number, placeOf(ground), () => number.size);
	});
	return { place, count: number.size };
}

interface Ground {
	id: number;
	rows: number;
	box: Box;
	x: number[];
	y: number[];
}

/** Joins places that are near each other and were worked in turns, and joins small remnants to the nearest place. */
function joinCrossed(
	found: Places,
	x_m: Float64Array,
	y_m: Float64Array,
	time_s: Float64Array,
	machine: Int32Array,
): Places {
	const { place } = found;
	const grounds: Ground[] = Array.from({ length: found.count }, (_, id) => ({
		id,
		rows: 0,
		box: emptyBox(),
		x: [],
		y: [],
	}));
	for (let i = 0; i < place.length; i++) {
		const g = grounds[place[i]!];
		if (!g) continue;
		g.rows++;
		if (g.rows % 7 === 1) {
			g.x.push(x_m[i]!);
			g.y.push(y_m[i]!);
		}
		widen(g.box, x_m[i]!, y_m[i]!);
	}
	const total = grounds.reduce((s, g) => s + g.rows, 0);
	const into = grounds.map((g) => g.id);
	const end = (k: number): number => (into[k] === k ? k : end(into[k]!));
	const crossings = crossingsOf(place, time_s, machine);
	for (const a of grounds) {
		for (const b of grounds) {
			if (a.id >= b.id || end(a.id) === end(b.id)) continue;
			const gap = gapBetween(a, b);
			if (gap > FAR_M) continue;
			const crumb = Math.min(a.rows, b.rows) < Math.max(40, 0.01 * total);
			if (crumb || (crossings.get(`${a.id},${b.id}`) ?? 0) > 2) into[end(b.id)] = end(a.id);
		}
	}
	return numbered(place, end);
}

/** How often machines went between two places, either way. */
function crossingsOf(place: Int32Array, time_s: Float64Array, machine: Int32Array): Map<string, number> {
	const order: number[] = [];
	for (let i = 0; i < place.length; i++) if (place[i]! >= 0) order.push(i);
	order.sort((a, b) => machine[a]! - machine[b]! || time_s[a]! - time_s[b]! || a - b);
	const out = new Map<string, number>();
	for (let k = 1; k < order.length; k++) {
		const i = order[k]!;
		const j = order[k - 1]!;
		if (machine[i] !== machine[j] || place[i] === place[j]) continue;
		const [a, b] = [Math.min(place[i]!, place[j]!), Math.max(place[i]!, place[j]!)];
		out.set(`${a},${b}`, (out.get(`${a},${b}`) ?? 0) + 1);
	}
	return out;
}

function gapBetween(a: Ground, b: Ground): number {
	const dx = Math.max(0, a.box[0] - b.box[2], b.box[0] - a.box[2]);
	const dy = Math.max(0, a.box[1] - b.box[3], b.box[1] - a.box[3]);
	if (Math.hypot(dx, dy) > FAR_M) return Infinity;
	let best = Infinity;
	const [few, many] = a.x.length < b.x.length ? [a, b] : [b, a];
	const step = Math.max(1, Math.floor(few.x.length / 500));
	for (let i = 0; i < few.x.length; i += step) {
		for (let j = 0; j < many.x.length; j++) {
			best = Math.min(best, Math.hypot(few.x[i]! - many.x[j]!, few.y[i]! - many.y[j]!));
		}
	}
	return best;
}
