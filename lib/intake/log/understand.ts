import type { RawTable } from '../../formats/index.ts';
import { medianPlace } from '../../geo/utm.ts';
import type { Crop } from '../../model/index.ts';
import { short } from '../both-units.ts';
import { findGrain } from '../grain/grain.ts';
import type { Grain } from '../grain/guesses.ts';
import type { ColumnReading, Given, LeftOut, LogRows, Question } from '../model.ts';
import { cropInName } from '../names/crops.ts';
import { rolesByName } from '../names/match.ts';
import { LOG_WORDS } from '../names/words.ts';
import { minusLost } from '../place/hemisphere.ts';
import { findPlaces, type Places } from '../place/place.ts';
import type { Instants } from '../time/found.ts';
import { findInstants } from '../time/instant.ts';
import { type DateOrder, orderShown } from '../time/order.ts';
import { secondsGiven } from '../time/questions.ts';
import { everyColumn, faulty, processing, totalsCheck } from './after.ts';
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
	const middle = medianPlace(places.lon_deg, places.lat_deg);
	const place = places.questions.length === 0 && Number.isFinite(middle.lon_deg) ? middle : null;
	const used = new Set(places.used);
	const instants = findInstants(table, {
		given,
		timeZone: context.timeZone,
		place,
		order: context.order,
		interval: () => durationsOf(new Taking(table, used, given)),
		needed: context.weighed,
	});
	for (const name of instants.used) used.add(name);
	const taking = new Taking(table, used, given);
	const way = findWay(taking, places, instants);
	const seconds = findSeconds(taking, way, instants, given);
	const { interval_s } = seconds;
	const ground = findGround(taking, {
		table,
		given,
		motion: way.motion,
		x_m: way.x_m,
		y_m: way.y_m,
		interval_s,
		lead_s: spread(interval_s, way.sections?.first ?? null),
		sections: way.sections,
		timed: seconds.timed,
	});
	const heading = takeHeading(taking, way.motion);
	const moisture = takeMoisture(taking);
	const header = takeState(taking, 'header');
	const auger = takeState(taking, 'auger');
	const crop = cropFrom(taking);
	const moisture_pct = moisture?.values.map((v) => v * moisture.unit.size) ?? null;
	const own = crop?.crop ?? cropInName(table.file);
	const grain = findGrain(taking, {
		area_m2: ground.area_m2,
		interval_s,
		moisture_pct,
		crop: context.crop ?? crop?.crop ?? null,
		other: context.crop !== null && own?.name !== context.crop.name ? own : null,
		system: ground.system,
		given,
		file: table.file,
	});
	if (grain === null) return null;
	const wrongSide = ground.system === 'us' && place !== null && minusLost(place) && typeof given.position !== 'string';
	const questions = [
		...places.questions,
		...instants.questions.map((q) => ({ ...q, blocking: blocks(q, grain, context) })),
		...way.questions,
		...(wrongSide ? [minusQuestion(table.file)] : []),
		...ground.questions,
		...taking.questions,
		...grain.questions,
	];
	const notes = [
		...[places, instants, table, way, seconds, ground, grain, taking].flatMap((part) => part.notes),
		...totalsCheck(table, { flow_kg_s: grain.flow_kg_s, interval_s, area_m2: ground.area_m2, header }),
		...processing(grain.flow_kg_s, header, way.motion, way.machine),
	];
	const missing = () => new Float64Array(table.n).fill(Number.NaN);
	const unknown = () => new Int8Array(table.n).fill(-1);
	const log: LogRows = {
		table,
		n: table.n,
		time_s: instants.time_s,
		lat_deg: places.lat_deg,
		lon_deg: places.lon_deg,
		x_m: places.x_m,
		y_m: places.y_m,
		flow_kg_s: grain.flow_kg_s,
		interval_s,
		distance_m: ground.distance_m,
		swath_m: ground.swath_m,
		moisture_pct: moisture_pct ?? missing(),
		speed_m_s: ground.speed_m_s,
		heading_deg: heading ?? missing(),
		elevation_m: ground.elevation_m,
		header: header ?? unknown(),
		auger: auger ?? unknown(),
		variety: textOf(taking, 'variety'),
		load: textOf(taking, 'load'),
		combine: way.combine,
		field: textOf(taking, 'field'),
		keep: new Uint8Array(table.n).fill(1),
		timeless: instants.timeless,
		crop,
		zone: instants.zone,
	};
	const untimed = instants.odd.map((o) => ({ ...o, why: 'no time is read here' }));
	const leftOut = faulty(table, log, used, [...places.bad, ...untimed]);
	if (way.sections) joinSections(log, way.sections.first);
	return {
		log,
		columns: everyColumn(table, [...places.columns, ...instants.columns, ...taking.readings]),
		questions,
		notes,
		leftOut,
		bushel_kg: grain.bushel_kg,
		order: questions.some((q) => q.about === 'date order') ? null : orderShown(instants.columns),
	};
}

