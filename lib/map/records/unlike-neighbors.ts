import type { Each, Records, Track } from '../../model/index.ts';
import { flagCode } from '../../model/index.ts';
import { columnOf, hypotenuse, mad, median } from '../../stats/index.ts';
import { Near } from '../surface/near-segments.ts';
import { cutSegments, type Segments } from '../surface/segments.ts';

/** Most neighbors used, and fewest neighbors and passes needed to judge a value. */
const ASKED = 18;
const LEAST_NEIGHBORS = 6;
const LEAST_PASSES = 2;
/** Fewest records of a combine from which thresholds can be learned. */
const LEAST_JUDGED = 30;
/** Deviations beyond this many robust standard deviations are not supported; field.json may set another value. */
const LIMIT = 3.5;
/** Fewest segments of a pass that can be recognized as a strip: about 150 m. */
const LEAST_STRIP = 25;
/** Stretches of segments that threads share: few, since each begins with an index of all segments. */
const STRETCHES = 4;
/** Least relative spread, so that a log of constant values has no outliers. */
const LEAST_SPREAD = 0.01;

/**
 * The mechanical flags, and `lone` where neighboring passes do not support a value.
 *
 * A record is compared with the median of nearby segments of other passes. The limit combines the robust spread of all
 * such deviations in the field, by combine, with the local spread among the neighbors, so that records in a wet hole or
 * at the edge of a variety, where the neighbors differ too, are kept. Its own pass is not used, since a run of bad
 * records would support itself.
 *
 * Similar to Simbahan, Dobermann and Ping 2004 and Leroux et al. 2018.
 */
export function unlikeNeighbors(input: {
	records: Records;
	track: Track;
	/** All combines on one level. */
	yield_kg_ha: Float64Array;
	/** Robust standard deviations; null = the default. */
	threshold: number | null;
	each: Each;
}): Uint8Array {
	const { records, track, yield_kg_ha } = input;
	const limit = input.threshold ?? LIMIT;
	const flag = track.flag.slice();
	const segments = cutSegments({ records, track, yield_kg_ha, flag, length_m: 6 });
	if (segments.n === 0) return flag;
	const around = neighborMedian(segments, input.each);
	const whole = stripLevels(segments, around.center, limit);
	const log = (value: number, s: number) => Math.log(Math.max(value, 1) / around.center[s]!) - whole[s]!;
	const stretch = stretchDeviation(segments, around.center, whole);
	for (let c = 0; c < records.combines.length; c++) {
		const judged: number[] = [];
		for (let i = 0; i < records.n; i++) {
			const s = segments.of[i]!;
			if (records.combine[i] === c && s >= 0 && around.center[s]! > 0) judged.push(i);
		}
		if (judged.length < LEAST_JUDGED) continue;
		const alone = columnOf(judged, (i) => log(yield_kg_ha[i]!, segments.of[i]!));
		const along = columnOf(judged, (i) => stretch[segments.of[i]!]!);
		const unsupported = [alone, along].map((off) => {
			const center = median(off);
			const spread = Math.max(mad(off, center), LEAST_SPREAD);
			return (k: number, local: number) => Math.abs(off[k]! - center) > limit * hypotenuse(spread, local);
		});
		judged.forEach((i, k) => {
			const local = around.spread[segments.of[i]!]!;
			if (unsupported.some((beyond) => beyond(k, local))) flag[i] = flagCode.lone;
		});
	}
	return flag;
}

/**
 * Deviation of a whole pass from its neighbors, one value per segment; 0 where there is none. A pass that differs
 * throughout is a strip (a trial, another treatment), so its records are compared with its own level.
 */
