import { lineOf, type RawColumn, type Role } from '../../formats/index.ts';
import { upperMedian } from '../../stats/median.ts';
import { sizeOf, someOf, type Unit } from '../../units/index.ts';
import { type ColumnReading, question } from '../model.ts';
import { middlePositive, nearestUnit } from '../units/fit.ts';
import { mass } from '../units/in-words.ts';
import { statedUnit, UNITS } from '../units/units.ts';
import type { LoadContext, LoadTable } from './load-table.ts';

/** Kilograms per unit of the weights: as stated, or the unit whose total matches the logs, or by custom. */
export function weightUnits(
	out: LoadTable,
	roles: Map<Role, RawColumn>,
	readings: ColumnReading[],
	context: LoadContext,
): number {
	const column = (roles.get('weight') ?? roles.get('gross')) as RawColumn;
	const role = roles.has('weight') ? 'weight' : 'gross';
	const units = UNITS.weight!;
	const choose = (unit: Unit, sure: number, why: string) => {
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
	if (answered) return choose(answered, 1, 'unit as answered');
	const of = (name: string) => units.find((u) => u.name === name)!;
	/** Short or metric: a tenth apart, which no monitor is accurate enough to distinguish. */
	const tons = (why: string) => {
		const us = context.system === 'us';
		out.questions.push(
			question(out.table.file, {
				about: `unit of ${column.name}`,
				text: `Are the weights in "${column.name}" short tons (2,000 lb each) or metric tons (2,205 lb)? The two differ by 10%.`,
				choices: ['ton', 't'],
				blocking: context.system === null,
				taken: us ? 'ton' : 't',
			}),
		);
		return choose(
			of(us ? 'ton' : 't'),
			0.8,
			`${why}: ${us ? 'short' : 'metric'} tons, as is usual with the logs’ units`,
		);
	};
	const stated = statedUnit(column, role);
	if (stated?.unit.name === 'ton' && !/short|us/i.test(column.name)) return tons('it says tons');
	if (stated) return choose(stated.unit, stated.sure, `it says ${stated.unit.name}`);
	const values = column.numbers!.filter((v) => v > 0);
	const middle = upperMedian(values);
	if (middle < 60 && context.system !== 'metric') return tons(`its median is ${middle}`);
	if (middle < 60) return choose(of('t'), 0.9, `its median is ${middle}: metric tons`);
	const sum = roles.get('event') ? Number.NaN : values.reduce((a, b) => a + b, 0);
	const share = (unit: Unit) => (sum * unit.size) / context.logs_kg;
	const fits = (unit: Unit) => share(unit) > 0.7 && share(unit) < 1.3;
	for (const [one, other] of [
		['lb', 'kg'],
		['kg', 'lb'],
	] as const) {
		if (fits(of(one)) && !fits(of(other))) return choose(of(one), 0.9, 'their sum agrees with the logs’ mass');
	}
	if (context.custom !== null)
		return choose(of(context.custom), 0.9, `other weights of the drop are in ${context.custom}`);
	// No truck weighs 70 t, and no truckload 50 t.
	const heavy = roles.has('gross')
		? middlePositive((roles.get('gross') as RawColumn).numbers!) > 70_000
		: out.use === 'tickets' && middle > 50_000;
	if (heavy) return choose(of('lb'), 0.95, 'in kilograms it would be more than a truck carries');
	const guess = context.system === 'metric' ? 'kg' : 'lb';
	const sure = context.system === null ? 0.5 : 0.85;
	out.questions.push(
		question(out.table.file, {
			about: `unit of ${column.name}`,
			text: `Which unit do the weights in "${column.name}" have? Their median is ${middle}.`,
			choices: ['lb', 'kg', 't', 'ton', 'cwt', 'bu'],
			blocking: true,
			taken: guess,
		}),
	);
	return choose(of(guess), sure, `taken as ${guess}, as is usual with the logs’ units`);
}

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
		out.notes.push(`"${gross.name}" and "${tare.name}" are in each other’s columns and are exchanged`);
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
	out.notes.push(
		`the net weight is not gross less tare (${someOf(rows, LISTED, '; ')}): the net is used; check for a slip, or for shrink taken off`,
	);
}
