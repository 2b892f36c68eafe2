import type { RawColumn, RawTable } from '../../formats/index.ts';
import { medianPlace } from '../../geo/utm.ts';
import type { Crop } from '../../model/index.ts';
import type { ColumnReading, Given, LeftOut, LogRows, Question } from '../model.ts';
import { cropInName, cropOf } from '../names/crops.ts';
import { rolesByName } from '../names/match.ts';
import { LOG_WORDS } from '../names/words.ts';
import { findInstants } from '../time/instant.ts';
import type { DateOrder } from '../time/order.ts';
import type { System } from '../units.ts';
import { findGrain } from './grain.ts';
import { intervalsFrom } from './interval.ts';
import { jumpShare, machinesByMotion } from './machines.ts';
import { followRows, type Motion, passSpacing_m } from './motion.ts';
import { middlePositive, type Reference, short, Taking } from './numbers.ts';
import { findPlaces } from './place.ts';
import { findSections } from './sections.ts';
import { statesOf, stepCorrelation } from './states.ts';

export interface LogContext {
	given: Given;
	crop: Crop | null;
	timeZone: string | null;
	order: DateOrder | null;
	/** Weights have to be joined by time. */
	weighed: boolean;
}

export interface LogUnderstood {
	log: LogRows;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	leftOut: LeftOut[];
	/** Weight of the bushel that the file's yields hold, kg. */
	bushel_kg: number | null;
	order: DateOrder | null;
}

