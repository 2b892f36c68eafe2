import { csvRow } from '../../formats/csv-cell.ts';
import type { ComparedCombine, ComparedRow, Crop, Run } from '../../model/index.ts';
import {
	factorRange,
	formatNumber,
	formatQuantity,
	formatSigned,
	toShown,
	type UnitSystem,
} from '../../units/index.ts';

/** A table as text; `right` lists the numeric columns. */
export interface TextTable {
	title: string;
	head: string[];
	rows: string[][];
	right: number[];
	remarks: string[];
}

/** The comparison as tables: each combine's work, then each pair's differences with their intervals. */
export function comparisonTables(run: Run, units: UnitSystem): TextTable[] {
	const { combines, pairs } = run.comparison;
	const { crop } = run.field.plan;
	const name = (c: number) => run.field.records.combines[c] ?? '';
	return [
		{
			title: 'What each did',
			head: ['', ...combines.map((c) => c.name)],
			rows: did(combines, crop, units),
			right: combines.map((_, k) => k + 1),
			remarks: [],
		},
		...pairs.map((pair) => {
			const [a, b] = [name(pair.combineA), name(pair.combineB)];
			return {
				title: `${a} against ${b}`,
				head: ['', a, b, `${a} − ${b}`, '95% interval', 'verdict'],
				rows: pair.rows.map((r) => difference(r, crop, units)),
				right: [1, 2, 3, 4],
				remarks: [
					...pair.remarks,
					'About 1 row in 20 shows a difference by chance alone. Where no difference is shown, one as large as the interval reaches could go unseen.',
				],
			};
		}),
	];
}

/** The pairs' differences as CSV in the library's own units. */
export function comparisonCsv(run: Run): Uint8Array {
	const lines = ['first,second,what,unit,shared_ground,first_value,second_value,difference,low,high,difference_shown'];
	const name = (c: number) => run.field.records.combines[c] ?? '';
	for (const pair of run.comparison.pairs) {
		for (const r of pair.rows) {
			const certain = r.certain === null ? '' : r.certain ? '1' : '0';
			const numbers = [r.a, r.b, r.difference, r.interval[0], r.interval[1]];
			lines.push(
				csvRow([name(pair.combineA), name(pair.combineB), r.what, r.unit, r.shared ? '1' : '0', ...numbers, certain]),
			);
		}
	}
	return new TextEncoder().encode(`${lines.join('\n')}\n`);
}

function did(combines: readonly ComparedCombine[], crop: Crop, units: UnitSystem): string[][] {
	const row = (label: string, show: (c: ComparedCombine) => string) => [label, ...combines.map(show)];
	const share = (seconds: number, c: ComparedCombine) => `${formatNumber((100 * seconds) / c.worked_s, 0)}%`;
	const q = (value: number, what: Parameters<typeof formatQuantity>[1]) => formatQuantity(value, what, units, crop);
	return [
		row('factor', (c) => (Number.isFinite(c.factor) ? formatNumber(c.factor, 3) : 'none')),
		row('  95% interval', (c) => (Number.isFinite(c.factor) ? factorRange(c.factor_interval) : '–')),
		row('delay', (c) => (Number.isFinite(c.lag_s) ? `${formatNumber(c.lag_s, 1)} s` : '–')),
		row('area', (c) => q(c.area_ha, 'area')),
		row('wet weight', (c) => q(c.mass_kg, 'mass')),
		row('dry yield, all its ground', (c) => q(c.yield_kg_ha, 'yield')),
		row('moisture', (c) => q(c.moisture_pct, 'moisture')),
		row('ground speed', (c) => q(c.speed_m_s, 'speed')),
		row('area per hour', (c) => q(c.area_ha_h, 'area')),
		row('wet weight per hour', (c) =>
			units === 'us'
				? `${formatQuantity(1000 * c.mass_t_h, 'mass', units, crop, -2)}/hr`
				: `${formatNumber(c.mass_t_h, 1)} t/h`,
		),
		row('time in the field', (c) => `${formatNumber(c.worked_s / 3600, 1)} h`),
		row('  cutting', (c) => share(c.time.cutting_s, c)),
		row('  turning and driving', (c) => share(c.time.turning_s, c)),
		row('  dumping while not cutting', (c) => share(c.time.dumping_s, c)),
		row('  waiting with a full tank', (c) => share(c.time.waiting_s, c)),
		row('  stopped otherwise', (c) => share(c.time.standing_s, c)),
	];
}

function difference(r: ComparedRow, crop: Crop, units: UnitSystem): string[] {
	const { scale, digits, unit } = shownAs(r, crop, units);
	const show = (x: number, signed = false) =>
		Number.isFinite(x) ? (signed ? formatSigned : formatNumber)(x * scale, digits) : '–';
	return [
		`${r.label}${r.shared && !r.what.startsWith('seam') ? ', same ground' : ''}${unit === '' ? '' : `, ${unit}`}`,
		show(r.a),
		show(r.b),
		show(r.difference, true),
		r.interval.every(Number.isFinite) ? `${show(r.interval[0], true)} to ${show(r.interval[1], true)}` : '–',
		r.verdict,
	];
}

function shownAs(
	{ unit, what }: ComparedRow,
	crop: Crop,
	units: UnitSystem,
): { scale: number; digits: number; unit: string } {
	const us = units === 'us';
	switch (unit) {
		case 'kg/ha':
			if (what === 'scale_weight' && us) {
				return { scale: toShown(1, 'mass', units, crop) / toShown(1, 'area', units, crop), digits: 0, unit: 'lb/ac' };
			}
			return { scale: toShown(1, 'yield', units, crop), digits: us ? 1 : 2, unit: us ? 'bu/ac' : 't/ha' };
		case 'ha/h':
			return { scale: toShown(1, 'area', units, crop), digits: 1, unit: us ? 'ac/hr' : 'ha/h' };
		case 't/h':
			// Wet weight: bushels would be taken for dry ones.
			return { scale: us ? toShown(1000, 'mass', units, crop) : 1, digits: us ? -2 : 1, unit: us ? 'lb/hr' : 't/h' };
		case 'm/s':
			return { scale: toShown(1, 'speed', units, crop), digits: 2, unit: us ? 'mph' : 'km/h' };
		case '':
			return { scale: 1, digits: 3, unit };
		default:
			return { scale: 1, digits: 1, unit };
	}
}
