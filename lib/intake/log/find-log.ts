import type { RawTable } from '../../formats/index.ts';
import { medianPlace } from '../../geo/utm.ts';
import type { Crop, SetAside } from '../../model/index.ts';
import { findGrain } from '../grain/find-grain.ts';
import type { Grain } from '../grain/guesses.ts';
import { type ColumnReading, type Given, type LogRows, type Question, question } from '../model.ts';
import { cropInName } from '../names/crop-names.ts';
import { findPlaces, type Places } from '../place/find-places.ts';
import { minusLost } from '../place/position-columns.ts';
import { findInstants } from '../time/instants.ts';
import { type DateOrder, orderShown } from '../time/order.ts';
import { checkTotals, dropFaulty, everyColumn, processing } from './checks.ts';
import { Columns } from './column-roles.ts';
import { findGround, type Ground } from './find-ground.ts';
import { findCrop, findHeading, findMoisture, findState, findText } from './named.ts';
import { durationsOf, findSeconds } from './seconds.ts';
import { joinSections } from './sections.ts';
import { findWay } from './way.ts';

/** What is known besides the table itself. */
export interface LogContext {
	given: Given;
	crop: Crop | null;
	timeZone: string | null;
	order: DateOrder | null;
	/** True if weights have to be joined by time. */
	weighed: boolean;
}

/** A table as a yield monitor's log. */
export interface FoundLog {
	log: LogRows;
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	leftOut: SetAside[];
	/** Bushel weight implied by the file's yields, kg. */
	bushel_kg: number | null;
	order: DateOrder | null;
}

/**
 * Reads a table as a yield monitor's log; null if it has no positions or no grain. Each step assigns the columns that
 * it needs, and what one step finds helps the next: positions tell the time zone, positions and times tell units of
 * distance and speed, the ground tells the unit of the grain.
 */
export function findLog(table: RawTable, context: LogContext): FoundLog | null {
	const { given } = context;
	const places = findPlaces(table, given);
	if (places === null) return null;
	const place = placeOf(places);
	const instants = findInstants(table, {
		given,
		timeZone: context.timeZone,
		place,
		order: context.order,
		interval: () => durationsOf(new Columns(table, places.used, given)),
		needed: context.weighed,
	});
	const columns = new Columns(table, new Set([...places.used, ...instants.used]), given);
	const way = findWay(columns, places, instants);
	const seconds = findSeconds(columns, way, instants);
	const ground = findGround(columns, way, seconds);
	const heading_deg = findHeading(columns, way.motion);
	const moisture_pct = findMoisture(columns);
	const header = findState(columns, 'header');
	const auger = findState(columns, 'auger');
	const crop = findCrop(columns);
	const { area_m2, system } = ground;
	const { interval_s } = seconds;
	const crops = cropsOf(context.crop, crop?.crop ?? null, table.file);
	const grain = findGrain(columns, { area_m2, interval_s, moisture_pct, system, ...crops });
	if (grain === null) return null;
	const { flow_kg_s } = grain;
	const questions = [
		...places.questions,
		...instants.questions.map((q) => ({ ...q, blocking: blocks(q, grain, context) })),
		...way.questions,
		...minusQuestions(columns, place, ground),
		...ground.questions,
		...columns.questions,
		...grain.questions,
	];
	const notes = [
		...[places, instants, table, way, seconds, ground, grain, columns].flatMap((part) => part.notes),
		...checkTotals(table, { flow_kg_s, interval_s, area_m2, header }),
		...processing(flow_kg_s, header, way.motion, way.machine),
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
		flow_kg_s,
		interval_s,
		distance_m: ground.distance_m,
		swath_m: ground.swath_m,
		moisture_pct: moisture_pct ?? missing(),
		speed_m_s: ground.speed_m_s,
		heading_deg: heading_deg ?? missing(),
		elevation_m: ground.elevation_m,
		header: header ?? unknown(),
		auger: auger ?? unknown(),
		variety: findText(columns, 'variety'),
		load: findText(columns, 'load'),
		combine: way.combine,
		field: findText(columns, 'field'),
		keep: new Uint8Array(table.n).fill(1),
		timeless: instants.timeless,
		crop,
		zone: instants.zone,
	};
	const untimed = instants.odd.map((o) => ({ ...o, why: 'no time is read here' }));
	const leftOut = dropFaulty(log, columns.used, [...places.bad, ...untimed]);
	if (way.sections) joinSections(log, way.sections.first);
	return {
		log,
		columns: everyColumn(table, [...places.columns, ...instants.columns, ...columns.readings]),
		questions,
		notes,
		leftOut,
		bushel_kg: grain.bushel_kg,
		order: questions.some((q) => q.about === 'date order') ? null : orderShown(instants.columns),
	};
}

/** The middle of the positions; null as long as it is asked where they lie. */
function placeOf(places: Places): { lon_deg: number; lat_deg: number } | null {
	const middle = medianPlace(places.lon_deg, places.lat_deg);
	return places.questions.length === 0 && Number.isFinite(middle.lon_deg) ? middle : null;
}

/** The crop to judge the grain by, and another one that the file itself names. */
function cropsOf(called: Crop | null, inColumn: Crop | null, file: string) {
	const own = inColumn ?? cropInName(file);
	return { crop: called ?? inColumn, other: called !== null && own?.name !== called.name ? own : null };
}

/** Whether a question about times blocks: with a yield, mass is yield × ground, whatever the seconds. */
const blocks = (q: Question, grain: Grain, { weighed }: LogContext): boolean =>
	q.about === 'time: seconds per record' && grain.from === 'yield' ? weighed : q.blocking;

/** Asks about a place in the East whose units are those of the US. */
function minusQuestions({ given, table }: Columns, place: ReturnType<typeof placeOf>, { system }: Ground): Question[] {
	if (system !== 'us' || place === null || !minusLost(place) || typeof given.position === 'string') return [];
	return [
		question(table.file, {
			about: 'position',
			text: `The longitudes of ${table.file} are east of Greenwich, and its units are those of the US: was a minus sign lost?`,
			choices: ['west', 'east, as recorded'],
			blocking: true,
			taken: 'east, as recorded',
		}),
	];
}