/** Understands a table as a log of a yield monitor; null where it has no positions or no grain. */
export function understandLog(table: RawTable, context: LogContext): LogUnderstood | null {
	const { given } = context;
	const places = findPlaces(table, given);
	if (places === null) return null;
	const used = new Set(places.used);
	const n = table.n;
	const early = new Taking(table, used, given);
	const durations = () => {
		const column = early.named('interval', 0.6)[0]?.column;
		const v = column?.numbers;
		return v && middlePositive(v) > 0.05 && middlePositive(v) < 120 ? v : null;
	};
	const place = medianPlace(places.lon_deg, places.lat_deg);
	const known = places.questions.length === 0 && Number.isFinite(place.lon_deg);
	const instants = findInstants(table, {
		given,
		timeZone: context.timeZone,
		place: known ? place : null,
		order: context.order,
		interval: durations,
		needed: context.weighed,
	});
	for (const name of instants.used) used.add(name);
	const taking = new Taking(table, used, given);
	const names = namesOf(table, taking, 'combine', used);
	const group = names?.values ?? instants.run;
	if (names) taking.readings.push(names.reading);
	const notes = [...places.notes, ...instants.notes, ...table.notes];
	const questions = [...places.questions, ...instants.questions];

	const sectionColumn = table.columns.find((c) => rolesByName(c.name, LOG_WORDS).has('section'));
	const sections = instants.timeless
		? null
		: findSections(instants.time_s, places.x_m, places.y_m, group, sectionColumn !== undefined);
	const leads = (i: number) => sections === null || sections.first[i] === i;
	const { machine, combine, order } = tellMachines(
		table,
		group,
		instants.time_s,
		places.x_m,
		places.y_m,
		leads,
		instants.order,
		notes,
		questions,
	);
	const [x_m, y_m] = [centres(places.x_m, sections?.first ?? null), centres(places.y_m, sections?.first ?? null)];
	const motion = followRows(machine, x_m, y_m, instants.time_s, order);
	if (sections)
		notes.push(
			`${sections.count} rows stand side by side at each time stamp: sections of one header, read as one record of their joint width and mass`,
		);

	const timesTell = !instants.timeless || table.columns.some((c) => instants.used.has(c.name));
	const fromTimes = intervalsFrom(motion, machine, order);
	const interval = taking.take(
		'interval',
		timesTell ? reference(motion.dt_s, 1.25, 'times are', (x) => `${short(x)} s apart`, 0.02) : null,
		(m) => m > 0.01 && m < 5000,
	);
	let interval_s = interval ? interval.values.map((v) => v * interval.unit.size) : fromTimes.interval_s;
	if (!interval && timesTell && fromTimes.usual_s > 0) {
		notes.push(
			fromTimes.rounded
				? `no column of seconds: time stamps are rounded, and records come every ${short(fromTimes.usual_s)} s in the mean`
				: `no column of seconds: a record’s time is that since the one before, ${short(fromTimes.usual_s)} s as a rule`,
		);
	} else if (!interval) {
		const seconds = secondsAnswered(given);
		interval_s = new Float64Array(n).fill(seconds ?? 1);
	}
	const lead_s = spread(interval_s, sections?.first ?? null);

	countersToSteps(taking, 'distance', motion);
	countersToSteps(taking, 'area', motion);
	const distance = taking.take(
		'distance',
		reference(motion.step_m, 1.12, 'positions are', (x) => `${short(x)} m apart`, 0.2),
	);
	const rate = motion.step_m.map((s, i) => s / (lead_s[i] as number));
	const speed = taking.take(
		'speed',
		timesTell || interval ? reference(rate, 1.12, 'positions move at', (x) => `${short(x)} m/s`, 0.2) : null,
		(m) => m > 0 && m < 400,
	);
	const spacing = passSpacing_m(motion, x_m, y_m) / (sections?.count ?? 1);
	const apart = Number.isNaN(spacing)
		? null
		: reference(new Float64Array(n).fill(spacing), 1.35, 'neighboring passes are', (x) => `${short(x)} m apart`, null);
	const swath = taking.take('swath', apart, (m) => m > 0);
	const heading = takeHeading(taking, motion);
	const moisture = takeMoisture(taking);
	const elevation = taking.take('elevation', null, (m) => m > -500);
	if (elevation && !elevation.reading.because.some((b) => b.includes('says'))) {
		const us = systemOf([distance?.unit.system, swath?.unit.system, speed?.unit.system]) === 'us';
		elevation.reading.because.push('unit by custom of the other columns');
		if (us) elevation.reading.unit = 'ft';
		elevation.reading.sure = 0.6;
	}
	const header = takeState(table, taking, 'header');
	const auger = takeState(table, taking, 'auger');

	let distance_m = distance ? distance.values.map((v) => v * distance.unit.size) : new Float64Array(n).fill(Number.NaN);
	if (!distance) {
		distance_m = speed
			? speed.values.map((v, i) => v * speed.unit.size * (interval_s[i] as number))
			: motion.step_m.map((s, i) => (s < 6 * (interval_s[i] as number) + 2 ? s : Number.NaN));
		notes.push(
			speed
				? 'no column of distance: speed × seconds is taken'
				: 'no column of distance: the way between positions is taken',
		);
	}
	let swath_m = swath ? swath.values.map((v) => v * swath.unit.size) : new Float64Array(n).fill(Number.NaN);
	const areaColumn = taking.take('area', null, (m) => m > 0);
	const area_m2 = areaColumn ? areaColumn.values.map((v) => v * areaColumn.unit.size) : null;
	if (!swath) {
		if (area_m2) swath_m = area_m2.map((a, i) => a / (distance_m[i] as number));
		else if (Number.isFinite(spacing)) {
			const answer = Number(given['combine: header width']);
			const width = answer > 0 ? answer : Math.round(spacing * 100) / 100;
			swath_m.fill(width);
			if (!(answer > 0)) {
				questions.push({
					about: 'combine: header width',
					text: `No column holds the header’s width. Neighboring passes are ${short(spacing)} m apart, and that is taken. How wide is the header, in meters?`,
					choices: [],
					blocking: false,
					taken: String(width),
					file: table.file,
				});
			}
		}
	}
	if (sections && swath && apart) {
		// A width that is the whole header's in every section's row is no section's.
		const one = middlePositive(swath_m);
		if (Math.abs(Math.log(one / (spacing * sections.count))) < 0.2) swath_m = swath_m.map((w) => w / sections.count);
	}
	const system = systemOf([distance?.unit.system, swath?.unit.system, speed?.unit.system]);
	const ground = area_m2 ?? distance_m.map((d, i) => d * (swath_m[i] as number));
	const crop = cropFrom(table, taking, used) ?? null;
	const moisture_pct = moisture
		? moisture.values.map((v) => v * moisture.unit.size)
		: new Float64Array(n).fill(Number.NaN);
	const own = crop?.crop ?? cropInName(table.file);
	const grain = findGrain(taking, {
		area_m2: ground,
		interval_s,
		moisture_pct: moisture ? moisture_pct : null,
		crop: context.crop ?? crop?.crop ?? null,
		other: context.crop !== null && own?.name !== context.crop.name ? own : null,
		system,
		given,
		file: table.file,
	});
	if (grain === null) return null;
	if (instants.questions.some((q) => q.about === 'time: seconds per record') && grain.from === 'yield') {
		// Mass is yield × ground then, whatever the seconds.
		for (const q of questions) if (q.about === 'time: seconds per record') q.blocking = context.weighed;
	}
	notes.push(...grain.notes, ...taking.notes);
	questions.push(...taking.questions, ...grain.questions);
	totalsCheck(table, grain.flow_kg_s, interval_s, ground, header?.states ?? null, notes);
	saidOfState(grain.flow_kg_s, header?.states ?? null, motion, machine, notes);

	const log: LogRows = {
		table,
		n,
		time_s: instants.time_s,
		lat_deg: places.lat_deg,
		lon_deg: places.lon_deg,
		x_m: places.x_m,
		y_m: places.y_m,
		flow_kg_s: grain.flow_kg_s,
		interval_s,
		distance_m,
		swath_m,
		moisture_pct,
		speed_m_s: speed ? speed.values.map((v) => v * speed.unit.size) : new Float64Array(n).fill(Number.NaN),
		heading_deg: heading ?? new Float64Array(n).fill(Number.NaN),
		elevation_m: elevation
			? elevation.values.map((v) => v * (elevation.reading.unit === 'ft' ? 0.3048 : elevation.unit.size))
			: new Float64Array(n).fill(Number.NaN),
		header: header?.states ?? new Int8Array(n).fill(-1),
		auger: auger?.states ?? new Int8Array(n).fill(-1),
		variety: textOf(table, taking, 'variety', used),
		load: textOf(table, taking, 'load', used),
		combine,
		field: textOf(table, taking, 'field', used),
		keep: new Uint8Array(n).fill(1),
		timeless: instants.timeless,
		crop,
		zone: instants.zone,
	};
	const leftOut = faulty(table, log, used, [
		...places.bad,
		...instants.odd.map((o) => ({ ...o, why: 'no time is read here' })),
	]);
	if (sections) joinSections(log, sections.first);
	const columns = [...places.columns, ...instants.columns, ...taking.readings];
	const dates = questions.some((q) => q.about === 'date order') ? null : orderFrom(instants.columns);
	return {
		log,
		columns: everyColumn(table, columns),
		questions,
		notes,
		leftOut,
		bushel_kg: grain.bushel_kg,
		order: dates,
	};
}

