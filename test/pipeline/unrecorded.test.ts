import { describe, expect, it } from 'vitest';
import { runField } from '../../lib/pipeline/index.ts';
import { folderOf, simulate } from '../sim/index.ts';
import { Files, type Row } from '../sim/situations.ts';

/** Logs of monitors that write nothing, or no flow, while the header is up, when the grain of a pass's last seconds comes in. */
describe.each<[string, (rows: Row[]) => Row[]]>([
	['no rows', (rows) => rows.filter((row) => row.header_down === '1')],
	['no flow', (rows) => rows.map((row) => (row.header_down === '1' ? row : { ...row, flow_kg_s: '' }))],
])('with %s while the header is up', (_, edit) => {
	it('the factors are those of the whole log, and it is said how much came in meanwhile', async () => {
		const sim = simulate({ seed: 613, kind: 'labeled' });
		const files = new Files(sim.files);
		for (const { name } of sim.truth.combines) files.log(name, edit);
		const { result } = await runField(folderOf(files.texts), { grid: false });
		for (const { name, factor } of sim.truth.combines) {
			const found = result.combines[name]!.factor!;
			expect(Math.abs(found.value / factor - 1)).toBeLessThan(0.006);
		}
		expect(result.notes.map((n) => n.text).join('\n')).toMatch(
			/Combine A: [3-6]\.\d% of its grain came through while its log held nothing/,
		);
	});
});
