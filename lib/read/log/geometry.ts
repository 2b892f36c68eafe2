import type { Field, Note, Records } from '../../model/index.ts';
import { hypotenuse, upperMedian } from '../../stats/index.ts';

/** Ratios of units that are often confused: `read` as it is read, `meant` as it may be meant. */
const LENGTHS: readonly [number, string][] = [
	[3.28084, 'feet read as meters'],
	[1 / 3.28084, 'meters read as feet'],
	[39.3701, 'inches read as meters'],
	[1 / 39.3701, 'meters read as inches'],
	[12, 'inches read as feet'],
	[1 / 12, 'feet read as inches'],
	[100, 'centimeters read as meters'],
	[0.01, 'meters read as centimeters'],
	[1000, 'millimeters read as meters'],
	[0.001, 'meters read as kilometers'],
];
const SPEEDS: readonly [number, string][] = [
	[3.6, 'km/h read as m/s'],
	[1 / 3.6, 'm/s read as km/h'],
	[2.23694, 'mph read as m/s'],
	[1 / 2.23694, 'm/s read as mph'],
	[1.60934, 'km/h read as mph'],
	[1 / 1.60934, 'mph read as km/h'],
	[3.28084, 'ft/s read as m/s'],
	[1 / 3.28084, 'm/s read as ft/s'],
	[1.94384, 'knots read as m/s'],
];
/** A ratio counts as one of these within this share; medians of a log are more accurate than that. */
const NEAR = 0.04;
/** Spacing of passes is less accurate than distances. */
const WIDTH_NEAR = 0.2;
/** Ratios further from one than this are reported even if no unit explains them. */
const FAR = 1.3;
/** Number of records needed before anything is reported. */
const LEAST = 30;
const M_PER_DEG = 111_195;

/** Columns of a log that contradict each other: distance, speed, interval, header width, moisture. */
export function geometryNotes({ records, plan }: Field): Note[] {
	const notes: Note[] = [];
	const ground = new Ground(records);
	plan.logs.forEach((log, index) => {
		const rows: number[] = [];
		for (let i = 0; i < records.n; i++) if (records.log[i] === index) rows.push(i);
		const column = (key: string, name: string) => log.columns?.[key]?.column ?? name;
		const say = (text: string) => notes.push({ level: 'caution', text: `${log.file}: ${text}` });
		const units = (ratio: number, known: readonly [number, string][], name: string, beside: string) => {
			const text = looksLike(ratio, known);
			if (text !== null) say(`column ${name} is ${size(ratio)} what ${beside}. Check its unit${text}.`);
		};
		const steps = stepsOf(records, rows);
		units(steps.distance, LENGTHS, column('distance', 'distance_m'), 'the positions say');
		units(steps.speed, SPEEDS, column('speed', 'speed_m_s'), 'positions and times say');
		if (steps.interval > 0 && (steps.interval > FAR * 1.1 || steps.interval < 1 / (FAR * 1.1))) {
			say(
				`column ${column('interval', 'interval_s')} is ${size(steps.interval)} the time between rows. Check its unit, and whether rows were left out: mass is flow times interval.`,
			);
		}
		const width = spacing(records, rows, ground);
		// Passes overlap, and the first pass of a strip has no neighbor: only a ratio near that of two units is
		// meaningful.
		const looks = LENGTHS.find(([one]) => Math.abs(Math.log(width / one)) < WIDTH_NEAR);
		if (looks) {
			say(
				`column ${column('swath', 'swath_m')} is ${size(width)} what the spacing of neighboring passes says. Check its unit: it looks like ${looks[1]}.`,
			);
		}
		moisture(records, rows, column('moisture', 'moisture_pct'), say);
	});
	return notes;
}

