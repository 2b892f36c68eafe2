import { caution, type Dump, type Offload, type Source, type TablePlan } from '../../model/index.ts';
import { readTable, type TableContext, type TableRow } from '../csv/read-table.ts';
import { yesNo } from '../log/yesno.ts';
import { text, type Wanted } from '../plan/mapping.ts';
import { sameWeights } from './alike.ts';
import { type Booking, combinesOf, LOAD_COLUMNS, namesOf, notedOf, orNull, weighed } from './load-row.ts';
import { netOfReadings } from './net-of-readings.ts';
import { needed, weightColumns, weightOf } from './weight.ts';

const CART: readonly Wanted[] = [
	...LOAD_COLUMNS,
	...weightColumns('weight'),
	text('id'),
	text('event'),
	text('emptied'),
	text('scale'),
	text('field'),
	text('variety'),
	{ key: 'lat', name: 'lat', kind: 'angle', unit: 'degrees' },
	{ key: 'lon', name: 'lon', kind: 'angle', unit: 'degrees' },
];

/** The largest fields take some thousand dumps; a file with more is something else, and later stages keep a belief for each. */
const MOST_DUMPS = 2500;

/** Reads the cart log's dumps and offloads into the load book. */
export async function readCart(
	source: Source,
	plan: TablePlan,
	context: TableContext,
	{ combines, book, notes }: Booking,
): Promise<number> {
	const { faults } = context;
	const nameOf = namesOf('id', 'the id', source.name, notes);
	const withoutLog = new Set<string>();
	let order = 0;
	let column = 'weight_kg';
	const check = (row: TableRow) => needed(row, 'weight', ['time', 'event']);
	const row = (row: TableRow) => {
		const event = eventOf(row.text('event'));
		if (event === null) {
			faults.row(row.line, row.name('event'), row.text('event'), 'expected one of: dump, offload');
		}
		const weight = weightOf(row, 'weight', faults);
		column = weight.name;
		const load = weighed(row, faults, weight, 'more than any cart or truck holds');
		if (event === null || load === null) return;
		const id = nameOf(row);
		const lat_deg = row.optional('lat', 'expected a latitude from −90 to 90 degrees', (v) => Math.abs(v) <= 90);
		const lon_deg = row.optional('lon', 'expected a longitude from −180 to 180 degrees', (v) => Math.abs(v) <= 180);
		const offload: Offload = {
			...notedOf(row, source.name),
			id,
			order: order++,
			time_s: load.time_s,
			weight_kg: load.kg,
			u_kg: Number.NaN,
			scale: orNull(row.text('scale')),
			field: orNull(row.text('field')),
			variety: orNull(row.text('variety')),
			lat_deg,
			lon_deg,
		};
		if (event === 'offload') {
			book.offloads.push(offload);
			return;
		}
		const emptied = yesNo(row.text('emptied'));
		if (emptied === null) faults.cell(row.line, row.name('emptied'), row.text('emptied'), 'expected yes, no or blank');
		const named = combinesOf(row.text('combine'), combines);
		for (const one of named) if (!combines.includes(one)) withoutLog.add(one);
		const dump: Dump = { ...offload, combines: named, emptied: emptied ?? -1, settled: true };
		book.dumps.push(dump);
	};
	const rows = await readTable(source, plan, context, { wanted: CART, check, row });
	const fields = new Map<string, number>();
	for (const { field } of book.dumps) fields.set(field ?? '', (fields.get(field ?? '') ?? 0) + 1);
	const most = Math.max(0, ...fields.values());
	if (most > MOST_DUMPS) {
		faults.whole(
			null,
			null,
			`${most} dumps`,
			`more dumps than one field takes (${MOST_DUMPS}): include only this field's rows, or name the field in each row`,
		);
	}
	sameWeights(book.dumps, source.name, notes);
	netOfReadings(book, source.name, column, notes);
	for (const name of withoutLog) {
		notes.push(caution(`${source.name} names combine ${name}, but there is no log of it here.`));
	}
	return rows;
}

function eventOf(word: string): 'dump' | 'offload' | null {
	const lower = word.toLowerCase();
	return lower === 'dump' || lower === 'offload' ? lower : null;
}