function stripLevels(segments: Segments, center: Float64Array, limit: number): Float64Array {
	const level = new Float64Array(segments.n);
	const off = columnOf(segments.yield_kg_ha, (y, s) => Math.log(Math.max(y, 1) / center[s]!));
	const ofPass = new Map<number, number[]>();
	for (let s = 0; s < segments.n; s++) {
		if (!Number.isFinite(off[s]!) || segments.pass[s]! < 0) continue;
		const list = ofPass.get(segments.pass[s]!);
		if (list) list.push(s);
		else ofPass.set(segments.pass[s]!, [s]);
	}
	const long = [...ofPass.values()].filter((list) => list.length >= LEAST_STRIP);
	const middles = long.map((list) => median(list.map((s) => off[s]!)));
	const spread = Math.max(mad(middles), LEAST_SPREAD);
	long.forEach((list, k) => {
		const middle = middles[k]!;
		const alike = list.filter((s) => off[s]! * middle > 0).length;
		if (Math.abs(middle) < limit * spread || alike < 0.95 * list.length) return;
		for (const s of list) level[s] = middle;
	});
	return level;
}

/**
 * Mean deviation from the neighbors over each segment and two segments on either side. With a partly filled header or
 * a lane cut twice, every record of a stretch is off by the same small amount.
 */
function stretchDeviation(segments: Segments, center: Float64Array, whole: Float64Array): Float64Array {
	const off = columnOf(segments.yield_kg_ha, (y, s) => Math.log(Math.max(y, 1) / center[s]!) - whole[s]!);
	return off.map((_, s) => {
		let sum = 0;
		let count = 0;
		for (let t = Math.max(0, s - 2); t <= Math.min(segments.n - 1, s + 2); t++) {
			if (segments.pass[t] !== segments.pass[s] || !Number.isFinite(off[t]!)) continue;
			sum += off[t]!;
			count++;
		}
		return count > 0 ? sum / count : 0;
	});
}

/** Some of the segments, among all. */
export interface Stretch {
	from: number;
	to: number;
	all: Pick<Segments, 'x_m' | 'y_m' | 'pass' | 'yield_kg_ha'>;
	radius_m: number;
}

/** What lies around each segment: the median of the neighboring passes' yields, and their relative spread about it. */
export interface Around {
	center: Float64Array;
	spread: Float64Array;
}

function neighborMedian(segments: Segments, each: Each): Around {
	const { n, x_m, y_m, pass, yield_kg_ha } = segments;
	const all = { x_m, y_m, pass, yield_kg_ha };
	const radius_m = 2.3 * median(segments.width_m) + 3;
	const length = Math.ceil(n / STRETCHES);
	const stretches: Stretch[] = [];
	for (let from = 0; from < n; from += length) stretches.push({ from, to: Math.min(n, from + length), all, radius_m });
	const around = { center: new Float64Array(n), spread: new Float64Array(n) };
	each(aroundStretch, stretches).forEach(({ center, spread }, k) => {
		around.center.set(center, k * length);
		around.spread.set(spread, k * length);
	});
	return around;
}

/** What lies around the segments of a stretch. */
export function aroundStretch({ from, to, all, radius_m }: Stretch): Around {
	const { x_m, y_m, pass, yield_kg_ha } = all;
	const center = new Float64Array(to - from).fill(Number.NaN);
	const spread = new Float64Array(to - from).fill(Number.NaN);
	const near = new Near(x_m, y_m, Math.max(5, radius_m / 3), ASKED);
	const values = new Float64Array(ASKED);
	const passes = new Set<number>();
	for (let s = from; s < to; s++) {
		const own = pass[s]!;
		const count = near.search(x_m[s]!, y_m[s]!, radius_m, (i) => pass[i] === own);
		if (count < LEAST_NEIGHBORS) continue;
		passes.clear();
		for (let k = 0; k < count; k++) {
			values[k] = yield_kg_ha[near.found[k]!]!;
			passes.add(pass[near.found[k]!]!);
		}
		if (passes.size < LEAST_PASSES) continue;
		const middle = median(values.subarray(0, count));
		for (let k = 0; k < count; k++) values[k] = Math.abs(values[k]! - middle);
		center[s - from] = middle;
		spread[s - from] = (1.4826 * median(values.subarray(0, count))) / Math.max(middle, 1);
	}
	return { center, spread };
}
