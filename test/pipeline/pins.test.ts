import { describe, expect, it } from 'vitest';
import { type Field, openField, type Pins, type Run, Stages, solveField } from '../../lib/index.ts';
import { alike } from '../../lib/pipeline/stages.ts';
import { pointsCsv, resultJson } from '../../lib/write/index.ts';
import { littleField } from '../commands/little.ts';
import { folderOf, SMALL, simulate } from '../sim/index.ts';

/** Everything that a run is told by: its two main files as text, and the grid. */
function told(run: Run): string {
	const text = (chunks: Iterable<Uint8Array>) => [...chunks].map((c) => Buffer.from(c).toString()).join('');
	const { yield_kg_ha, se_kg_ha, monitor_kg_ha } = run.surface;
	const grid = [yield_kg_ha, se_kg_ha, monitor_kg_ha].map((g) => Buffer.from(g.buffer).toString('base64'));
	return [text(resultJson(run.result)), text(pointsCsv(run)), ...grid, JSON.stringify(run.seams.jumps)].join('\n');
}

const withEdits = (field: Field, pins: Pins, flags: Record<string, number>): Field => ({
	...field,
	plan: { ...field.plan, pins, flags: { ...field.plan.flags, ...flags } },
});

describe('a run taken up again', () => {
	it('is the same as a fresh one, whatever was pinned before', async () => {
		const field = await openField(folderOf(new Map(Object.entries(littleField()))));
		const stages = new Stages();
		const steps: [Pins, Record<string, number>][] = [
			[{}, {}],
			[{ dumps: { D2: { status: 'aside' } } }, {}],
			[{ factors: { A: { value: 0.97 } } }, { lone: 2 }],
			[{ clock_offset_s: 60, lags: { A: 9 } }, { narrow: 2 }],
			[{}, {}],
		];
		for (const [pins, flags] of steps) {
			const edited = withEdits(field, pins, flags);
			expect(told(solveField(edited, undefined, { stages }))).toBe(told(solveField(edited)));
		}
	});

	it('makes only what a pin touches: a factor leaves ground, match, neighbors and weights as they are, the clock its search', async () => {
		const field = await openField(simulate({ seed: 11, kind: 'labeled', overrides: SMALL }).folder);
		const made: string[] = [];
		class Listening extends Stages {
			override stage<T>(name: string, read: readonly unknown[], make: () => T): T {
				return super.stage(name, read, () => {
					made.push(name);
					return make();
				});
			}
		}
		const stages = new Listening();
		solveField(field, undefined, { stages });
		made.length = 0;
		const pinned = withEdits(field, { factors: { A: { value: 0.96 } } }, {});
		const again = solveField(pinned, undefined, { stages });
		expect(made).toEqual([
			'factors',
			'match, factors in',
			'factor parts',
			'yields',
			'seam jumps, factors in',
			'comparison',
			'surface',
		]);
		expect(told(again)).toBe(told(solveField(pinned)));
		made.length = 0;
		solveField(withEdits(field, { clock_offset_s: 60 }, {}), undefined, { stages });
		expect(made).toContain('match');
		expect(made.filter((name) => name.startsWith('clock'))).toEqual([]);
	});
});

describe('alike', () => {
	it('goes by content', () => {
		expect(alike([{ a: Float64Array.of(1, Number.NaN) }], [{ a: Float64Array.of(1, Number.NaN) }])).toBe(true);
		expect(alike(new Map([['a', [1]]]), new Map([['a', [1]]]))).toBe(true);
		expect(alike({ a: undefined }, {})).toBe(false);
		expect(alike([1], [1, 2])).toBe(false);
		expect(alike(Float64Array.of(1), Float32Array.of(1))).toBe(false);
		expect(alike({ a: 1 }, { a: 2 })).toBe(false);
		expect(alike(null, {})).toBe(false);
		const same = () => 1;
		expect(alike({ same }, { same })).toBe(true);
		expect(alike({ same }, { same: () => 1 })).toBe(false);
	});
});
