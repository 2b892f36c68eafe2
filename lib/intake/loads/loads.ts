import type { RawColumn, RawTable, Role } from '../../formats/index.ts';
import type { Crop } from '../../model/index.ts';
import { useGiven } from '../answers.ts';
import { middlePositive, statedUnit } from '../log/numbers.ts';
import { statesOf } from '../log/states.ts';
import type { ColumnReading, Given, LeftOut, Question } from '../model.ts';
import { LOAD_WORDS } from '../names/words.ts';
import { findInstants, type Instants } from '../time/instant.ts';
import type { DateOrder } from '../time/order.ts';
import { type System, sizeOf, UNITS, type Unit } from '../units.ts';
import { loadRoles, textOf } from './roles.ts';

export type LoadUse = 'cart' | 'tickets' | 'trace';

/** A row of a cart list, of tickets or of a trace; NaN and '' are missing. */
export interface LoadRow {
	line: number;
	time_s: number;
	weight_kg: number;
	event: 'dump' | 'offload';
	text: Partial<Record<Role, string>>;
	moisture_pct: number;
	test_weight_kg_hl: number;
	lat_deg: number;
	lon_deg: number;
}

export interface LoadTable {
	table: RawTable;
	use: LoadUse;
	rows: LoadRow[];
	columns: ColumnReading[];
	questions: Question[];
	notes: string[];
	leftOut: LeftOut[];
	zone: string | null;
	/** How finely times are told. */
	grain: 'second' | 'minute' | 'day';
}

export interface LoadContext {
	given: Given;
	crop: Crop | null;
	timeZone: string | null;
	place: { lon_deg: number; lat_deg: number } | null;
	order: DateOrder | null;
	system: System | null;
	/** Grain of all logs of the drop, kg; NaN without any. */
	logs_kg: number;
	/** Unit that other weights of the drop state. */
	custom: string | null;
}

const TEXTS = [
	'id',
	'combine',
	'emptied',
	'truck_load',
	'ticket',
	'scale',
	'field',
	'variety',
	'destination',
	'note',
] as const;

