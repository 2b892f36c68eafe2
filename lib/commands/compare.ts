import {
	type ComparedCombine,
	type ComparedRow,
	type Crop,
	formatNumber,
	formatQuantity,
	type Run,
	toShown,
	type UnitSystem,
} from '../index.ts';
import { plain, table } from './terminal.ts';

/** What `compare` prints: what each combine did, then each pair's differences with their intervals. */
export function sideBySide(run: Run, units: UnitSystem): string {
	const { combines, pairs, advice } = run.comparison;
	const { crop } = run.field.plan;
	const parts = [
		plain(run.field.plan.name),
		table(['', ...combines.map((c) => plain(c.name))], did(combines, crop, units)),
	];
	for (const pair of pairs) {
		const [a, b] = [pair.combineA, pair.combineB].map((c) => plain(run.field.records.combines[c] ?? ''));
		parts.push(
			`${a} against ${b}\n${table(
				['', `${a}`, `${b}`, `${a} − ${b}`, '95 %', 'larger than chance?'],
				pair.rows.map((r) => difference(r, crop, units)),
				[1, 2, 3],
			)}`,
		);
		for (const remark of pair.remarks) parts.push(plain(remark));
	}
	if (pairs.length === 0) parts.push('One combine cut here: there is nothing to compare.');
	return [...parts, ...advice.map(plain)].join('\n\n');
}

function did(combines: readonly ComparedCombine[], crop: Crop, units: UnitSystem): string[][] {
	const row = (label: string, show: (c: ComparedCombine) => string) => [label, ...combines.map(show)];
	const share = (seconds: number, c: ComparedCombine) => `${formatNumber((100 * seconds) / c.worked_s, 0)} %`;
	const q = (value: number, what: Parameters<typeof formatQuantity>[1]) => formatQuantity(value, what, units, crop);
	return [
		row('factor', (c) =>
			Number.isFinite(c.factor)
				? `${c.factor.toFixed(4)} [${c.factor_interval[0].toFixed(4)}, ${c.factor_interval[1].toFixed(4)}]`
				: 'none',
		),
		row('lag', (c) => (Number.isFinite(c.lag_s) ? `${c.lag_s.toFixed(1)} ± ${c.u_lag_s.toFixed(1)} s` : 'not found')),
		row('area', (c) => q(c.area_ha, 'area')),
		row('grain, wet', (c) => q(c.mass_kg, 'mass')),
		row('yield, dry', (c) => q(c.yield_kg_ha, 'yield')),
		row('moisture', (c) => q(c.moisture_pct, 'moisture')),
		row('speed', (c) => q(c.speed_m_s, 'speed')),
		row('area an hour', (c) => q(c.area_ha_h, 'area')),
		row('grain an hour', (c) => q(c.mass_t_h / 3.6, 'throughput')),
		row('time in the field', (c) => `${formatNumber(c.worked_s / 3600, 1)} h`),
		row('  cutting', (c) => share(c.time.cutting_s, c)),
		row('  turning', (c) => share(c.time.turning_s, c)),
		row('  dumping', (c) => share(c.time.dumping_s, c)),
		row('  waiting, tank full', (c) => share(c.time.waiting_s, c)),
		row('  standing', (c) => share(c.time.standing_s, c)),
	];
}

function difference(r: ComparedRow, crop: Crop, units: UnitSystem): string[] {
	const { scale, digits, unit } = shownAs(r.unit, crop, units);
	const show = (x: number, signed = false) =>
		Number.isFinite(x) ? `${signed && x > 0 ? '+' : ''}${formatNumber(x * scale, digits)}` : '';
	return [
		unit === '' ? r.label : `${r.label}, ${unit}`,
		show(r.a),
		show(r.b),
		show(r.difference, true),
		r.interval.every(Number.isFinite) ? `${show(r.interval[0], true)} to ${show(r.interval[1], true)}` : '',
		plain(r.verdict),
	];
}

function shownAs(
	unit: ComparedRow['unit'],
	crop: Crop,
	units: UnitSystem,
): { scale: number; digits: number; unit: string } {
	const us = units === 'us';
	switch (unit) {
		case 'kg/ha':
			return { scale: toShown(1, 'yield', units, crop), digits: us ? 1 : 2, unit: us ? 'bu/ac' : 't/ha' };
		case 'ha/h':
			return { scale: toShown(1, 'area', units, crop), digits: 1, unit: us ? 'ac/h' : 'ha/h' };
		case 't/h':
			return { scale: toShown(1 / 3.6, 'throughput', units, crop), digits: us ? 0 : 1, unit: us ? 'bu/h' : 't/h' };
		case 'm/s':
			return { scale: toShown(1, 'speed', units, crop), digits: 2, unit: us ? 'mph' : 'km/h' };
		case '':
			return { scale: 1, digits: 4, unit };
		default:
			return { scale: 1, digits: 1, unit };
	}
}
