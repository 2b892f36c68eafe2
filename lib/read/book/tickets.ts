import { caution, type Source, type TablePlan } from '../../model/index.ts';
import { someOf } from '../../units/index.ts';
import { readTable, type TableContext, type TableRow } from '../csv/read-table.ts';
import { text, type Wanted } from '../plan/mapping.ts';
import { type Booking, combinesOf, LOAD_COLUMNS, namesOf, notedOf, weighed } from './load-row.ts';
import { hasWeight, type Weight, weightColumns, weightOf } from './weight.ts';

const TICKETS: readonly Wanted[] = [
	...LOAD_COLUMNS,
	text('ticket'),
	...weightColumns('net'),
	...weightColumns('gross'),
	...weightColumns('tare'),
];

/** A larger difference between the net weight and gross less tare is reported. */
const APART = 0.005;

/** Reads the certified scale's tickets into the load book. */
export async function readTickets(
	source: Source,
	plan: TablePlan,
	context: TableContext,
	{ combines, book, notes }: Booking,
): Promise<number> {
	const { faults } = context;
	const nameOf = namesOf('ticket', 'ticket', source.name, notes);
	const apart: number[] = [];
	const twice: number[] = [];
	/** Lines of the tickets that have a number, by number, weight and truckload. */
	const lines = new Map<string, number>();
	let order = 0;
	const check = (row: TableRow) => {
		const gross = hasWeight(row, 'gross') && hasWeight(row, 'tare');
		const mapped = ['net', 'gross', 'tare'].some((key) => row.columns.mapped(key));
		if (!hasWeight(row, 'net') && !gross && !mapped) row.columns.missing('net_kg (or net_lb, or gross_lb and tare_lb)');
	};
	const row = (row: TableRow) => {
		const net = netOf(row);
		const load = weighed(row, faults, net, 'more than any truck holds');
		if (load === null) return;
		const number = row.text('ticket');
		const same = JSON.stringify([number, load.kg, row.text('truck_load')]);
		const before = lines.get(same);
		if (number !== '' && before !== undefined) {
			faults.unused(row.line, row.name('ticket'), number, `the same ticket is in row ${before}, which counts`);
			twice.push(row.line);
			return;
		}
		lines.set(same, row.line);
		const ticket = nameOf(row);
		book.tickets.push({
			...notedOf(row, source.name),
			ticket,
			order: order++,
			time_s: load.time_s,
			net_kg: load.kg,
			combine: combinesOf(row.text('combine'), combines).join('+') || null,
		});
	};
	const rows = await readTable(source, plan, context, { wanted: TICKETS, check, row });
	if (twice.length > 0) {
		notes.push(
			caution(
				`${source.name}: ${twice.length === 1 ? 'row' : 'rows'} ${someOf(twice)} ${twice.length === 1 ? 'repeats a ticket' : 'repeat tickets'} of the same number and weight. Each ticket counts once.`,
			),
		);
	}
	if (apart.length > 0) {
		notes.push(
			caution(
				`${source.name}: net is not gross less tare in ${apart.length === 1 ? 'row' : 'rows'} ${someOf(apart)}. The net is used: check for a slip, or for shrink taken off.`,
			),
		);
	}
	return rows;

	/**
	 * Net as given, or gross less tare; no number where a text stands in a weight's place or the tare is the heavier one
	 * (both reported here).
	 */
	function netOf(row: TableRow): Weight {
		const net = weightOf(row, 'net', faults);
		const [gross, tare] = [weightOf(row, 'gross', faults), weightOf(row, 'tare', faults)];
		if (net.kg === null || gross.kg === null || tare.kg === null) return { ...net, kg: null };
		const unloaded_kg = gross.kg - tare.kg;
		if (Math.abs(net.kg / unloaded_kg - 1) > APART) apart.push(row.line);
		if (!Number.isNaN(net.kg) || !hasWeight(row, 'gross')) return net;
		const name = row.name(row.has('gross') ? 'gross' : 'gross_lb');
		const found = `${row.text(row.has('gross') ? 'gross' : 'gross_lb')} less ${row.text('tare') || row.text('tare_lb')}`;
		if (unloaded_kg >= 0 || Number.isNaN(unloaded_kg)) return { kg: unloaded_kg, name, found };
		faults.row(row.line, name, found, 'the gross is less than the tare: are the two exchanged?');
		return { kg: null, name, found };
	}
}
