import { expect, it } from 'vitest';
import { runField } from '../../lib/pipeline/run.ts';
import { folderOf, simulate } from '../sim/index.ts';
import { Files, good, half, isDump } from '../sim/situations.ts';

const sim = simulate({ seed: 9701, overrides: good });
const run = async (change: (files: Files) => void, from = sim) => {
	const files = new Files(from.files);
	change(files);
	const { result } = await runField(folderOf(files.texts), { grid: false });
	return { result, said: result.notes.map((n) => n.text).join('\n') };
};

it('a moisture that no grain has is none: the others’ stands in, and it is said', async () => {
	const { result, said } = await run((files) => {
		files.noTickets();
		files.log('B', (rows) => {
			for (const r of rows) r.moisture_pct = '0';
		});
	});
	expect(Math.abs(result.totals.dry_kg / sim.truth.dry_kg - 1)).toBeLessThan(0.02);
	expect(said).toMatch(/Combine B has no moisture/);
});

it('grain from where the boundary has a hole is weight without area, and that is said', async () => {
	const { result, said } = await run((files) => {
		const boundary = JSON.parse(files.texts.get('boundary.geojson')!);
		const [ring] = boundary.geometry.coordinates as [[number, number][]];
		const middle = (k: 0 | 1) => ring.reduce((sum, p) => sum + p[k], 0) / ring.length;
		const [x, y] = [middle(0), middle(1)];
		const at = (dx: number, dy: number) => [x + 4e-4 * dx, y + 3e-4 * dy];
		boundary.geometry.coordinates.push([at(-1, -1), at(-1, 1), at(1, 1), at(1, -1), at(-1, -1)]);
		files.texts.set('boundary.geojson', JSON.stringify(boundary));
	});
	expect(result.totals.area_ha * 10_000).toBeLessThan(0.985 * sim.truth.area_m2);
	expect(said).toMatch(/[1-5]\.\d% of the grain was cut outside the boundary/);
	expect((await run(() => {})).said).not.toMatch(/outside the boundary/);
});

it('the cart is compared with the tickets by the dumps that are used', async () => {
	const labeled = simulate({ seed: 783, kind: 'labeled', overrides: good });
	const light = (files: Files) =>
		files.cart((rows) => {
			rows.filter(isDump).forEach((r, i) => {
				if (i % 3 === 2) r.weight_kg = String(Math.round(0.9 * Number(r.weight_kg)));
			});
		});
	const { result } = await run(light, labeled);
	const plain = (await run(() => {}, labeled)).result;
	expect(result.dumps.filter((d) => d.status === 'aside').length).toBeGreaterThan(4);
	expect(Math.abs(result.reference.ratio! / plain.reference.ratio! - 1)).toBeLessThan(0.004);
	for (const [name, { factor }] of Object.entries(result.combines))
		expect(Math.abs(factor!.value / plain.combines[name]!.factor!.value - 1)).toBeLessThan(0.01);
});

it('a sensor without flow for an hour: its grain may be missing from the totals, which reach up, and it is said', async () => {
	const { result, said } = await run((files) =>
		files.log('A', (rows) => {
			for (const r of rows.slice(half(rows), half(rows) + 3600)) r.flow_kg_s = '0';
		}),
	);
	expect(said).toMatch(
		/Combine A: on \d\d% of the ground it cut, its log has no flow .* or a flow of 0 for minutes on end/,
	);
	expect(result.totals.corrected_kg!).toBeLessThan(0.95 * sim.truth.wet_kg);
	expect(result.totals.corrected_interval![1]).toBeGreaterThan(sim.truth.wet_kg);
});
