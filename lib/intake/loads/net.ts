import { lineOf, type RawColumn, type Role } from '../../formats/index.ts';
import { upperMedian } from '../../stats/median.ts';
import { mass } from '../both-units.ts';
import { nearestUnit } from '../log/fit.ts';
import { statedUnit } from '../log/numbers.ts';
import type { ColumnReading } from '../model.ts';
import { sizeOf, UNITS, type Unit } from '../units.ts';
import type { LoadContext, LoadTable } from './model.ts';
import { weightUnits } from './weight-unit.ts';

/** A larger difference between the net weight and gross less tare is reported. */
const APART = 0.005;
const LISTED = 3;

/** Net weights of a table's rows, kg, NaN if there is none; contradictions are reported. */
export function netWeights(
	out: LoadTable,
	roles: Map<Role, RawColumn>,
	readings: ColumnReading[],
	context: LoadContext,
): Float64Array {
	const size = weightUnits(out, roles, readings, context);
	const net_kg = roles.get('weight')?.numbers?.map((w) => w * size) ?? null;
	const [gross, tare] = [roles.get('gross'), roles.get('tare')];
	if (!gross?.numbers || !tare?.numbers) return net_kg ?? new Float64Array(out.table.n).fill(Number.NaN);
	const g = gross.numbers;
	const t = tare.numbers;
	const apart = g.map((x, i) => x - t[i]!);
	const below = apart.filter((d) => d < 0).length;
	if (below > apart.filter((d) => d > 0).length) {
		out.notes.push(`"${gross.name}" and "${tare.name}" stand in each other’s column and are exchanged`);
		for (let i = 0; i < apart.length; i++) apart[i] = -apart[i]!;
	}
	if (net_kg === null) return apart.map((d) => d * size);
	const own = ownUnit(gross, net_kg, apart);
	if (own !== null) for (const r of readings) if (r.as === 'gross' || r.as === 'tare') r.unit = own.name;
	const unloaded_kg = apart.map((d) => d * (own === null ? size : sizeOf(own, context.crop)));
	contradictions(out, net_kg, unloaded_kg);
	return net_kg.map((w, i) => (Number.isNaN(w) ? unloaded_kg[i]! : w));
}

/**
 * Tickets may give gross and tare in pounds and the net in bushels: the tare's unit is as stated, or the one that fits
 * the net.
 */
function ownUnit(gross: RawColumn, net_kg: Float64Array, apart: Float64Array): Unit | null {
	const stated = statedUnit(gross, 'gross');
	if (stated) return stated.unit;
	const ratio = upperMedian(net_kg.map((w, i) => w / apart[i]!).filter((r) => r > 0));
	const units = (UNITS.gross ?? []).filter((u) => !u.bushel);
	const near = Number.isNaN(ratio) ? null : nearestUnit(ratio, units);
	return near !== null && near.off < 1.05 ? near.unit : null;
}

function contradictions(out: LoadTable, net_kg: Float64Array, unloaded_kg: Float64Array): void {
	const rows: string[] = [];
	net_kg.forEach((net, i) => {
		const unloaded = unloaded_kg[i]!;
		if (!(net > 0 && unloaded > 0) || Math.abs(net / unloaded - 1) <= APART) return;
		rows.push(`row ${lineOf(out.table, i)}: ${mass(net)} against ${mass(unloaded)}`);
	});
	if (rows.length === 0) return;
	const more = rows.length > LISTED ? ` and ${rows.length - LISTED} more` : '';
	out.notes.push(
		`the net weight is not gross less tare (${rows.slice(0, LISTED).join('; ')}${more}): the net is used; check for a slip, or for shrink taken off`,
	);
}
