/** Columns known by their names and the look of their values: names, states, headings, moisture, crop, counters. */
import { cellsOf, type RawColumn } from '../../formats/index.ts';
import { type Crop, remembered } from '../../model/index.ts';
import { mode } from '../../stats/group.ts';
import { upperMedian } from '../../stats/median.ts';
import { cropOf } from '../names/crop-names.ts';
import { middlePositive } from '../units/fit.ts';
import { short } from '../units/in-words.ts';
import { type Columns, inOwnUnit } from './column-roles.ts';
import type { Motion } from './follow-rows.ts';

/** Columns that only ever rise are counters: their steps belong to the records. */
export function countersToSteps(columns: Columns, role: 'distance' | 'area', motion: Motion): void {
	for (const { column } of columns.numbersByName(role)) {
		const v = column.numbers;
		let up = 0;
		let down = 0;
		for (let i = 0; i < v.length; i++) {
			const step = v[i]! - (v[motion.before[i]!] ?? Number.NaN);
			if (step > 0) up++;
			else if (step < 0) down++;
		}
		if (up < 10 || down > 0.01 * v.length) continue;
		if (up < 0.3 * v.length) {
			columns.assign(column, null, 0.9, ['a counter that moves only every few records']);
			continue;
		}
		const steps = v.map((x, i) => {
			const step = x - (v[motion.before[i]!] ?? Number.NaN);
			return step >= 0 ? step : Number.NaN;
		});
		columns.replace(column, { ...column, numbers: steps });
		columns.notes.push(`"${column.name}" counts up: what it grows by is each record’s`);
	}
}

/** Each row's machine by a column with few different names; null without one. */
export function findNames(columns: Columns): string[] | null {
	const [best] = columns.byName('combine', 0.6).filter(({ column }) => few(column));
	if (best === undefined) return null;
	const { column, score } = best;
	const values = cellsOf(column);
	const { size } = new Set(values.filter((v) => v !== ''));
	const holds = `${size} ${size === 1 ? 'name' : 'names'} in it`;
	columns.assign(column, 'combine', Math.min(0.99, score), [`the name "${column.name}"`, holds]);
	return values;
}

function few(column: RawColumn): boolean {
	const seen = new Set<string | number>();
	for (const v of column.text ?? column.numbers!) {
		if (v !== '' && !Number.isNaN(v)) seen.add(v);
		if (seen.size > 24) return false;
	}
	return seen.size > 0;
}

/** Each row's text in the first column that is named so; null without one. */
export function findText(columns: Columns, role: 'variety' | 'load' | 'field'): string[] | null {
	const { table, used } = columns;
	for (const column of table.columns) {
		const score = used.has(column.name) ? 0 : columns.nameScore(column, role);
		if (score < 0.7) continue;
		const values = cellsOf(column);
		if (values.every((v) => v === '')) continue;
		// Hundreds of different names are not fields or varieties.
		if (role !== 'load' && new Set(values).size > Math.max(20, Math.min(200, table.n / 50))) continue;
		columns.assign(column, role, Math.min(0.99, score), [`the name "${column.name}"`]);
		return values;
	}
	return null;
}

/** Each row's yes or no by a column that is named so; null without one. */
export function findState(columns: Columns, role: 'header' | 'auger'): Int8Array | null {
	for (const { column, score } of columns.byName(role, 0.6)) {
		const states = statesOf(column);
		if (states === null) continue;
		const sure = column.certain ? 1 : Math.min(0.97, score);
		columns.assign(column, role, sure, [`the name "${column.name}"`, 'it holds yes and no']);
		return states;
	}
	return null;
}

/** Headings in degrees that agree with the way between positions; null without a column of them. */
export function findHeading(columns: Columns, motion: Motion): Float64Array | null {
	for (const { column, score } of columns.numbersByName('heading', 0.5)) {
		const v = column.numbers;
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
		if (many) because.push(`its median difference from the direction between positions is ${middle.toFixed(0)}°`);
		columns.assign(column, 'heading', fits ? 0.98 : 0.6, because, 'deg');
		return v;
	}
	return null;
}

/** Moistures in percent; null without a column of them. */
export function findMoisture(columns: Columns): Float64Array | null {
	const found = columns.find(
		'moisture',
		null,
		(m) => (m > 2 && m < 75) || (m > 0.02 && m < 0.75) || (m > 20_000 && m < 750_000),
	);
	if (!found) return null;
	const { column, reading } = found;
	if (column.certain) return inOwnUnit(found);
	const middle = middlePositive(column.numbers);
	const [unit, size] = middle < 1 ? ['fraction', 100] : middle > 1000 ? ['ppm', 1e-4] : ['%', 1];
	reading.unit = unit;
	reading.sure = Math.max(reading.sure, 0.95);
	reading.because.push(`its median is ${short(middle)}`);
	return column.numbers.map((v) => v * size);
}

/** The crop that a column names most often, or else the file. */
export function findCrop(columns: Columns): { crop: Crop; because: string } | null {
	const { table, used } = columns;
	for (const column of table.columns) {
		if (!column.text || used.has(column.name) || columns.nameScore(column, 'crop') < 0.6) continue;
		const most = mode(column.text.filter((v) => v !== ''));
		const crop = most === undefined ? null : cropOf(most);
		if (crop === null) continue;
		columns.assign(column, 'crop', 0.95, [`it says ${most}`]);
		return { crop, because: `"${column.name}" says ${most}` };
	}
	const crop = table.meta.crop === undefined ? null : cropOf(table.meta.crop);
	return crop && { crop, because: `the file says ${table.meta.crop}` };
}

const YES = /^(1|yes|y|true|on|down|in|engaged|working|work|recording|active|lowered|ab|unten|ein|ja|enabled|si|oui)$/i;
const NO =
	/^(0|no|n|false|off|up|out|disengaged|not working|idle|inactive|raised|lifted|hoch|oben|aus|nein|disabled|non)$/i;

/** Yes and no of a column as 1, 0 and −1 (blank); null if it has other values. */
export function statesOf(column: RawColumn): Int8Array | null {
	if (column.numbers) {
		const v = column.numbers;
		if (!v.every((x) => Number.isNaN(x) || x === 0 || x === 1)) return null;
		return Int8Array.from(v, (x) => (Number.isNaN(x) ? -1 : x));
	}
	const text = column.text!;
	const known = new Map<string, number>();
	const out = new Int8Array(text.length);
	for (let i = 0; i < text.length; i++) {
		const cell = text[i]!;
		const value = remembered(known, cell, () => (cell === '' ? -1 : YES.test(cell) ? 1 : NO.test(cell) ? 0 : 2));
		if (value === 2) return null;
		out[i] = value;
	}
	return out;
}