function looksLike(ratio: number, known: readonly [number, string][]): string | null {
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

/** Medians of distance, speed and interval, each over the value from positions and times of neighboring rows. */
function stepsOf(r: Records, rows: readonly number[]): { distance: number; speed: number; interval: number } {
	const distance: number[] = [];
	const speed: number[] = [];
	const interval: number[] = [];
	let [n, way_m, distance_m, speed_m] = [0, 0, 0, 0];
	for (let k = 1; k < rows.length; k++) {
		const [i, j] = [rows[k]!, rows[k - 1]!];
		const step_s = r.time_s[i]! - r.time_s[j]!;
		const step_m = between_m(r, i, j);
		if (r.combine[i] !== r.combine[j] || !(step_s > 0 && step_s <= 30) || !(step_m < 12 * step_s + 12)) {
			[n, way_m, distance_m, speed_m] = [0, 0, 0, 0];
			continue;
		}
		if (r.interval_s[i]! > 0) interval.push(r.interval_s[i]! / step_s);
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
	return { distance: median(distance), speed: median(speed), interval: median(interval) };
}

function between_m(r: Records, i: number, j: number): number {
	const north_m = (r.lat_deg[i]! - r.lat_deg[j]!) * M_PER_DEG;
	const east_m = (r.lon_deg[i]! - r.lon_deg[j]!) * M_PER_DEG * Math.cos((r.lat_deg[i]! * Math.PI) / 180);
	return hypotenuse(north_m, east_m);
}

/** Number of places checked for the spacing of passes. */
const PLACES = 400;
/** Passes farther apart than this are not neighbors. */
const WIDEST_M = 80;
/** Records within this time belong to the same pass. */
const PASS_S = 60;

/** The log's header width over the distance to the nearest pass of any log driven at another time, at many places. */
function spacing(r: Records, rows: readonly number[], ground: Ground): number {
	const moving = rows.filter((i) => cuts(r, i));
	const full = Float64Array.from(moving, (i) => r.swath_m[i]!).sort()[Math.floor(moving.length * 0.9)] ?? Number.NaN;
	if (!(full > 0) || moving.length < LEAST) return Number.NaN;
	const ratios: number[] = [];
	for (let k = 1; k <= PLACES; k++) {
		const at = Math.floor((k * (moving.length - 1)) / (PLACES + 1));
		const [i, j] = [moving[at + 1], moving[at]];
		if (i === undefined || j === undefined || !(r.swath_m[i]! > 0.9 * full)) continue;
		const nearest = ground.nearestPass_m(i, j);
		if (nearest < WIDEST_M) ratios.push(full / nearest);
	}
	return median(ratios);
}

const cuts = (r: Records, i: number) =>
	r.swath_m[i]! > 0 && r.headerDown[i] !== 0 && Number.isFinite(r.lat_deg[i]! + r.lon_deg[i]!);

/** Places that were cut, by squares. */
class Ground {
	private readonly cell_m = WIDEST_M / 4;
	private readonly squares = new Map<number, number[]>();
	private readonly lat0_deg: number;
	private readonly lon0_deg: number;
	private readonly east_m: number;

	constructor(private readonly r: Records) {
		let first = 0;
		while (first < r.n && !cuts(r, first)) first++;
		this.lat0_deg = r.lat_deg[first] ?? 0;
		this.lon0_deg = r.lon_deg[first] ?? 0;
		this.east_m = M_PER_DEG * Math.cos((this.lat0_deg * Math.PI) / 180);
		for (let i = first; i < r.n; i++) {
			if (!cuts(r, i)) continue;
			const key = this.square(this.x(i), this.y(i), 0, 0);
			const there = this.squares.get(key);
			// A square needs a few places of each pass, not every record of a slow log.
			if (there === undefined) this.squares.set(key, [i]);
			else if (there.length < 100) there.push(i);
		}
	}

	private x(i: number): number {
		return (this.r.lon_deg[i]! - this.lon0_deg) * this.east_m;
	}

	private y(i: number): number {
		return (this.r.lat_deg[i]! - this.lat0_deg) * M_PER_DEG;
	}

	private square(x: number, y: number, a: number, b: number): number {
		return (Math.floor(x / this.cell_m) + a) * 4_000_037 + Math.floor(y / this.cell_m) + b;
	}

	/** Distance across the direction of travel from record j to record i, for the nearest pass driven at another time. */
	nearestPass_m(i: number, j: number): number {
		const { r } = this;
		const [x, y] = [this.x(i), this.y(i)];
		const [dx, dy] = [x - this.x(j), y - this.y(j)];
		const way = hypotenuse(dx, dy);
		let nearest = Number.POSITIVE_INFINITY;
		if (!(way > 0.3 && way < 30)) return nearest;
		for (let a = -4; a <= 4; a++) {
			for (let b = -4; b <= 4; b++) {
				for (const o of this.squares.get(this.square(x, y, a, b)) ?? []) {
					if (r.combine[o] === r.combine[i] && Math.abs(r.time_s[o]! - r.time_s[i]!) < PASS_S) continue;
					const [ox, oy] = [this.x(o) - x, this.y(o) - y];
					const along = (ox * dx + oy * dy) / way;
					const cross = Math.abs(ox * dy - oy * dx) / way;
					// Nearer than a meter it is the same ground again.
					if (Math.abs(along) < 4 && cross > 1 && cross < nearest) nearest = cross;
				}
			}
		}
		return nearest;
	}
}

/** Moisture that no grain has: a fraction of one, or tenths of a percent. */
function moisture(r: Records, rows: readonly number[], name: string, say: (text: string) => void): void {
	const middle = median(rows.map((i) => r.moisture_pct[i]!).filter((m) => m > 0));
	if (middle <= 1) {
		say(
			`column ${name} has a middle value of ${middle.toPrecision(2)}, drier than any grain. Check its unit: it looks like a fraction read as percent.`,
		);
	} else if (middle > 45) {
		say(
			`column ${name} has a middle value of ${middle.toPrecision(3)}, wetter than grain that is harvested. Check its unit: it looks like tenths of a percent read as percent.`,
		);
	}
}