const orderFrom = (columns: readonly ColumnReading[]): DateOrder | null => {
	const all = columns.flatMap((c) => c.because);
	if (all.some((b) => b.includes('second number above 12'))) return 'month first';
	return all.some((b) => b.includes('first number above 12')) ? 'day first' : null;
};

const reference = (
	values: ArrayLike<number>,
	tolerance: number,
	by: string,
	show: (x: number) => string,
	anonymous: number | null,
): Reference => ({ values, tolerance, by, show, anonymous });

function secondsAnswered(given: Given): number | null {
	const value = Number(given['time: seconds per record'] ?? given.time);
	return value > 0 && value < 120 ? value : null;
}

/** Columns that only ever rise are counters: what they grow by is a record's own. */
function countersToSteps(taking: Taking, role: 'distance' | 'area', motion: Motion): void {
	for (const { column } of taking.named(role)) {
		const v = column.numbers as Float64Array;
		let up = 0;
		let down = 0;
		for (let i = 0; i < v.length; i++) {
			const step = (v[i] as number) - (v[motion.before[i] as number] ?? Number.NaN);
			if (step > 0) up++;
			else if (step < 0) down++;
		}
		if (up < 10 || down > 0.01 * v.length) continue;
		if (up < 0.3 * v.length) {
			taking.used.add(column.name);
			taking.readings.push({
				column: column.name,
				as: null,
				unit: null,
				sure: 0.9,
				because: ['a counter that moves only every few records'],
			});
			continue;
		}
		const steps = v.map((x, i) => {
			const step = x - (v[motion.before[i] as number] ?? Number.NaN);
			return step >= 0 ? step : Number.NaN;
		});
		taking.instead(column, { ...column, numbers: steps });
		taking.notes.push(`"${column.name}" counts up: what it grows by is each record’s`);
	}
}

