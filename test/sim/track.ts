// How well the tracks alone are found, without weights: npx tsx test/sim/track.ts [kind,kind] [seeds: 1-6]
import { accountMass } from '../../lib/account/index.ts';
import { silent } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { trackField } from '../../lib/track/index.ts';
import { type Kind, simulate } from './index.ts';

const [kindWord = 'labeled,antenna,shifted,receivers,hz5,slow-log,dirty', seedWord = '301-306'] = process.argv.slice(2);
const [from, to] = seedWord.split('-').map(Number);
const middle = (v: number[]) => v.slice().sort((a, b) => a - b)[v.length >> 1] ?? Number.NaN;

console.log('kind            lags  median s  worst s  within 2 u  2 u median  area worst %  kept min %  s each');
for (const kind of kindWord.split(',') as Kind[]) {
	const errors: number[] = [];
	const widths: number[] = [];
	const areas: number[] = [];
	const kept: number[] = [];
	let inside = 0;
	let spent = 0;
	for (let seed = from!; seed <= (to ?? from)!; seed++) {
		const sim = simulate({ seed, kind });
		const { plan, records, boundary, varieties } = await readField(sim.folder);
		const account = accountMass(records);
		const start = performance.now();
		const track = trackField({ records, plan, boundary, varieties, account }, silent);
		spent += performance.now() - start;
		for (const lag of track.lags) {
			const truth = sim.truth.combines.find((c) => c.name === records.combines[lag.combine]);
			if (!truth) continue;
			const error = Math.abs(lag.lag_s - truth.effectiveLag_s);
			errors.push(error);
			widths.push(2 * lag.u_s);
			if (error <= 2 * lag.u_s) inside++;
		}
		areas.push(Math.abs(100 * (track.areas.cut_m2 / sim.truth.area_m2 - 1)));
		let area = 0;
		let good = 0;
		for (let i = 0; i < records.n; i++) {
			const a = track.area_m2[i]!;
			if (!(a > 0)) continue;
			area += a;
			if (track.flag[i] === 0) good += a;
		}
		kept.push((100 * good) / area);
	}
	const n = errors.length;
	console.log(
		[
			kind.padEnd(15),
			String(n).padStart(4),
			middle(errors).toFixed(3).padStart(9),
			Math.max(...errors)
				.toFixed(2)
				.padStart(8),
			`${inside}/${n}`.padStart(11),
			middle(widths).toFixed(2).padStart(11),
			Math.max(...areas)
				.toFixed(2)
				.padStart(13),
			Math.min(...kept)
				.toFixed(1)
				.padStart(11),
			(spent / kept.length / 1000).toFixed(2).padStart(7),
		].join(' '),
	);
}