/** Seconds that each record lasts, from a column of that name, if they are such. */
function durationsOf(taking: Taking): Float64Array | null {
	const v = taking.named('interval', 0.6)[0]?.column.numbers;
	return v && middlePositive(v) > 0.05 && middlePositive(v) < 120 ? v : null;
}

/** The way of each machine: its rows, sections of one header joined, and the motion from row to row. */
function findWay(taking: Taking, places: Places, instants: Instants) {
	const { table } = taking;
	const { time_s } = instants;
	const group = namesOf(taking) ?? instants.run;
	const notes: string[] = [];
	const questions: Question[] = [];
	const numbered = table.columns.some((c) => rolesByName(c.name, LOG_WORDS).has('section'));
	const sections = instants.timeless ? null : findSections(time_s, places.x_m, places.y_m, group, numbered);
	const leads = (i: number) => sections === null || sections.first[i] === i;
	const { machine, combine, order } = separateMachines(
		{ table, group, time_s, x_m: places.x_m, y_m: places.y_m, leads, order: instants.order },
		notes,
		questions,
	);
	const [x_m, y_m] = [places.x_m, places.y_m].map((v) => centers(v, sections?.first ?? null)) as [
		Float64Array,
		Float64Array,
	];
	if (sections)
		notes.push(
			`${sections.count} rows stand side by side at each time stamp: sections of one header, read as one record of their joint width and mass`,
		);
	const motion = followRows(machine, x_m, y_m, time_s, order);
	return { sections, machine, combine, order, x_m, y_m, motion, notes, questions };
}

/** Seconds of each record: by a column, by the times, or as answered. `timed`: one of the first two shows them. */
function findSeconds(taking: Taking, way: ReturnType<typeof findWay>, instants: Instants, given: Given) {
	const { motion } = way;
	const timesKnown = !instants.timeless || taking.table.columns.some((c) => instants.used.has(c.name));
	const interval = taking.take(
		'interval',
		timesKnown ? reference(motion.dt_s, 1.25, 'times are', (x) => `${short(x)} s apart`, 0.02) : null,
		(m) => m > 0.01 && m < 5000,
	);
	if (interval) return { interval_s: interval.values.map((v) => v * interval.unit.size), timed: true, notes: [] };
	const fromTimes = intervalsFrom(motion, way.machine, way.order);
	if (timesKnown && fromTimes.usual_s > 0) {
		const usual = short(fromTimes.usual_s);
		const note = fromTimes.rounded
			? `no column of seconds: time stamps are rounded, and records come every ${usual} s in the mean`
			: `no column of seconds: a record’s time is that since the one before, ${usual} s as a rule`;
		return { interval_s: fromTimes.interval_s, timed: true, notes: [note] };
	}
	const interval_s = new Float64Array(taking.table.n).fill(secondsGiven(given) ?? 1);
	return { interval_s, timed: timesKnown, notes: [] };
}

/** Whether a question about times blocks: with a yield, mass is yield × ground, whatever the seconds. */
const blocks = (q: Question, grain: Grain, { weighed }: LogContext): boolean =>
	q.about === 'time: seconds per record' && grain.from === 'yield' ? weighed : q.blocking;

const minusQuestion = (file: string): Question => ({
	about: 'position',
	text: `The longitudes of ${file} are east of Greenwich, and its units are those of the US: was a minus sign lost?`,
	choices: ['west', 'east, as recorded'],
	blocking: true,
	taken: 'east, as recorded',
	file,
});
