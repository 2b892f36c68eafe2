import { expect, it } from 'vitest';
import { runField } from '../../lib/index.ts';
import { folderOf, simulate } from '../sim/index.ts';
import { Files, SITUATIONS } from '../sim/situations.ts';

it('a load cell lost at noon: every dump is kept, both factors are right, and the scale is named', async () => {
	const situation = SITUATIONS.find((s) => s.name === 'cart loses a load cell at noon, bare')!;
	const sim = simulate({ seed: 308, kind: situation.kind, overrides: (s) => situation.scenario?.(s) });
	const files = new Files(sim.files);
	situation.edit(files, sim);
	const { result } = await runField(folderOf(files.texts));
	expect(result.dumps.every((d) => d.status === 'used' || d.status === 'joined')).toBe(true);
	for (const { name, wet_kg, clean_kg } of sim.truth.combines) {
		const [low, high] = result.combines[name]!.factor!.interval;
		expect(high - low).toBeLessThan(0.03);
		expect(low).toBeLessThan(wet_kg / clean_kg);
		expect(high).toBeGreaterThan(wet_kg / clean_kg);
	}
	const said = result.notes.map((n) => n.text).join(' ');
	expect(said).toMatch(/the cart's scale changed, not the monitors.*Check the load cells/s);
});
