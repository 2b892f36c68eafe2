import { lineOf, type RawColumn, type RawTable, type Role } from '../../formats/index.ts';
import { useGiven } from '../answers.ts';
import { everyColumn } from '../log/checks.ts';
import { statesOf } from '../log/named.ts';
import type { ColumnReading } from '../model.ts';
import { LOAD_WORDS } from '../names/load-words.ts';
import { findInstants } from '../time/instants.ts';
import type { Instants } from '../time/time-context.ts';
import { statedUnit } from '../units/units.ts';
import { eventsOf, loadRoles, textOf } from './load-columns.ts';
import type { LoadContext, LoadTable, LoadUse } from './load-table.ts';
import { netWeights } from './net-weights.ts';

const TEXTS: readonly Role[] = [
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
];

/** Reads a table as weights; null if it has none. */
export function findLoads(table: RawTable, context: LoadContext): LoadTable | null {
	const { roles, readings } = loadRoles(table, context.given);
	const weighed = roles.get('weight') ?? (roles.has('gross') && roles.has('tare') ? roles.get('gross') : undefined);
	if (weighed === undefined) return null;
	const said = useGiven(context.given);
	const use = said === 'cart' || said === 'tickets' || said === 'trace' ? said : useOf(table, roles);
	if (use === 'tickets') loadIsTruck(roles, readings);
	const instants = findInstants(table, {
		given: context.given,
		timeZone: context.timeZone,
		place: context.place,
		dictionary: LOAD_WORDS,
		order: context.order,
		interval: () => new Float64Array(table.n).fill(1),
		needed: false,
	});
	// Without a clock, rows keep their order, which is enough.
	const timed = !instants.timeless || instants.dayOnly;
	const questions = timed ? instants.questions : [];
	const notes = [...table.notes];
	if (!timed) notes.push('no column of times: the rows are taken in their order');
	const out: LoadTable = {
		table,
		use,
		rows: [],
		columns: [],
		questions,
		notes,
		leftOut: [],
		grain: grainOf(instants),
	};
	const net_kg = netWeights(out, roles, readings, context);
	const events = eventsOf(table, roles, out);
	const values = valuesOf(table, roles);
	const odd = oddCells(roles, instants.odd);
	for (let i = 0; i < table.n; i++) {
		const line = lineOf(table, i);
		const raw = net_kg[i]!;
		const wrong = odd.get(i) ?? (use === 'trace' || Math.abs(raw) > 0 ? null : noWeight(weighed, raw));
		if (wrong) {
			out.leftOut.push({ file: table.file, row: line, ...wrong });
			continue;
		}
		out.rows.push({
			line,
			time_s: timed ? instants.time_s[i]! : Number.NaN,
			weight_kg: use === 'trace' ? raw : Math.abs(raw),
			event: events(i, raw),
			...values(i),
		});
	}
	out.columns = everyColumn(table, [...(timed ? instants.columns : []), ...readings]);
	return out;
}

/** A ticket's load is the truck's; a cart's is its own. */
function loadIsTruck(roles: Map<Role, RawColumn>, readings: ColumnReading[]): void {
	const load = roles.get('id');
	if (load === undefined || roles.has('truck_load') || !/load/i.test(load.name)) return;
	roles.delete('id');
	roles.set('truck_load', load);
	for (const r of readings) if (r.column === load.name) r.as = 'truck_load';
}

type Wrong = Pick<LoadTable['leftOut'][number], 'column' | 'found' | 'why'>;

/** Rows with a weight or a time that cannot be read. */
function oddCells(roles: Map<Role, RawColumn>, times: Instants['odd']): Map<number, Wrong> {
	const weights = (['weight', 'gross', 'tare'] as const).flatMap((role) => {
		const column = roles.get(role);
		return (column?.odd ?? []).map(({ row, found }) => ({ row, found, column: column?.name ?? '' }));
	});
	return new Map(
		[...weights, ...times].map(({ row, column, found }) => [
			row,
			{ column, found, why: 'expected a number or a time' },
		]),
	);
}

const noWeight = (column: RawColumn, found: number): Wrong => ({
	column: column.name,
	found: Number.isNaN(found) ? '' : String(found),
	why: 'expected a weight above 0',
});

/** A row's texts and what was measured of its grain and place. */
function valuesOf(table: RawTable, roles: Map<Role, RawColumn>) {
	const texts = TEXTS.map((t) => [t, textOf(roles.get(t), table.n)] as const);
	const emptied = roles.get('emptied');
	const states = emptied && statesOf(emptied);
	const numbers = (role: Role) => roles.get(role)?.numbers;
	const moisture = numbers('moisture');
	const density = numbers('test_weight');
	const lat = numbers('lat');
	const lon = numbers('lon');
	const tw = roles.get('test_weight');
	const stated = tw && statedUnit(tw, 'test_weight')?.unit.size;
	return (i: number) => {
		const m = moisture?.[i] ?? Number.NaN;
		const d = density?.[i] ?? Number.NaN;
		return {
			text: {
				...Object.fromEntries(texts.map(([t, cells]) => [t, cells[i] ?? ''])),
				...(states && { emptied: { '1': 'yes', '0': 'no' }[states[i]!] ?? '' }),
			},
			moisture_pct: m > 0 && m < 1 ? m * 100 : m,
			test_weight_kg_hl: d * (stated ?? (d < 66 ? 1.2872 : 1)),
			lat_deg: lat?.[i] ?? Number.NaN,
			lon_deg: lon?.[i] ?? Number.NaN,
		};
	};
}

function useOf(table: RawTable, roles: Map<Role, RawColumn>): LoadUse {
	const name = table.file.toLowerCase();
	const said = (words: RegExp) => (words.test(name.split('/').at(-1)!) || words.test(table.meta.layer ?? '') ? 1 : 0);
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
