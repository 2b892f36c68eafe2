import { lineOf, type RawTable } from '../../formats/index.ts';
import type { SetAside } from '../../model/index.ts';
import type { ColumnReading, LogRows } from '../model.ts';
import { middlePositive } from '../units/fit.ts';
import { area, mass } from '../units/in-words.ts';
import type { Motion } from './follow-rows.ts';

/** Checks after a log is read: rows that are not records, its own counters, earlier processing. */

/** Rows with an impossible cell are not records, and are listed. */
export function dropFaulty(
	log: LogRows,
	used: Set<string>,
	bad: { row: number; column: string; found: string; why: string }[],
): SetAside[] {
	const { table } = log;
	const out: SetAside[] = [];
	const drop = (row: number, column: string, found: string, why: string) => {
		if (log.keep[row] === 0) return;
		log.keep[row] = 0;
		out.push({ file: table.file, row: lineOf(table, row), column, found, why });
	};
	for (const b of bad) drop(b.row, b.column, b.found, b.why);
	for (const column of table.columns) {
		if (!used.has(column.name)) continue;
		for (const odd of column.odd ?? []) drop(odd.row, column.name, odd.found, 'expected a number');
	}
	for (let i = 0; i < log.n; i++) {
		if (log.interval_s[i]! < 0) drop(i, 'interval', String(log.interval_s[i]), 'an interval cannot be below 0');
		else if (log.swath_m[i]! < 0) drop(i, 'swath', String(log.swath_m[i]), 'a width cannot be below 0');
	}
	return out;
}

/** The file's own counters, compared with the sums of its records. */
export function checkTotals(
	table: RawTable,
	cut: { flow_kg_s: Float64Array; interval_s: Float64Array; area_m2: Float64Array; header: Int8Array | null },
): string[] {
	let kg = 0;
	let m2 = 0;
	for (let i = 0; i < cut.flow_kg_s.length; i++) {
		const grain_kg = cut.flow_kg_s[i]! * cut.interval_s[i]!;
		if (Number.isFinite(grain_kg)) kg += grain_kg;
		if (grain_kg > 0 && cut.header?.[i] !== 0) m2 += cut.area_m2[i] || 0;
	}
	const compared = (what: string, sum: number, own: number | undefined, show: (x: number) => string) => {
		if (!(own !== undefined && own > 0)) return [];
		const off = 100 * (sum / own - 1);
		return [
			`the file’s own counter of ${what} ends at ${show(own)}, its records add up to ${show(sum)} (${off > 0 ? '+' : ''}${off.toFixed(1)}%)`,
		];
	};
	return [...compared('mass', kg, table.totals?.wet_kg, mass), ...compared('area', m2, table.totals?.area_m2, area)];
}

/** Earlier processing of the file, as far as its values show it. */
export function processing(
	flow: Float64Array,
	header: Int8Array | null,
	motion: Motion,
	machine: Int32Array,
): string[] {
	let still = 0;
	let gaps = 0;
	let rows = 0;
	const usual = middlePositive(motion.step_m);
	const notes: string[] = [];
	for (let i = 0; i < flow.length; i++) {
		if (machine[i]! < 0) continue;
		rows++;
		if (flow[i] === 0 || header?.[i] === 0) still++;
		if (motion.step_m[i]! > 6 * usual) gaps++;
	}
	if (rows > 500 && still < 0.001 * rows && gaps > 3) {
		notes.push('records with the header up are left out of this file: what was recorded there does not show');
	}
	if (stepCorrelation(flow) > 0.55) {
		notes.push(
			'its flow is smoother than a sensor’s own readings: it was smoothed before, and a factor corrects this file, not the machine’s own reading',
		);
	}
	return notes;
}

/**
 * Correlation of neighboring steps of a series: negative with a sensor's own noise, clearly positive for a moving mean
 * of several records.
 */
function stepCorrelation(v: Float64Array): number {
	let xy = 0;
	let xx = 0;
	for (let i = 2; i < v.length; i++) {
		const a = v[i - 1]! - v[i - 2]!;
		const b = v[i]! - v[i - 1]!;
		if (!Number.isFinite(a + b) || !(v[i]! > 0 && v[i - 1]! > 0 && v[i - 2]! > 0)) continue;
		xy += a * b;
		xx += a * a;
	}
	return xx > 0 ? xy / xx : 0;
}

/** Every column of the table, including those that are not used. */
export function everyColumn(table: RawTable, readings: readonly ColumnReading[]): ColumnReading[] {
	const known = new Set(readings.map((r) => r.column));
	const rest = table.columns.map((c) => c.name).filter((name) => !known.has(name));
	const because = ['not needed, or not known'];
	return [...readings, ...rest.map((column) => ({ column, as: null, unit: null, sure: 0, because }))];
}
