// Simulates constant fields with slow errors, rests and bad weights, and prints what each form takes off the misfit of
// left-out blocks by chance: npx tsx test/factor/threshold.ts [fields a size]
import { type Solved, solveWeights } from '../../lib/factor/solve-weights.ts';
import { silent } from '../../lib/model/index.ts';
import { quantile, seeded } from '../../lib/stats/index.ts';
import { make } from './make.ts';

const fields = Number(process.argv[2] ?? 200);
const gains = { searched: [] as number[], noted: [] as number[], drift: [] as number[] };
for (const fills of [5, 6, 7, 8, 10, 12, 16, 24, 40]) {
	const here = { searched: [] as number[], noted: [] as number[], drift: [] as number[] };
	for (let i = 0; i < fields; i++) {
		const random = seeded(1000 * fills + i);
		const slow = 0.004 + 0.007 * random.uniform();
		const made = make({ seed: 7000 * fills + i, combines: ['A'], fills, slow, tau_min: 10 + 30 * random.uniform() });
		const shift = (at: number, kg: number) => {
			const w = made.match.weighings[at];
			if (!w) return;
			w.weight_kg += kg;
			w.reference_kg += kg;
		};
		// Grain that stayed once in half of the fields, a weight read wrong in a quarter.
		if (i % 2 === 0) {
			const at = Math.floor(random.uniform() * (fills - 1));
			const kg = 300 + 500 * Math.abs(random.normal());
			shift(at, -kg);
			shift(at + 1, kg);
		}
		if (i % 4 === 1) shift(Math.floor(random.uniform() * fills), 900 * random.normal());
		const start = made.records.time_s[0]!;
		const end = made.records.time_s[made.records.n - 1]!;
		const time_s = start + (end - start) * (0.2 + 0.6 * random.uniform());
		made.plan.events = [{ time_s, combine: 'A', kind: 'calibrated', note: null }];
		const [{ interpretation }] = solveWeights({ ...made, seams: [], jumps: [] }, silent, new Map()) as [
			Solved,
			...Solved[],
		];
		for (const by of ['searched', 'noted', 'drift'] as const) {
			const gain = interpretation.choices[0]!.gains[by];
			if (gain === undefined) continue;
			here[by].push(gain);
			gains[by].push(gain);
		}
	}
	console.log(`${fills} weights`, told(here));
}
console.log('all', told(gains));

function told(of: typeof gains): string {
	return (['searched', 'noted', 'drift'] as const)
		.map((by) => {
			const sorted = Float64Array.from(of[by]).sort();
			const at = (p: number) => quantile(sorted, p).toFixed(1);
			return `${by}: 95 % ${at(0.95)}, 97.5 % ${at(0.975)}, 99 % ${at(0.99)}`;
		})
		.join('; ');
}
