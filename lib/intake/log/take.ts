/** Assigns columns that are not lengths, times or grain: names, states, headings, moisture, crop, counters. */

import { cellsOf, type RawColumn, type Role } from '../../formats/index.ts';
import type { Crop } from '../../model/index.ts';
import { mode } from '../../stats/group.ts';
import { upperMedian } from '../../stats/median.ts';
import { short } from '../both-units.ts';
import { cropOf } from '../names/crops.ts';
import type { Motion } from './motion.ts';
import { middlePositive, type Taking } from './numbers.ts';
import { statesOf } from './states.ts';

/** Columns that only ever rise are counters: their steps belong to the records. */
export function countersToSteps(taking: Taking, role: 'distance' | 'area', motion: Motion): void {
	for (const { column } of taking.named(role)) {
		const v = column.numbers as Float64Array;
		let up = 0;
		let down = 0;
		for (let i = 0; i < v.length; i++) {
			const step = v[i]! - (v[motion.before[i]!] ?? Number.NaN);
			if (step > 0) up++;
			else if (step < 0) down++;
		}
		if (up < 10 || down > 0.01 * v.length) continue;
		if (up < 0.3 * v.length) {
			taking.note(column, null, 0.9, ['a counter that moves only every few records']);
			continue;
		}
		const steps = v.map((x, i) => {
			const step = x - (v[motion.before[i]!] ?? Number.NaN);
			return step >= 0 ? step : Number.NaN;
		});
		taking.instead(column, { ...column, numbers: steps });
		taking.notes.push(`"${column.name}" counts up: what it grows by is each record’s`);
	}
}

/** Each row's machine by a column with few different names; null without one. */
export function namesOf(taking: Taking): string[] | null {
	const [best] = scored(taking, 'combine', 0.6).filter(({ column }) => few(column));
	if (best === undefined) return null;
	const { column, score } = best;
	const values = cellsOf(column);
	const { size } = new Set(values.filter((v) => v !== ''));
	const holds = `${size} ${size === 1 ? 'name' : 'names'} in it`;
	taking.note(column, 'combine', Math.min(0.99, score), [`the name "${column.name}"`, holds]);
	return values;
}

/** Columns of the table that are not assigned, by how well their names fit a role; the best first. */
const scored = (taking: Taking, role: Role, least: number) =>
	taking.table.columns
		.filter((c) => !taking.used.has(c.name))
		.map((column) => ({ column, score: taking.nameScore(column, role) }))
		.filter((c) => c.score >= least)
		.sort((a, b) => b.score - a.score);

function few(column: RawColumn): boolean {
	const seen = new Set<string | number>();
	for (const v of column.text ?? (column.numbers as Float64Array)) {
		if (v !== '' && !Number.isNaN(v)) seen.add(v);
		if (seen.size > 24) return false;
	}
	return seen.size > 0;
}

export function textOf(taking: Taking, role: 'variety' | 'load' | 'field'): string[] | null {
	const { table, used } = taking;
	for (const column of table.columns) {
		const score = used.has(column.name) ? 0 : taking.nameScore(column, role);
		if (score < 0.7) continue;
		const values = cellsOf(column);
		if (values.every((v) => v === '')) continue;
		// Hundreds of different names are not fields or varieties.
		if (role !== 'load' && new Set(values).size > Math.max(20, Math.min(200, table.n / 50))) continue;
		taking.note(column, role, Math.min(0.99, score), [`the name "${column.name}"`]);
		return values;
	}
	return null;
}

export function takeState(taking: Taking, role: 'header' | 'auger'): Int8Array | null {
	for (const { column, score } of scored(taking, role, 0.6)) {
		const states = statesOf(column);
		if (states === null) continue;
		const sure = column.certain ? 1 : Math.min(0.97, score);
		taking.note(column, role, sure, [`the name "${column.name}"`, 'it holds yes and no']);
		return states;
	}
	return null;
}

export function takeHeading(taking: Taking, motion: Motion): Float64Array | null {
	for (const { column, score } of taking.named('heading', 0.5)) {
		const v = column.numbers as Float64Array;
		const off: number[] = [];
		for (let i = 0; i < v.length; i++) {
			const turn = ((v[i]! - motion.bearing_deg[i]!) * Math.PI) / 180;
			if (motion.step_m[i]! > 0.5 && Number.isFinite(turn))
				off.push(Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn))));
		}
		const middle = (upperMedian(off) * 180) / Math.PI;
		const fits = middle < 15;
		const many = off.length > 50;
		if (!fits && many && score < 1.2) continue;
		const because = [`the name "${column.name}"`];
		if (many) because.push(`it differs from the way between positions by ${middle.toFixed(0)}° in the middle`);
		taking.note(column, 'heading', fits ? 0.98 : 0.6, because, 'deg');
		return v;
	}
	return null;
}

export function takeMoisture(taking: Taking) {
	const found = taking.take(
		'moisture',
		null,
		(m) => (m > 2 && m < 75) || (m > 0.02 && m < 0.75) || (m > 20_000 && m < 750_000),
	);
	if (!found) return null;
	const middle = middlePositive(found.values);
	if (found.column.certain) return found;
	const size = middle < 1 ? 100 : middle > 1000 ? 1e-4 : 1;
	const name = size === 1 ? '%' : size === 100 ? 'fraction' : 'ppm';
	found.reading.unit = name;
	found.reading.sure = Math.max(found.reading.sure, 0.95);
	found.reading.because.push(`its middle is ${short(middle)}`);
	return { ...found, unit: { ...found.unit, name, size } };
}

/** The crop that a column names most often, or else the file. */
export function cropFrom(taking: Taking): { crop: Crop; because: string } | null {
	const { table, used } = taking;
	for (const column of table.columns) {
		if (!column.text || used.has(column.name) || taking.nameScore(column, 'crop') < 0.6) continue;
		const most = mode(column.text.filter((v) => v !== ''));
		const crop = most === undefined ? null : cropOf(most);
		if (crop === null) continue;
		taking.note(column, 'crop', 0.95, [`it says ${most}`]);
		return { crop, because: `"${column.name}" says ${most}` };
	}
	const crop = table.meta.crop === undefined ? null : cropOf(table.meta.crop);
	return crop && { crop, because: `the file says ${table.meta.crop}` };
}