/** Understands a table as weights; null where it holds none. */
export function understandLoads(table: RawTable, context: LoadContext): LoadTable | null {
	const { roles, readings } = loadRoles(table, context.given);
	const weighed = roles.get('weight') ?? (roles.has('gross') && roles.has('tare') ? roles.get('gross') : undefined);
	if (weighed === undefined) return null;
	const said = useGiven(context.given);
	const use = said === 'cart' || said === 'tickets' || said === 'trace' ? said : useOf(table, roles);
	// A ticket's load is the truck's; a cart's is its own.
	const load = roles.get('id');
	if (use === 'tickets' && load !== undefined && !roles.has('truck_load') && /load/i.test(load.name)) {
		roles.delete('id');
		roles.set('truck_load', load);
		for (const r of readings) if (r.column === load.name) r.as = 'truck_load';
	}
	const instants = findInstants(table, {
		given: context.given,
		timeZone: context.timeZone,
		place: context.place,
		dictionary: LOAD_WORDS,
		order: context.order,
		interval: () => new Float64Array(table.n).fill(1),
		needed: false,
	});
	// Without a clock rows keep their order, and that is enough.
	const timed = !instants.timeless || instants.dayOnly;
	const questions = timed ? instants.questions : [];
	const notes = [...table.notes];
	if (!timed) notes.push('no column of times: the order of the rows speaks');
	const out: LoadTable = {
		table,
		use,
		rows: [],
		columns: [],
		questions,
		notes,
		leftOut: [],
		zone: instants.zone,
		grain: grainOf(instants),
	};
	const size = weightUnits(out, roles, readings, context);
	const weight = roles.get('weight')?.numbers;
	const gross = roles.get('gross')?.numbers;
	const tare = roles.get('tare')?.numbers;
	const texts = Object.fromEntries(TEXTS.map((t) => [t, textOf(roles.get(t), table.n)])) as Record<
		(typeof TEXTS)[number],
		string[]
	>;
	const events = eventsOf(table, roles, out);
	const emptied = roles.get('emptied');
	const states = emptied === undefined ? null : statesOf(emptied);
	const moisture = roles.get('moisture')?.numbers;
	const tw = roles.get('test_weight');
	const twUnit = tw === undefined ? null : (statedUnit(tw, 'test_weight')?.unit ?? null);
	const odd = new Map<number, { column: string; found: string }>();
	for (const role of ['weight', 'gross', 'tare'] as const) {
		const column = roles.get(role);
		for (const o of column?.odd ?? []) odd.set(o.row, { column: (column as RawColumn).name, found: o.found });
	}
	for (const o of instants.odd) odd.set(o.row, { column: o.column, found: o.found });
	for (let i = 0; i < table.n; i++) {
		const line = table.lines?.[i] ?? i + 2;
		const wrong = odd.get(i);
		const net = weight?.[i] ?? Number.NaN;
		const raw = Number.isNaN(net) && gross && tare ? (gross[i] as number) - (tare[i] as number) : net;
		if (wrong) {
			out.leftOut.push({ file: table.file, row: line, ...wrong, why: 'a number or a time is expected here' });
			continue;
		}
		if (use !== 'trace' && !(Math.abs(raw) > 0)) {
			out.leftOut.push({
				file: table.file,
				row: line,
				column: weighed.name,
				found: Number.isNaN(raw) ? '' : String(raw),
				why: 'a weight above 0 is expected here',
			});
			continue;
		}
		const m = moisture?.[i] ?? Number.NaN;
		out.rows.push({
			line,
			time_s: timed ? (instants.time_s[i] as number) : Number.NaN,
			weight_kg: (use === 'trace' ? raw : Math.abs(raw)) * size,
			event: events(i, raw),
			text: {
				...Object.fromEntries(TEXTS.map((t) => [t, texts[t][i] as string])),
				emptied: states === null ? (texts.emptied[i] as string) : states[i] === 1 ? 'yes' : states[i] === 0 ? 'no' : '',
			},
			moisture_pct: m > 0 && m < 1 ? m * 100 : m,
			test_weight_kg_hl:
				(tw?.numbers?.[i] ?? Number.NaN) * (twUnit?.size ?? ((tw?.numbers?.[i] ?? 0) < 66 ? 1.2872 : 1)),
			lat_deg: roles.get('lat')?.numbers?.[i] ?? Number.NaN,
			lon_deg: roles.get('lon')?.numbers?.[i] ?? Number.NaN,
		});
	}
	out.columns = [...(timed ? instants.columns : []), ...readings];
	const known = new Set(out.columns.map((c) => c.column));
	for (const c of table.columns) {
		if (!known.has(c.name))
			out.columns.push({ column: c.name, as: null, unit: null, sure: 0, because: ['not needed, or not known'] });
	}
	return out;
}

function useOf(table: RawTable, roles: Map<Role, RawColumn>): LoadUse {
	const name = table.file.toLowerCase();
	const said = (words: RegExp) =>
		words.test(name.split('/').at(-1) as string) || words.test(table.meta.layer ?? '') ? 1 : 0;
	const has = (role: Role) => (roles.has(role) ? 1 : 0);
	const cart = 2 * has('event') + 2 * has('emptied') + has('combine') + 2 * said(/cart|dump/i);
	const tickets =
		2 * has('ticket') +
		1.5 * has('gross') * has('tare') +
		0.5 * has('destination') +
		2 * said(/ticket|elevator|scale.?house|wiegeschein/i);
	if (table.n > 300 && cart < 2 && tickets < 2) return 'trace';
	return tickets > cart ? 'tickets' : 'cart';
}

function grainOf(instants: Instants): LoadTable['grain'] {
	if (instants.dayOnly) return 'day';
	let seconds = false;
	for (const t of instants.time_s) if (t % 60 !== 0 && !Number.isNaN(t)) seconds = true;
	return seconds ? 'second' : 'minute';
}

