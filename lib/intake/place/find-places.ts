import type { RawTable } from '../../formats/index.ts';
import { toDegrees } from '../../geo/crs.ts';
import { medianPlace, utmProjection, utmZone } from '../../geo/utm.ts';
import type { ColumnReading, Given, Question } from '../model.ts';
import { unitInName } from '../units/units.ts';
import {
	type Candidate,
	candidates,
	fromMinutes,
	local_m,
	minutes,
	sideOf,
	size,
	stepsOfMetres,
	tracked,
} from './position-columns.ts';

export interface Places {
	lat_deg: Float64Array;
	lon_deg: Float64Array;
	x_m: Float64Array;
	y_m: Float64Array;
	/** Columns used, by name. */
	used: Set<string>;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	/** Rows with an impossible position. */
	bad: { row: number; column: string; found: string; why: string }[];
}

/** Finds the two position columns and converts them to WGS 84; null if there are none. */
export function findPlaces(table: RawTable, given: Given): Places | null {
	const lat = candidates(table, 'lat', 'y');
	const lon = candidates(table, 'lon', 'x');
	let pair: [Candidate, Candidate] | null = null;
	let best = 0;
	for (const a of lat) {
		for (const b of lon) {
			if (a.column === b.column) continue;
			// Both columns use the same notation: degrees or meters.
			const one = size(a.values) <= 90 && size(b.values) <= 180;
			const two = size(a.values) > 180 && size(b.values) > 180;
			const score = a.score * b.score * (one || two ? 1 : 0.6);
			if (score > best) {
				best = score;
				pair = [a, b];
			}
		}
	}
	pair ??= tracked(table);
	return pair === null ? null : placed(table, pair[0], pair[1], given);
}

/** The two position columns as they are understood so far. */
interface Pair {
	lat: Candidate;
	lon: Candidate;
	lat_deg: Float64Array;
	lon_deg: Float64Array;
	unit: string;
	sure: number;
	because: { lat: string[]; lon: string[] };
	notes: string[];
	questions: Question[];
}

function placed(table: RawTable, lat: Candidate, lon: Candidate, given: Given): Places {
	const pair: Pair = {
		lat,
		lon,
		lat_deg: lat.values.slice(),
		lon_deg: lon.values.slice(),
		unit: 'deg',
		sure: Math.min(lat.score, lon.score),
		because: { lat: [lat.why], lon: [lon.why] },
		notes: [],
		questions: [],
	};
	readNotation(pair);
	const plane = onPlane(table, pair);
	if (plane !== null) fromPlane(table, pair, plane, given.position);
	const letters = plane === null ? giveSides(table, pair, given.position) : [];
	const bad = dropImpossible(pair, plane !== null);
	const { lat_deg, lon_deg, because, questions, notes } = pair;
	const middle = medianPlace(lon_deg, lat_deg);
	const grid = utmProjection(utmZone(middle.lon_deg || 0, middle.lat_deg || 0)).forwardAll(lon_deg, lat_deg);
	const reading = (c: Candidate, as: 'lat' | 'lon'): ColumnReading => ({
		column: c.column.name,
		as,
		unit: pair.unit,
		sure: c.certain && questions.length === 0 ? 1 : pair.sure,
		because: because[as],
	});
	return {
		lat_deg,
		lon_deg,
		x_m: grid.x_m,
		y_m: grid.y_m,
		used: new Set([pair.lat.column.name, pair.lon.column.name, ...letters]),
		columns: [reading(pair.lat, 'lat'), reading(pair.lon, 'lon')],
		questions,
		notes,
		bad,
	};
}

/** Degrees scaled up, degrees and minutes in one number, or latitude and longitude in each other's column. */
function readNotation(pair: Pair): void {
	const { lat_deg, lon_deg, because, notes } = pair;
	const scaled = size(lat_deg) > 1e7 && size(lat_deg) <= 9e8 && size(lon_deg) > 1e6;
	const all = (degrees: (v: number) => number, unit: string, why: string) => {
		[pair.lat_deg, pair.lon_deg, pair.unit] = [lat_deg.map(degrees), lon_deg.map(degrees), unit];
		because.lat.push(why);
	};
	if (scaled && !stepsOfMetres(lat_deg)) {
		all((v) => v * 1e-7, '1e-7 deg', 'whole numbers of ten million to the degree');
	} else if (minutes(lat_deg, 9000) && minutes(lon_deg, 18_000)) {
		all(fromMinutes, 'ddmm.mmmm', 'degrees and minutes in one number: no minutes above 59');
	} else if (size(lat_deg) > 90 && size(lat_deg) <= 180 && size(lon_deg) <= 90) {
		[pair.lat, pair.lon] = [pair.lon, pair.lat];
		[pair.lat_deg, pair.lon_deg] = [lon_deg, lat_deg];
		because.lat.push('latitude and longitude are in each other’s columns: no latitude is above 90');
		notes.push('latitude and longitude were in each other’s columns and were exchanged');
	}
}

/** Whether the columns are coordinates of a map grid, or meters from some point; null for degrees. */
function onPlane(table: RawTable, { lat, lon, lat_deg, lon_deg }: Pair): 'grid' | 'local' | null {
	const beyond = size(lat_deg) > 90;
	if (lat.certain ? lat.column.as === 'y' || beyond : beyond || size(lon_deg) > 180) return 'grid';
	return local_m(table, lat, lon, lat_deg, lon_deg) ? 'local' : null;
}

