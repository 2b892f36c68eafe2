import { describe, expect, it } from 'vitest';
import { type Column, interval, lat, length, lon, moisture, time, write } from './dialect.ts';
import { cut } from './field.ts';
import { intakeOf } from './read.ts';

const POUND_KG = 0.45359237;
/** A flow in lb/s under a name that may be the grain of each record as well, every 3 s. */
const columns: Column[] = [
	...time.iso(),
	lat(),
	lon(),
	{ name: 'mass', cell: (row) => row.flow / POUND_KG },
	interval('seconds'),
	length.ft('dist_ft', 'distance'),
	length.ft('swath_ft', 'swath'),
	moisture('moisture_pct'),
];
const rows = cut({ seed: 5, interval: 3, yield: 10_500 });
const read = (name: string, crop?: string) => {
	const done = intakeOf({ [name]: write(rows, columns) }, crop === undefined ? {} : { crop });
	const column = done.report.sources[0]?.columns.find((c) => c.column === 'mass');
	const asked = done.report.fields[0]?.questions.find((q) => q.about === 'unit of mass');
	return { as: `${column?.as} ${column?.unit}`, blocking: asked?.blocking, text: asked?.text ?? '' };
};

describe('a column that the crop’s usual yield alone decides', () => {
	it('is worth a look', () => {
		expect(read('export.csv', 'corn')).toMatchObject({ as: 'flow lb/s', blocking: false });
	});

	it('is asked about where the file names another crop than the call', () => {
		const asked = read('corn 2026.csv', 'soybeans');
		expect(asked.blocking).toBe(true);
		expect(asked.text).toMatch(/what soybeans usually yields decides it, and the file names corn/i);
	});
});
