import proj4 from 'proj4';
import type { Run } from '../../lib/model/index.ts';
import { runField } from '../../lib/pipeline/run.ts';
import { type Sim, type SimOptions, simulate } from './index.ts';
import { type Points, type Scores, score } from './score.ts';

/** The columns of points.csv straight from a run, for scoring many fields without writing them. */
export function pointsOf(run: Run): Points {
	const { records } = run.field;
	const { track, yields } = run;
	const n = records.n;
	const { number, south } = track.zone;
	const projection = proj4(
		`+proj=utm +zone=${number}${south ? ' +south' : ''} +datum=WGS84 +units=m +no_defs`,
		'+proj=longlat +datum=WGS84 +no_defs',
	);
	const points: Points = {
		combine: [],
		lon: new Float64Array(n).fill(Number.NaN),
		lat: new Float64Array(n).fill(Number.NaN),
		flag: [],
		area_m2: track.area_m2,
		moisture_pct: yields.moisture_pct,
		monitor_kg_ha: yields.monitor_kg_ha,
		yield_kg_ha: yields.corrected_kg_ha,
		u_rel: yields.u_rel,
	};
	for (let i = 0; i < n; i++) {
		points.combine.push(records.combines[records.combine[i]!]!);
		points.flag.push(yields.flag[i] === 0 ? '' : String(yields.flag[i]));
		const x = track.cutX_m[i]!;
		if (Number.isNaN(x)) continue;
		const [lon, lat] = projection.forward([x, track.cutY_m[i]!]) as [number, number];
		points.lon[i] = lon;
		points.lat[i] = lat;
	}
	return points;
}

/** Simulates a field, runs it and scores it; `grid: false` where no cell is looked at, which is half the time. */
export async function trial(
	options: SimOptions,
	{ grid = true }: { grid?: boolean } = {},
): Promise<{ sim: Sim; run: Run; scores: Scores }> {
	const sim = simulate(options);
	const run = await runField(sim.folder, { grid });
	return { sim, run, scores: score(sim, run.result, pointsOf(run), grid ? run.surface : null, run.field.book) };
}
