import type { RawTable } from '../../formats/index.ts';
import { medianPlace } from '../../geo/utm.ts';
import type { Crop } from '../../model/index.ts';
import { short } from '../both-units.ts';
import { findGrain } from '../grain/grain.ts';
import type { ColumnReading, Given, LeftOut, LogRows, Question } from '../model.ts';
import { cropInName } from '../names/crops.ts';
import { rolesByName } from '../names/match.ts';
import { LOG_WORDS } from '../names/words.ts';
import { minusLost } from '../place/hemisphere.ts';
import { findPlaces } from '../place/place.ts';
import { findInstants } from '../time/instant.ts';
import { type DateOrder, orderShown } from '../time/order.ts';
import { everyColumn, faulty, noteProcessing, totalsCheck } from './after.ts';
import { findGround, reference } from './ground.ts';
import { intervalsFrom } from './interval.ts';
import { separateMachines } from './machines.ts';
import { followRows } from './motion.ts';
import { middlePositive, Taking } from './numbers.ts';
import { centers, findSections, joinSections, spread } from './sections.ts';
import { cropFrom, namesOf, takeHeading, takeMoisture, takeState, textOf } from './take.ts';

export interface LogContext {
	given: Given;
	crop: Crop | null;
	timeZone: string | null;
	order: DateOrder | null;
	/** True if weights have to be joined by time. */
	weighed: boolean;
}

export interface LogUnderstood {
	log: LogRows;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	leftOut: LeftOut[];
	/** Bushel weight implied by the file's yields, kg. */
	bushel_kg: number | null;
	order: DateOrder | null;
}

/** Reads a table as a yield monitor's log; null if it has no positions or no grain. */
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
	const names = namesOf(taking);
	const group = names ?? instants.run;
	const notes = [...places.notes, ...instants.notes, ...table.notes];
	const questions = [...places.questions, ...instants.questions];

	const sectionColumn = table.columns.find((c) => rolesByName(c.name, LOG_WORDS).has('section'));
	const sections = instants.timeless
		? null
		: findSections(instants.time_s, places.x_m, places.y_m, group, sectionColumn !== undefined);
	const leads = (i: number) => sections === null || sections.first[i] === i;
	const { machine, combine, order } = separateMachines(
		{ table, group, time_s: instants.time_s, x_m: places.x_m, y_m: places.y_m, leads, order: instants.order },
		notes,
		questions,
	);
	const [x_m, y_m] = [centers(places.x_m, sections?.first ?? null), centers(places.y_m, sections?.first ?? null)];
	const motion = followRows(machine, x_m, y_m, instants.time_s, order);
	if (sections)
		notes.push(
			`${sections.count} rows stand side by side at each time stamp: sections of one header, read as one record of their joint width and mass`,
		);

	const timesKnown = !instants.timeless || table.columns.some((c) => instants.used.has(c.name));
	const fromTimes = intervalsFrom(motion, machine, order);
	const interval = taking.take(
		'interval',
		timesKnown ? reference(motion.dt_s, 1.25, 'times are', (x) => `${short(x)} s apart`, 0.02) : null,
		(m) => m > 0.01 && m < 5000,
	);
	let interval_s = interval ? interval.values.map((v) => v * interval.unit.size) : fromTimes.interval_s;
	if (!interval && timesKnown && fromTimes.usual_s > 0) {
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

	const ground = findGround(taking, {
		table,
		given,
		motion,
		x_m,
		y_m,
		interval_s,
		lead_s,
		sections,
		timed: timesKnown || interval !== null,
	});
	if (ground.system === 'us' && known && minusLost(place) && typeof given.position !== 'string') {
		questions.push({
			about: 'position',
			text: `The longitudes of ${table.file} are east of Greenwich, and its units are those of the US: was a minus sign lost?`,
			choices: ['west', 'east, as recorded'],
			blocking: true,
			taken: 'east, as recorded',
			file: table.file,
		});
	}
	notes.push(...ground.notes);
	questions.push(...ground.questions);
	const heading = takeHeading(taking, motion);
	const moisture = takeMoisture(taking);
	const header = takeState(taking, 'header');
	const auger = takeState(taking, 'auger');

	const crop = cropFrom(taking);
	const moisture_pct = moisture
		? moisture.values.map((v) => v * moisture.unit.size)
		: new Float64Array(n).fill(Number.NaN);
	const own = crop?.crop ?? cropInName(table.file);
	const grain = findGrain(taking, {
		area_m2: ground.area_m2,
		interval_s,
		moisture_pct: moisture ? moisture_pct : null,
		crop: context.crop ?? crop?.crop ?? null,
		other: context.crop !== null && own?.name !== context.crop.name ? own : null,
		system: ground.system,
		given,
		file: table.file,
	});
	if (grain === null) return null;
	if (instants.questions.some((q) => q.about === 'time: seconds per record') && grain.from === 'yield') {
		// Then mass is yield × ground, whatever the seconds.
		for (const q of questions) if (q.about === 'time: seconds per record') q.blocking = context.weighed;
	}
	notes.push(...grain.notes, ...taking.notes);
	questions.push(...taking.questions, ...grain.questions);
	totalsCheck(table, { flow_kg_s: grain.flow_kg_s, interval_s, area_m2: ground.area_m2, header }, notes);
	noteProcessing(grain.flow_kg_s, header, motion, machine, notes);

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
		distance_m: ground.distance_m,
		swath_m: ground.swath_m,
		moisture_pct,
		speed_m_s: ground.speed_m_s,
		heading_deg: heading ?? new Float64Array(n).fill(Number.NaN),
		elevation_m: ground.elevation_m,
		header: header ?? new Int8Array(n).fill(-1),
		auger: auger ?? new Int8Array(n).fill(-1),
		variety: textOf(taking, 'variety'),
		load: textOf(taking, 'load'),
		combine,
		field: textOf(taking, 'field'),
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
	const dates = questions.some((q) => q.about === 'date order') ? null : orderShown(instants.columns);
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

function secondsAnswered(given: Given): number | null {
	const value = Number(given['time: seconds per record'] ?? given.time);
	return value > 0 && value < 120 ? value : null;
}