/** The middle of each group's places, at its first row. */
function centres(v: Float64Array, first: Int32Array | null): Float64Array {
	if (first === null) return v;
	const sum = new Float64Array(v.length);
	const count = new Float64Array(v.length);
	for (let i = 0; i < v.length; i++) {
		const f = first[i] as number;
		sum[f] = (sum[f] as number) + (v[i] as number);
		count[f] = (count[f] as number) + 1;
	}
	return v.map((x, i) => (count[i] === 0 ? x : (sum[i] as number) / (count[i] as number)));
}

/** A section's rows share the time of their group's first. */
function spread(v: Float64Array, first: Int32Array | null): Float64Array {
	return first === null ? v : v.map((_, i) => v[first[i] as number] as number);
}

/** A column of few names. */
function namesOf(
	table: RawTable,
	taking: Taking,
	role: 'combine',
	used: Set<string>,
): { values: string[]; reading: ColumnReading } | null {
	let best: { column: RawColumn; score: number } | null = null;
	for (const column of table.columns) {
		if (used.has(column.name)) continue;
		const score = taking.nameScore(column, role);
		if (score >= 0.6 && (best === null || score > best.score) && few(column)) best = { column, score };
	}
	if (best === null) return null;
	const { column, score } = best;
	used.add(column.name);
	const values = column.text ?? Array.from(column.numbers as Float64Array, (x) => (Number.isNaN(x) ? '' : String(x)));
	const distinct = new Set(values.filter((v) => v !== ''));
	return {
		values,
		reading: {
			column: column.name,
			as: role,
			unit: null,
			sure: Math.min(0.99, score),
			because: [`the name "${column.name}"`, `${distinct.size} ${distinct.size === 1 ? 'name' : 'names'} in it`],
		},
	};
}

function few(column: RawColumn): boolean {
	const seen = new Set<string | number>();
	for (const v of column.text ?? (column.numbers as Float64Array)) {
		if (v !== '' && !Number.isNaN(v)) seen.add(v);
		if (seen.size > 24) return false;
	}
	return seen.size > 0;
}

function textOf(
	table: RawTable,
	taking: Taking,
	role: 'variety' | 'load' | 'field',
	used: Set<string>,
): string[] | null {
	for (const column of table.columns) {
		if (used.has(column.name) || taking.nameScore(column, role) < 0.7) continue;
		const values = column.text ?? Array.from(column.numbers as Float64Array, (x) => (Number.isNaN(x) ? '' : String(x)));
		if (values.every((v) => v === '')) continue;
		// Hundreds of names are none of fields or varieties.
		if (role !== 'load' && new Set(values).size > Math.max(20, Math.min(200, table.n / 50))) continue;
		used.add(column.name);
		taking.readings.push({
			column: column.name,
			as: role,
			unit: null,
			sure: Math.min(0.99, taking.nameScore(column, role)),
			because: [`the name "${column.name}"`],
		});
		return values;
	}
	return null;
}

function takeState(table: RawTable, taking: Taking, role: 'header' | 'auger'): { states: Int8Array } | null {
	const found = table.columns
		.filter((c) => !taking.used.has(c.name))
		.map((column) => ({ column, score: taking.nameScore(column, role) }))
		.filter((c) => c.score >= 0.6)
		.sort((a, b) => b.score - a.score);
	for (const { column, score } of found) {
		const states = statesOf(column);
		if (states === null) continue;
		taking.used.add(column.name);
		taking.readings.push({
			column: column.name,
			as: role,
			unit: null,
			sure: column.certain ? 1 : Math.min(0.97, score),
			because: [`the name "${column.name}"`, 'it holds yes and no'],
		});
		return { states };
	}
	return null;
}

