import type { Source, TablePlan, WeightTrace } from '../../model/index.ts';
import { readTable, type TableContext, type TableRow } from '../csv/read-table.ts';
import { yesNo } from '../log/yesno.ts';
import { text, type Wanted } from '../plan/mapping.ts';
import { MOST_KG, needed, weightColumns, weightOf } from './weight.ts';

const TRACE: readonly Wanted[] = [
	{ key: 'time', name: 'time', kind: 'time', unit: 's' },
	...weightColumns('weight'),
	text('moving'),
];

/** Reads a cart indicator's weight over time. Weights may be negative: a scale drifts around its zero. */
export async function readTrace(
	source: Source,
	plan: TablePlan,
	context: TableContext,
): Promise<{ rows: number; trace: WeightTrace }> {
	const { faults } = context;
	const line: number[] = [];
	const time: number[] = [];
	const weights: number[] = [];
	const moving: number[] = [];
	const check = (row: TableRow) => needed(row, 'weight', ['time']);
	const row = (row: TableRow) => {
		const weight = weightOf(row, 'weight', faults);
		if (Math.abs(weight.kg ?? 0) > MOST_KG) {
			faults.row(row.line, weight.name, weight.found, 'more than any cart holds');
			return;
		}
		const time_s = row.time();
		if (time_s !== null && Number.isNaN(time_s)) {
			faults.row(row.line, row.name('time'), '', 'a weight in a trace needs its time');
		}
		const moves = yesNo(row.text('moving'));
		if (moves === null) faults.cell(row.line, row.name('moving'), row.text('moving'), 'expected 1, 0 or blank');
		if (weight.kg === null || time_s === null || Number.isNaN(time_s)) return;
		line.push(row.line);
		time.push(time_s);
		weights.push(weight.kg);
		moving.push(moves ?? -1);
	};
	const rows = await readTable(source, plan, context, { wanted: TRACE, check, row });
	return {
		rows,
		trace: {
			file: source.name,
			n: line.length,
			line: Uint32Array.from(line),
			time_s: Float64Array.from(time),
			weight_kg: Float64Array.from(weights),
			moving: Int8Array.from(moving),
		},
	};
}
