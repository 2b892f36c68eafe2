import { apart_m, eastPerDeg_m, M_PER_DEG } from '../../geo/plane.ts';
import { caution, type Note, type Records } from '../../model/index.ts';
import { atPlace, columnOf, hypotenuse, upperMedian, wrongIntervals } from '../../stats/index.ts';
import { FOOT_M, INCH_M, MILE_M } from '../../units/index.ts';
import { type Confusion, confusions } from './confusions.ts';
import type { LogRecords } from './gaps.ts';

/** Units that are often confused. */
const LENGTHS = [
	...confusions('feet', 'meters', 1 / FOOT_M),
	...confusions('inches', 'meters', 1 / INCH_M),
	...confusions('inches', 'feet', 12),
	...confusions('centimeters', 'meters', 100),
	[1000, 'millimeters read as meters'] as const,
	[0.001, 'meters read as kilometers'] as const,
];
const SPEEDS = [
	...confusions('km/h', 'm/s', 3.6),
	...confusions('mph', 'm/s', 3600 / MILE_M),
	...confusions('km/h', 'mph', MILE_M / 1000),
	...confusions('ft/s', 'm/s', 1 / FOOT_M),
	[3600 / 1852, 'knots read as m/s'] as const,
];
/** A ratio counts as one of these within this share; medians of a log are more accurate than that. */
const NEAR = 0.04;
/** Spacing of passes is less accurate than distances. */
const WIDTH_NEAR = 0.2;
/** Ratios further from one than this are reported even if no unit explains them. */
const FAR = 1.3;
/** Number of records needed before anything is reported. */
const LEAST = 30;

/** What the geometry of a log shows of its columns. */
export interface Geometry {
	notes: Note[];
	/** Header widths are this many times too large, by a unit; 1 = as given. */
	wide: number;
}

/** Columns of a log that contradict each other: distance, speed, interval, header width, moisture. */
export function geometryOf({ records, log, index }: LogRecords): Geometry {
	const notes: Note[] = [];
	const rows: number[] = [];
	for (let i = 0; i < records.n; i++) if (records.log[i] === index) rows.push(i);
	const column = (key: string, name: string) => log.columns?.[key]?.column ?? name;
	const say = (text: string) => notes.push(caution(`${log.file}: ${text}`));
	const units = (ratio: number, known: readonly Confusion[], name: string, beside: string) => {
		const text = looksLike(ratio, known);
		if (text !== null) say(`column ${name} is ${size(ratio)} what ${beside}. Check its unit${text}.`);
	};
	const steps = stepsOf(records, rows);
	units(steps.distance, LENGTHS, column('distance', 'distance_m'), 'the positions say');
	units(steps.speed, SPEEDS, column('speed', 'speed_m_s'), 'positions and times say');
	const wrong = wrongIntervals(records, rows);
	if (wrong !== null) {
		const where = wrong.share < 1 ? ` in ${Math.round(100 * wrong.share)}% of them` : '';
		say(
			`column ${column('interval', 'interval_s')} is ${size(wrong.ratio)} the time between rows${where}. Check its unit, and whether rows were left out: mass is flow times interval.`,
		);
	}
	const width = spacing(records, rows);
	// Passes overlap, and the first pass of a strip has no neighbor: only a ratio near that of two units is
	// meaningful.
	const looks = LENGTHS.find(([one]) => Math.abs(Math.log(width / one)) < WIDTH_NEAR);
	// Passes are often farther apart than a header is wide, but not much closer together.
	const wide = looks !== undefined && looks[0] > 1 ? looks[0] : 1;
	if (looks) {
		say(
			`column ${column('swath', 'swath_m')} is ${size(width)} what the spacing of neighboring passes says. Check its unit: it looks like ${looks[1]}${wide > 1 ? ', and is taken as such' : ''}.`,
		);
	}
	moisture(records, rows, column('moisture', 'moisture_pct'), say);
	return { notes, wide };
}

function looksLike(ratio: number, known: readonly Confusion[]): string | null {
	if (!(ratio > 0) || !Number.isFinite(ratio)) return null;
	for (const [one, text] of known) if (Math.abs(Math.log(ratio / one)) < NEAR) return `: it looks like ${text}`;
	return ratio > FAR || ratio < 1 / FAR ? '' : null;
}

function size(ratio: number): string {
	return `${Number(ratio.toPrecision(3))} times`;
}

const median = (values: number[]) => (values.length < LEAST ? Number.NaN : upperMedian(values));

/** Rows combined: a receiver that stands still for some rows and then jumps is right over all of them. */
const TOGETHER = 10;

/** Medians of distance and speed, each over the value from positions and times of neighboring rows. */
function stepsOf(r: Records, rows: readonly number[]): { distance: number; speed: number } {
	const distance: number[] = [];
	const speed: number[] = [];
	let [n, way_m, distance_m, speed_m] = [0, 0, 0, 0];
	for (let k = 1; k < rows.length; k++) {
		const [i, j] = [rows[k]!, rows[k - 1]!];
		const step_s = r.time_s[i]! - r.time_s[j]!;
		const step_m = apart_m(r.lon_deg[i]!, r.lat_deg[i]!, r.lon_deg[j]!, r.lat_deg[j]!);
		if (r.combine[i] !== r.combine[j] || !(step_s > 0 && step_s <= 30) || !(step_m < 12 * step_s + 12)) {
			[n, way_m, distance_m, speed_m] = [0, 0, 0, 0];
			continue;
		}
		way_m += step_m;
		distance_m += r.distance_m[i]!;
		speed_m += r.speed_m_s[i]! * step_s;
		if (++n < TOGETHER) continue;
		if (way_m > TOGETHER / 2) {
			if (distance_m > 0) distance.push(distance_m / way_m);
			if (speed_m > 0) speed.push(speed_m / way_m);
		}
		[n, way_m, distance_m, speed_m] = [0, 0, 0, 0];
	}
	return { distance: median(distance), speed: median(speed) };
}