/** Kilograms of one of the weights' unit: as stated, or by which sum goes with the logs, or by custom. */
function weightUnits(
	out: LoadTable,
	roles: Map<Role, RawColumn>,
	readings: ColumnReading[],
	context: LoadContext,
): number {
	const column = (roles.get('weight') ?? roles.get('gross')) as RawColumn;
	const role = roles.has('weight') ? 'weight' : 'gross';
	const units = UNITS.weight as readonly Unit[];
	const tell = (unit: Unit, sure: number, why: string) => {
		for (const r of readings) {
			if (r.as !== 'weight' && r.as !== 'gross' && r.as !== 'tare') continue;
			r.unit = unit.name;
			r.sure = Math.min(r.sure, sure);
			r.because.push(why);
		}
		return sizeOf(unit, context.crop);
	};
	const answer = context.given[`unit of ${column.name}`];
	const answered = typeof answer === 'string' ? units.find((u) => u.name === answer.trim().toLowerCase()) : undefined;
	if (answered) return tell(answered, 1, 'unit as answered');
	const stated = statedUnit(column, role);
	if (stated) return tell(stated.unit, stated.sure, `it says ${stated.unit.name}`);
	const of = (name: string) => units.find((u) => u.name === name) as Unit;
	const values = [...(column.numbers as Float64Array)].filter((v) => v > 0).sort((a, b) => a - b);
	const middle = values[values.length >> 1] ?? Number.NaN;
	if (middle < 60) return tell(of('t'), 0.9, `its middle is ${middle}: metric tons`);
	const sum = roles.get('event') ? Number.NaN : values.reduce((a, b) => a + b, 0);
	const share = (unit: Unit) => (sum * unit.size) / context.logs_kg;
	const fits = (unit: Unit) => share(unit) > 0.7 && share(unit) < 1.3;
	for (const [one, other] of [
		['lb', 'kg'],
		['kg', 'lb'],
	] as const) {
		if (fits(of(one)) && !fits(of(other))) return tell(of(one), 0.9, 'their sum goes with the logs’ mass');
	}
	if (context.custom !== null)
		return tell(of(context.custom), 0.9, `other weights of the drop are in ${context.custom}`);
	// No truck weighs 70 t, and no load of one 50 t.
	const heavy = roles.has('gross')
		? middlePositive((roles.get('gross') as RawColumn).numbers as Float64Array) > 70_000
		: out.use === 'tickets' && middle > 50_000;
	if (heavy) return tell(of('lb'), 0.95, 'as kilograms no truck would carry it');
	const guess = context.system === 'metric' ? 'kg' : 'lb';
	const sure = context.system === null ? 0.5 : 0.85;
	out.questions.push({
		about: `unit of ${column.name}`,
		text: `Which unit do the weights in "${column.name}" have? Their middle is ${middle}.`,
		choices: ['lb', 'kg', 't', 'bu'],
		blocking: true,
		taken: guess,
		file: out.table.file,
	});
	return tell(of(guess), sure, `taken as ${guess} by the custom of the logs`);
}

/** What each row is: by a column of events, by the sign of the weight, by what is noted in it. */
function eventsOf(
	table: RawTable,
	roles: Map<Role, RawColumn>,
	out: LoadTable,
): (row: number, weight: number) => 'dump' | 'offload' {
	const column = roles.get('event');
	if (column?.text) {
		const text = column.text;
		const strange = new Set<string>();
		const read = (i: number): 'dump' | 'offload' => {
			const word = (text[i] as string).toLowerCase();
			if (/off|unload|out|truck|deliver|transfer|semi|trailer|elevator/.test(word)) return 'offload';
			if (!/dump|load|in|combine|fill|receive|^$/.test(word)) strange.add(word);
			return 'dump';
		};
		for (let i = 0; i < table.n; i++) read(i);
		if (strange.size > 0)
			out.notes.push(
				`words of "${column.name}" that are not known are read as dumps: ${[...strange].slice(0, 5).join(', ')}`,
			);
		return read;
	}
	const weight = roles.get('weight')?.numbers;
	if (weight?.some((w) => w < 0)) {
		out.notes.push('weights below 0 are grain that left the cart');
		return (_, w) => (w < 0 ? 'offload' : 'dump');
	}
	const combine = textOf(roles.get('combine'), table.n);
	const truck = textOf(roles.get('truck_load'), table.n);
	if (
		out.use === 'cart' &&
		roles.has('combine') &&
		roles.has('truck_load') &&
		combine.some((c, i) => c === '' && truck[i] !== '')
	) {
		out.notes.push('rows with a truck and no combine are read as grain that left the cart');
		return (i) => (combine[i] === '' && truck[i] !== '' ? 'offload' : 'dump');
	}
	if (out.use === 'cart') out.notes.push('no column tells dumps from offloads: every row is read as a dump');
	return () => 'dump';
}
