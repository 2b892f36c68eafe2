import type { Source, TablePlan } from '../../model/index.ts';
import { readTable, type TableContext, type TableRow } from '../csv/table.ts';
import { text, type Wanted } from '../plan/mapping.ts';
import { type Booking, combinesOf, type Found, LOAD_COLUMNS, namesOf, notedOf, weighed } from './load-row.ts';
import { hasWeight, weightColumns, weightName, weightOf } from './weight.ts';

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
	let order = 0;
	const check = (row: TableRow) => {
		const gross = hasWeight(row, 'gross') && hasWeight(row, 'tare');
		const mapped = ['net', 'gross', 'tare'].some((key) => row.columns.mapped(key));
		if (!hasWeight(row, 'net') && !gross && !mapped) row.columns.missing('net_kg (or net_lb, or gross_lb and tare_lb)');
	};
	const row = (row: TableRow) => {
		const net = netOf(row);
		if (net === 'exchanged') return;
		const load = weighed(row, faults, net, 'no truck holds so much');
		if (load === null) return;
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
	if (apart.length > 0) {
		notes.push({
			level: 'caution',
			text: `${source.name}: net is not gross less tare in ${apart.length === 1 ? 'row' : 'rows'} ${apart.slice(0, 5).join(', ')}${apart.length > 5 ? ` and ${apart.length - 5} more` : ''}. The net is used: check for a slip, or for shrink taken off.`,
		});
	}
	return rows;

	/**
	 * Net as given, or gross less tare; null where there is a text in a weight's place, `exchanged` where the tare is the
	 * heavier one (both reported here).
	 */
	function netOf(row: TableRow): Found | null | 'exchanged' {
		const given: Record<string, number> = {};
		let text = false;
		let key = 'net';
		for (const stem of ['net', 'gross', 'tare']) {
			const weight = weightOf(row, stem);
			if (weight.kg === null) {
				faults.row(row.line, weightName(row, weight.key, stem), row.text(weight.key), 'expected a number');
				text = true;
			}
			if (stem === 'net') key = weight.key;
			given[stem] = weight.kg ?? Number.NaN;
		}
		if (text) return null;
		const { net = Number.NaN, gross = Number.NaN, tare = Number.NaN } = given;
		if (Math.abs(net / (gross - tare) - 1) > APART) apart.push(row.line);
		if (!Number.isNaN(net)) return { kg: net, name: weightName(row, key, 'net'), found: row.text(key) };
		if (!hasWeight(row, 'gross')) return { kg: Number.NaN, name: weightName(row, key, 'net'), found: '' };
		const grossKey = row.has('gross') ? 'gross' : 'gross_lb';
		const found = `${row.text(grossKey)} less ${row.text('tare') || row.text('tare_lb')}`;
		if (tare > gross) {
			faults.row(row.line, row.name(grossKey), found, 'the gross is less than the tare: are the two exchanged?');
			return 'exchanged';
		}
		return { kg: gross - tare, name: row.name(grossKey), found };
	}
}