/** Meters as degrees: by the coordinate system, or around the place that was answered; else the user is asked. */
function fromPlane(table: RawTable, pair: Pair, plane: 'grid' | 'local', answer: unknown): void {
	const { lat, lon, lat_deg, lon_deg, because } = pair;
	const metres = unitInName(lat.column.name, 'x')?.unit ?? null;
	const inMetres = (v: Float64Array) => v.map((x) => x * (metres?.size ?? 1));
	pair.unit = metres?.name ?? 'm';
	const crs = crsOf(answer) ?? table.crs;
	const convert = crs === undefined ? null : toDegrees(crs);
	if (convert !== null) {
		const blank = () => new Float64Array(table.n).fill(Number.NaN);
		[pair.lat_deg, pair.lon_deg] = [blank(), blank()];
		for (let i = 0; i < table.n; i++) {
			const [o, p] = convert(lon_deg[i]!, lat_deg[i]!);
			if (Math.abs(o) <= 180 && Math.abs(p) <= 90) [pair.lon_deg[i], pair.lat_deg[i]] = [o, p];
		}
		because.lat.push(typeof crs === 'number' ? `coordinate system EPSG:${crs}` : 'the coordinate system in its .prj');
		pair.sure = 0.99;
		return;
	}
	const anchor = anchorOf(answer);
	[pair.lon_deg, pair.lat_deg] = fromAnchor(anchor ?? [0.001, 0.001], inMetres(lon_deg), inMetres(lat_deg));
	pair.sure = anchor === null ? 0.3 : 0.95;
	if (anchor === null) pair.questions.push(positionQuestion(table, lat, lon, plane === 'local', crs));
	else because.lat.push('meters from the place that was given');
}

/** Gives degrees without a sign their hemisphere; returns the columns of letters that show it. */
function giveSides(table: RawTable, pair: Pair, answer: unknown): string[] {
	const letters: string[] = [];
	for (const axis of ['lat', 'lon'] as const) {
		const degrees = pair[`${axis}_deg`];
		const west = axis === 'lon' && typeof answer === 'string' && /^west/i.test(answer);
		const side = west ? { sign: () => -1, why: 'west, as answered', column: null } : sideOf(table, pair[axis], axis);
		if (side === null) continue;
		for (let i = 0; i < degrees.length; i++) degrees[i] = Math.abs(degrees[i]!) * side.sign(i);
		pair.because[axis].push(side.why);
		if (side.column !== null) letters.push(side.column);
	}
	return letters;
}

/** Removes positions that are none, and lists them; those that are blank are not listed. */
function dropImpossible({ lat, lon, lat_deg, lon_deg }: Pair, plane: boolean): Places['bad'] {
	const bad: Places['bad'] = [];
	for (let i = 0; i < lat_deg.length; i++) {
		const off = !(Math.abs(lat_deg[i]!) <= 90 && Math.abs(lon_deg[i]!) <= 180);
		const nowhere = lat.values[i] === 0 && lon.values[i] === 0 && !plane;
		if (!off && !nowhere) continue;
		lat_deg[i] = lon_deg[i] = Number.NaN;
		if (Number.isNaN(lat.values[i]! + lon.values[i]!)) continue;
		const why = nowhere ? 'position 0/0: the receiver had no fix' : 'not a place on Earth';
		bad.push({ row: i, column: lat.column.name, found: `${lat.values[i]}, ${lon.values[i]}`, why });
	}
	return bad;
}

function crsOf(answer: unknown): number | string | undefined {
	if (typeof answer === 'number') return answer;
	if (typeof answer !== 'string') return undefined;
	const code = /(\d{4,6})/.exec(answer)?.[1];
	return code !== undefined && !answer.includes(',') ? Number(code) : undefined;
}

function anchorOf(answer: unknown): [number, number] | null {
	const numbers =
		typeof answer === 'string'
			? answer.split(/[\s,;]+/).map(Number)
			: Array.isArray(answer)
				? answer.map(Number)
				: typeof answer === 'object' && answer !== null
					? [Number((answer as Record<string, unknown>).lat), Number((answer as Record<string, unknown>).lon)]
					: [];
	const [lat, lon] = numbers;
	if (lat === undefined || lon === undefined || !(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) return null;
	return [lon, lat];
}

/** Meters east and north of a place as degrees, through its UTM zone. */
function fromAnchor([lon, lat]: [number, number], x_m: Float64Array, y_m: Float64Array): [Float64Array, Float64Array] {
	const projection = utmProjection(utmZone(lon, lat));
	const [x0, y0] = projection.forward(lon, lat);
	const middle = (v: Float64Array) => {
		const low = v.reduce((p, q) => Math.min(q, p), Infinity);
		return Number.isFinite(low) ? low : 0;
	};
	// Far from zero (a grid without a name), only the shape is kept.
	const dx = Math.abs(middle(x_m)) > 20_000 ? middle(x_m) : 0;
	const dy = Math.abs(middle(y_m)) > 20_000 ? middle(y_m) : 0;
	const out = projection.inverseAll(
		x_m.map((v) => v - dx + x0),
		y_m.map((v) => v - dy + y0),
	);
	return [out.lon_deg, out.lat_deg];
}

function positionQuestion(
	table: RawTable,
	lat: Candidate,
	lon: Candidate,
	local: boolean,
	crs: number | string | undefined,
): Question {
	const columns = `"${lon.column.name}" and "${lat.column.name}"`;
	const unknown =
		crs === undefined ? '' : ` The coordinate system it states (${String(crs).slice(0, 40)}) is not known here.`;
	return {
		about: 'position',
		text: local
			? `${columns} are not degrees; they look like meters from some point. Where is that point (latitude, longitude), or which EPSG code applies?`
			: `${columns} are coordinates of a map grid, and the file does not say which. Which EPSG code applies (for UTM on WGS 84: 326 and the zone in the north, 327 and the zone in the south)?${unknown}`,
		choices: [],
		blocking: true,
		taken: null,
		file: table.file,
	};
}