function takeHeading(taking: Taking, motion: Motion): Float64Array | null {
	for (const { column, score } of taking.named('heading', 0.5)) {
		const v = column.numbers as Float64Array;
		const off: number[] = [];
		for (let i = 0; i < v.length; i++) {
			const turn = (((v[i] as number) - (motion.bearing_deg[i] as number)) * Math.PI) / 180;
			if ((motion.step_m[i] as number) > 0.5 && Number.isFinite(turn))
				off.push(Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn))));
		}
		off.sort((a, b) => a - b);
		const middle = ((off[off.length >> 1] ?? Number.NaN) * 180) / Math.PI;
		const fits = middle < 15;
		if (!fits && off.length > 50 && score < 1.2) continue;
		taking.used.add(column.name);
		taking.readings.push({
			column: column.name,
			as: 'heading',
			unit: 'deg',
			sure: fits ? 0.98 : 0.6,
			because: [
				`the name "${column.name}"`,
				...(off.length > 50
					? [`it differs from the way between positions by ${middle.toFixed(0)}° in the middle`]
					: []),
			],
		});
		return v;
	}
	return null;
}

function takeMoisture(taking: Taking) {
	const found = taking.take(
		'moisture',
		null,
		(m) => (m > 2 && m < 75) || (m > 0.02 && m < 0.75) || (m > 20_000 && m < 750_000),
	);
	if (!found) return null;
	const middle = middlePositive(found.values);
	if (found.column.certain) return found;
	const size = middle < 1 ? 100 : middle > 1000 ? 1e-4 : 1;
	const name = size === 1 ? '%' : size === 100 ? 'fraction' : 'ppm';
	found.reading.unit = name;
	found.reading.sure = Math.max(found.reading.sure, 0.95);
	found.reading.because.push(`its middle is ${short(middle)}`);
	return { ...found, unit: { ...found.unit, name, size } };
}

function systemOf(systems: readonly (System | null | undefined)[]): System | null {
	const us = systems.filter((s) => s === 'us').length;
	const metric = systems.filter((s) => s === 'metric').length;
	return us > metric ? 'us' : metric > us ? 'metric' : null;
}

function cropFrom(table: RawTable, taking: Taking, used: Set<string>): { crop: Crop; because: string } | null {
	for (const column of table.columns) {
		if (!column.text || used.has(column.name) || taking.nameScore(column, 'crop') < 0.6) continue;
		const counts = new Map<string, number>();
		for (const v of column.text) if (v !== '') counts.set(v, (counts.get(v) ?? 0) + 1);
		const [most] = [...counts].sort((a, b) => b[1] - a[1]);
		const crop = most ? cropOf(most[0]) : null;
		if (crop && most) {
			used.add(column.name);
			taking.readings.push({
				column: column.name,
				as: 'crop',
				unit: null,
				sure: 0.95,
				because: [`it says ${most[0]}`],
			});
			return { crop, because: `"${column.name}" says ${most[0]}` };
		}
	}
	const crop = table.meta.crop === undefined ? null : cropOf(table.meta.crop);
	return crop && { crop, because: `the file says ${table.meta.crop}` };
}