/** Number of places checked for the spacing of passes. */
const PLACES = 400;
/** Passes farther apart than this are not neighbors. */
const WIDEST_M = 80;
/** Records within this time belong to the same pass. */
const PASS_S = 60;

/** The log's header width over the distance to the nearest pass of any log driven at another time, at many places. */
function spacing(r: Records, rows: readonly number[]): number {
	const moving = rows.filter((i) => cuts(r, i));
	const widths = columnOf(moving, (i) => r.swath_m[i]!);
	const full = widths.length === 0 ? Number.NaN : atPlace(widths, Math.floor(widths.length * 0.9));
	if (!(full > 0) || moving.length < LEAST) return Number.NaN;
	const places: [number, number][] = [];
	for (let k = 1; k <= PLACES; k++) {
		const at = Math.floor((k * (moving.length - 1)) / (PLACES + 1));
		const [i, j] = [moving[at + 1], moving[at]];
		if (i !== undefined && j !== undefined && r.swath_m[i]! > 0.9 * full) places.push([i, j]);
	}
	const ground = groundBeside(r, places);
	const nearest = places.map(([i, j]) => nearestPass_m(r, ground, i, j));
	return median(nearest.filter((m) => m < WIDEST_M).map((m) => full / m));
}

const cuts = (r: Records, i: number) =>
	r.swath_m[i]! > 0 && r.headerDown[i] !== 0 && Number.isFinite(r.lat_deg[i]! + r.lon_deg[i]!);

/** Places in meters around the first that was cut, and the records that cut near some of them, by squares. */
interface Ground {
	x_m(i: number): number;
	y_m(i: number): number;
	squares: Map<number, number[]>;
}

/** A square's key; passes that are neighbors of a place in it are in it or in the eight around it. */
const squareOf = (x_m: number, y_m: number) => Math.floor(x_m / WIDEST_M) * 1e6 + Math.floor(y_m / WIDEST_M);
const AROUND = [-1, 0, 1].flatMap((dx) => [-1, 0, 1].map((dy) => [dx * WIDEST_M, dy * WIDEST_M] as const));

function groundBeside(r: Records, places: readonly [number, number][]): Ground {
	let first = 0;
	while (first < r.n && !cuts(r, first)) first++;
	const east_m = eastPerDeg_m(r.lat_deg[first] ?? 0);
	const x_m = (i: number) => (r.lon_deg[i]! - r.lon_deg[first]!) * east_m;
	const y_m = (i: number) => (r.lat_deg[i]! - r.lat_deg[first]!) * M_PER_DEG;
	const squares = new Map<number, number[]>();
	for (const [i] of places) for (const [dx, dy] of AROUND) squares.set(squareOf(x_m(i) + dx, y_m(i) + dy), []);
	for (let i = first; i < r.n; i++) if (cuts(r, i)) squares.get(squareOf(x_m(i), y_m(i)))?.push(i);
	return { x_m, y_m, squares };
}

/** Distance across the direction of travel from record j to record i, for the nearest pass driven at another time. */
function nearestPass_m(r: Records, { x_m, y_m, squares }: Ground, i: number, j: number): number {
	const [x, y] = [x_m(i), y_m(i)];
	const [dx, dy] = [x - x_m(j), y - y_m(j)];
	const way = hypotenuse(dx, dy);
	let nearest = Infinity;
	if (!(way > 0.3 && way < 30)) return nearest;
	for (const [aside, on] of AROUND) {
		for (const o of squares.get(squareOf(x + aside, y + on)) ?? []) {
			if (r.combine[o] === r.combine[i] && Math.abs(r.time_s[o]! - r.time_s[i]!) < PASS_S) continue;
			const [ox, oy] = [x_m(o) - x, y_m(o) - y];
			if (ox * ox + oy * oy > WIDEST_M * WIDEST_M) continue;
			const along = (ox * dx + oy * dy) / way;
			const cross = Math.abs(ox * dy - oy * dx) / way;
			// Nearer than a meter it is the same ground again.
			if (Math.abs(along) < 4 && cross > 1 && cross < nearest) nearest = cross;
		}
	}
	return nearest;
}

/** Moisture that no grain has: a fraction of one, or tenths of a percent. */
function moisture(r: Records, rows: readonly number[], name: string, say: (text: string) => void): void {
	const middle = median(rows.map((i) => r.moisture_pct[i]!).filter((m) => m > 0));
	if (middle <= 1) {
		say(
			`column ${name} has a median of ${middle.toPrecision(2)}, drier than any grain. Check its unit: it looks like a fraction read as percent.`,
		);
	} else if (middle > 45) {
		say(
			`column ${name} has a median of ${middle.toPrecision(3)}, wetter than grain that is harvested. Check its unit: it looks like tenths of a percent read as percent.`,
		);
	}
}
