import { describe, expect, it } from 'vitest';
import { runField } from '../../lib/pipeline/index.ts';
import { folderOf, simulate } from '../sim/index.ts';

/** Logs of monitors that write nothing, or no flow, while the header is up, when the grain of a pass's last seconds comes in. */
describe.each([
	['no rows', (row: string[], down: boolean) => (down ? row : null)],
	['no flow', (row: string[], down: boolean) => (down ? row : row.map((cell, k) => (k === 3 ? '' : cell)))],
])('with %s while the header is up', (_, edit) => {
	it('the factors are those of the whole log, and it is said how much came in meanwhile', async () => {
		const sim = simulate({ seed: 613, kind: 'labeled' });
		const files = new Map(sim.files);
		for (const [name, text] of sim.files) {
			if (!name.startsWith('combine-')) continue;
			const [head, ...rows] = text
				.trimEnd()
				.split('\n')
				.map((line) => line.split(','));
			const down = head!.indexOf('header_down');
			expect(head![3]).toBe('flow_kg_s');
			const lines = rows.map((row) => edit(row, row[down] === '1')).filter((row) => row !== null);
			files.set(name, [head!, ...lines].map((row) => `${row.join(',')}\n`).join(''));
		}
		const { result } = await runField(folderOf(files), { grid: false });
		for (const { name, factor } of sim.truth.combines) {
			const found = result.combines[name]!.factor!;
			expect(Math.abs(found.value / factor - 1)).toBeLessThan(0.006);
		}
		expect(result.notes.map((n) => n.text).join('\n')).toMatch(
			/Combine A: [3-6]\.\d% of its grain came through while its log held nothing/,
		);
	});
});