/** Whose row each is: by a column, by runs that a column tells apart, or by motion. */
function tellMachines(
	table: RawTable,
	group: readonly string[] | null,
	time_s: Float64Array,
	x_m: Float64Array,
	y_m: Float64Array,
	leads: (i: number) => boolean,
	order: Int32Array | null,
	notes: string[],
	questions: Question[],
): { machine: Int32Array; combine: string[] | null; order: Int32Array | null } {
	const n = time_s.length;
	const machine = new Int32Array(n).fill(-1);
	if (group !== null) {
		const number = new Map<string, number>();
		for (let i = 0; i < n; i++) {
			const name = group[i] as string;
			if (!number.has(name)) number.set(name, number.size);
			if (leads(i)) machine[i] = number.get(name) as number;
		}
		return { machine, combine: [...group], order: order ?? inTime(time_s) };
	}
	const rows = Int32Array.from({ length: n }, (_, i) => i).filter(leads);
	const pick = (v: Float64Array) => Float64Array.from(rows, (i) => v[i] as number);
	const [t, x, y] = [pick(time_s), pick(x_m), pick(y_m)];
	const jumps = jumpShare(t, x, y);
	// A row every so often out of place is a receiver's slip or a file of several days.
	if (jumps > 0.02 || backwards(t)) {
		const told = machinesByMotion(t, x, y);
		if (told.count > 1) {
			rows.forEach((i, k) => {
				machine[i] = told.machine[k] as number;
			});
			const letters = (m: number) => (told.count <= 26 ? String.fromCharCode(65 + m) : String(m + 1));
			const combine = Array.from({ length: n }, (_, i) => letters(Math.max(0, machine[i] as number)));
			notes.push(
				`${told.count} machines in one file without a column that tells them apart: told apart by their motion`,
			);
			questions.push({
				about: 'combine',
				text: `${table.file} holds ${told.count} machines, told apart by their motion and called ${[...new Set(combine)].join(', ')}. What are their names, in that order?`,
				choices: [],
				blocking: false,
				taken: [...new Set(combine)].join(', '),
				file: table.file,
			});
			return { machine, combine, order: inTime(time_s) };
		}
	}
	for (const i of rows) machine[i] = 0;
	return { machine, combine: null, order: order ?? inTime(time_s) };
}

/** Rows in order of time, equal ones in the file's; null where they stand so already, or have no times. */
function inTime(time_s: Float64Array): Int32Array | null {
	let sorted = true;
	for (let i = 1; i < time_s.length && sorted; i++) sorted = !((time_s[i] as number) < (time_s[i - 1] as number));
	if (sorted || time_s.some(Number.isNaN)) return null;
	return Int32Array.from({ length: time_s.length }, (_, i) => i).sort(
		(a, b) => (time_s[a] as number) - (time_s[b] as number),
	);
}

/** Time goes back by minutes somewhere: a second log follows in the same file. */
function backwards(t: Float64Array): boolean {
	let top = Number.NEGATIVE_INFINITY;
	for (const one of t) {
		if (one < top - 300) return true;
		if (one > top) top = one;
	}
	return false;
}

/** Rows with a cell that cannot be are no records, and are listed. */
function faulty(
	table: RawTable,
	log: LogRows,
	used: Set<string>,
	bad: { row: number; column: string; found: string; why: string }[],
): LeftOut[] {
	const out: LeftOut[] = [];
	const line = (i: number) => table.lines?.[i] ?? i + 2;
	const drop = (row: number, column: string, found: string, why: string) => {
		if (log.keep[row] === 0) return;
		log.keep[row] = 0;
		out.push({ file: table.file, row: line(row), column, found, why });
	};
	for (const b of bad) drop(b.row, b.column, b.found, b.why);
	for (const column of table.columns) {
		if (!used.has(column.name)) continue;
		for (const odd of column.odd ?? []) drop(odd.row, column.name, odd.found, 'expected a number');
	}
	for (let i = 0; i < log.n; i++) {
		if ((log.interval_s[i] as number) < 0)
			drop(i, 'interval', String(log.interval_s[i]), 'an interval below 0 cannot be');
		else if ((log.swath_m[i] as number) < 0) drop(i, 'swath', String(log.swath_m[i]), 'a width below 0 cannot be');
	}
	return out;
}

