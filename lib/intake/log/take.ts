/** Assigns columns that are not lengths, times or grain: names, states, headings, moisture, crop, counters. */
import type { RawColumn, RawTable } from '../../formats/index.ts';
import type { Crop } from '../../model/index.ts';
import { short } from '../both-units.ts';
import type { ColumnReading } from '../model.ts';
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
			taking.used.add(column.name);
			taking.readings.push({
				column: column.name,
				as: null,
				unit: null,
				sure: 0.9,
				because: ['a counter that moves only every few records'],
			});
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

/** A column with few different names. */
export function namesOf(
	table: RawTable,
	taking: Taking,
	role: 'combine',
	used: Set<string>,
): { values: string[]; reading: ColumnReading } | null {
	let best: { column: RawColumn; score: number } | null = null;
	for (const column of table.columns) {
		if (used.has(column.name)) continue;
		const score = taking.nameScore(column, role);
		if (score >= 0.6 && (best === null || score > best.score) && few(column)) best = { column, score };
	}
	if (best === null) return null;
	const { column, score } = best;
	used.add(column.name);
	const values = column.text ?? Array.from(column.numbers as Float64Array, (x) => (Number.isNaN(x) ? '' : String(x)));
	const distinct = new Set(values.filter((v) => v !== ''));
	return {
		values,
		reading: {
			column: column.name,
			as: role,
			unit: null,
			sure: Math.min(0.99, score),
			because: [`the name "${column.name}"`, `${distinct.size} ${distinct.size === 1 ? 'name' : 'names'} in it`],
		},
	};
}

function few(column: RawColumn): boolean {
	const seen = new Set<string | number>();
	for (const v of column.text ?? (column.numbers as Float64Array)) {
		if (v !== '' && !Number.isNaN(v)) seen.add(v);
		if (seen.size > 24) return false;
	}
	return seen.size > 0;
}

export function textOf(
	table: RawTable,
	taking: Taking,
	role: 'variety' | 'load' | 'field',
	used: Set<string>,
): string[] | null {
	for (const column of table.columns) {
		if (used.has(column.name) || taking.nameScore(column, role) < 0.7) continue;
		const values = column.text ?? Array.from(column.numbers as Float64Array, (x) => (Number.isNaN(x) ? '' : String(x)));
		if (values.every((v) => v === '')) continue;
		// Hundreds of different names are not fields or varieties.
		if (role !== 'load' && new Set(values).size > Math.max(20, Math.min(200, table.n / 50))) continue;
		used.add(column.name);
		taking.readings.push({
			column: column.name,
			as: role,
			unit: null,
			sure: Math.min(0.99, taking.nameScore(column, role)),
			because: [`the name "${column.name}"`],
		});
		return values;
	}
	return null;
}

export function takeState(table: RawTable, taking: Taking, role: 'header' | 'auger'): { states: Int8Array } | null {
	const found = table.columns
		.filter((c) => !taking.used.has(c.name))
		.map((column) => ({ column, score: taking.nameScore(column, role) }))
		.filter((c) => c.score >= 0.6)
		.sort((a, b) => b.score - a.score);
	for (const { column, score } of found) {
		const states = statesOf(column);
		if (states === null) continue;
		taking.used.add(column.name);
		taking.readings.push({
			column: column.name,
			as: role,
			unit: null,
			sure: column.certain ? 1 : Math.min(0.97, score),
			because: [`the name "${column.name}"`, 'it holds yes and no'],
		});
		return { states };
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
		off.sort((a, b) => a - b);
		const middle = ((off[off.length >> 1] ?? Number.NaN) * 180) / Math.PI;
		const fits = middle < 15;
		if (!fits && off.length > 50 && score < 1.2) continue;
		taking.used.add(column.name);
		taking.readings.push({
			column: column.name,
			as: 'heading',
			unit: 'deg',
			sure: fits ? 0.98 : 0.6,
			because: [
				`the name "${column.name}"`,
				...(off.length > 50
					? [`it differs from the way between positions by ${middle.toFixed(0)}° in the middle`]
					: []),
			],
		});
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

export function cropFrom(table: RawTable, taking: Taking, used: Set<string>): { crop: Crop; because: string } | null {
	for (const column of table.columns) {
		if (!column.text || used.has(column.name) || taking.nameScore(column, 'crop') < 0.6) continue;
		const counts = new Map<string, number>();
		for (const v of column.text) if (v !== '') counts.set(v, (counts.get(v) ?? 0) + 1);
		const [most] = [...counts].sort((a, b) => b[1] - a[1]);
		const crop = most ? cropOf(most[0]) : null;
		if (crop && most) {
			used.add(column.name);
			taking.readings.push({
				column: column.name,
				as: 'crop',
				unit: null,
				sure: 0.95,
				because: [`it says ${most[0]}`],
			});
			return { crop, because: `"${column.name}" says ${most[0]}` };
		}
	}
	const crop = table.meta.crop === undefined ? null : cropOf(table.meta.crop);
	return crop && { crop, because: `the file says ${table.meta.crop}` };
}