/** One record of each group: joint width, sum of masses, middle of places; ground and grain weigh what is averaged. */
function joinSections(log: LogRows, first: Int32Array): void {
	const width = new Float64Array(log.n);
	const mean: Float64Array[] = [log.lat_deg, log.lon_deg, log.x_m, log.y_m];
	const sums = mean.map((v) => v.slice());
	const counts = new Float64Array(log.n).fill(1);
	const wet = new Float64Array(log.n);
	const water = new Float64Array(log.n);
	for (let i = 0; i < log.n; i++) {
		const f = first[i] as number;
		const w = log.swath_m[i] as number;
		const flow = log.flow_kg_s[i] as number;
		if (w > 0) width[f] = (width[f] as number) + w;
		if (flow > 0 && (log.moisture_pct[i] as number) > 0) {
			wet[f] = (wet[f] as number) + flow;
			water[f] = (water[f] as number) + flow * (log.moisture_pct[i] as number);
		}
		if (f === i) continue;
		log.keep[i] = 0;
		counts[f] = (counts[f] as number) + 1;
		sums.forEach((s, k) => {
			s[f] = (s[f] as number) + (mean[k]![i] as number);
		});
		if (Number.isFinite(flow)) log.flow_kg_s[f] = (log.flow_kg_s[f] || 0) + flow;
		if (log.header[i] === 1) log.header[f] = 1;
	}
	for (let f = 0; f < log.n; f++) {
		if (first[f] !== f) continue;
		mean.forEach((v, k) => {
			v[f] = (sums[k]![f] as number) / (counts[f] as number);
		});
		log.swath_m[f] = width[f] as number;
		if ((wet[f] as number) > 0) log.moisture_pct[f] = (water[f] as number) / (wet[f] as number);
	}
}

/** The file's own counters, beside the sums of its records. */
function totalsCheck(
	table: RawTable,
	flow: Float64Array,
	interval_s: Float64Array,
	ground: Float64Array,
	header: Int8Array | null,
	notes: string[],
): void {
	let kg = 0;
	let m2 = 0;
	for (let i = 0; i < flow.length; i++) {
		const mass = (flow[i] as number) * (interval_s[i] as number);
		if (Number.isFinite(mass)) kg += mass;
		if (mass > 0 && header?.[i] !== 0) m2 += ground[i] || 0;
	}
	const tell = (what: string, sum: number, own: number | undefined, unit: string) => {
		if (!(own !== undefined && own > 0)) return;
		const off = 100 * (sum / own - 1);
		notes.push(
			`the file’s own counter of ${what} ends at ${own.toFixed(unit === 'ha' ? 2 : 0)} ${unit}, its records add up to ${sum.toFixed(unit === 'ha' ? 2 : 0)} (${off > 0 ? '+' : ''}${off.toFixed(1)}%)`,
		);
	};
	tell('mass', kg, table.totals?.wet_kg, 'kg');
	tell('area', m2 / 10_000, table.totals?.area_m2 === undefined ? undefined : table.totals.area_m2 / 10_000, 'ha');
}

/** What the file has been through before, as far as its values show it. */
function saidOfState(
	flow: Float64Array,
	header: Int8Array | null,
	motion: Motion,
	machine: Int32Array,
	notes: string[],
): void {
	let still = 0;
	let gaps = 0;
	let rows = 0;
	const usual = middlePositive(motion.step_m);
	for (let i = 0; i < flow.length; i++) {
		if ((machine[i] as number) < 0) continue;
		rows++;
		if (flow[i] === 0 || header?.[i] === 0) still++;
		if ((motion.step_m[i] as number) > 6 * usual) gaps++;
	}
	if (rows > 500 && still < 0.001 * rows && gaps > 3) {
		notes.push('records with the header up are left out of this file: what was recorded there is not seen');
	}
	if (stepCorrelation(flow) > 0.55) {
		notes.push(
			'its flow is smoother than a sensor’s own readings: it was smoothed before, and a factor corrects this file, not the machine’s own reading',
		);
	}
}

/** Every column of the table, those not read too. */
function everyColumn(table: RawTable, readings: ColumnReading[]): ColumnReading[] {
	const known = new Set(readings.map((r) => r.column));
	const rest = table.columns
		.filter((c) => !known.has(c.name))
		.map(
			(c): ColumnReading => ({ column: c.name, as: null, unit: null, sure: 0, because: ['not needed, or not known'] }),
		);
	return [...readings, ...rest];
}
