import { COSTS } from './costs.ts';
import { levelAt, overflow } from './levels.ts';
import { lnPhi } from './normal.ts';
import type { Ending, Insert, Reading } from './reading.ts';
import { tellingCost } from './repeats.ts';
import { falseRun, range } from './runs.ts';
import type { Scene, Table } from './scene.ts';
import { couldBe, likeliestRun } from './unweighed.ts';

/** What is left after the last dump: grain in the tanks, runs of the auger and tellings that found no place. */
export function finish(scene: Scene, table: Table, reading: Reading): Reading {
	const ended: Reading = { ...reading, endings: [] };
	for (let c = 0; c < scene.flows.length; c++) {
		const f = scene.flows[c]!;
		let { m, v } = levelAt(scene, ended, c, f.total_kg);
		const inserts: Insert[] = [];
		const runs = scene.runs[c] ?? [];
		const left = range(ended.nextRun[c] as number, runs.length);
		for (let p = 0; p < scene.told.length; p++) {
			const told = scene.told[p]!;
			if (ended.told & (scene.facts[p] as number) || (told.combine >= 0 && told.combine !== c) || m < told.kg * 0.9)
				continue;
			if (!couldBe(told, table.offset_s, ended.time_s[c] as number, Number.POSITIVE_INFINITY)) continue;
			const found = likeliestRun(scene, ended, c, told, { free: left, inserts }, table.offset_s);
			const r = found && found.cost < scene.habits.augerMissed ? found.run : -1;
			if (r >= 0) left.splice(left.indexOf(r), 1);
			ended.told |= 1 << p;
			ended.cost +=
				tellingCost(scene, reading, told) + COSTS.unweighedTold + (told.combine < 0 ? Math.log(scene.flows.length) : 0);
			inserts.push({ kind: 'told', told: p, runs: r >= 0 ? [r] : [], rests: false });
			m -= told.kg;
			v += told.variance;
		}
		const some = 0.3 * scene.fill_kg;
		for (const r of left) {
			const run = runs[r]!;
			const held = m - (ended.belief.x[c] as number) * (f.total_kg - run.endMass_kg);
			const unweighed = held > some && run.end_s - run.start_s > 20;
			if (unweighed && COSTS.unweighedSeen < falseRun(scene, c, r, ended.time_s[c] as number) + over(scene, c, m, v)) {
				inserts.push({ kind: 'run', told: -1, runs: [r], rests: false });
				ended.cost += COSTS.unweighedSeen;
				m -= held;
			} else ended.cost += falseRun(scene, c, r, ended.time_s[c] as number);
		}
		const cost = over(scene, c, m, v);
		if (cost > COSTS.unweighed) {
			inserts.push({ kind: 'unknown', told: -1, runs: [], rests: false });
			ended.cost += COSTS.unweighed;
		} else {
			ended.cost += cost;
		}
		ended.endings.push({ combine: c, level_kg: m, inserts } satisfies Ending);
	}
	const facts = new Set<number>();
	const placed = new Set<number>();
	scene.told.forEach((told, p) => {
		for (const fact of told.facts) (ended.told & (1 << p) ? placed : facts).add(fact);
	});
	for (const fact of facts) if (!placed.has(fact)) ended.cost += COSTS.untold;
	return ended;
}

/** Grain that stays in a tank at the log's end: none is usual, less than nothing impossible, more than it holds too. */
function over(scene: Scene, c: number, m: number, v: number): number {
	const stays = m > 0.3 * scene.fill_kg ? COSTS.endsWithGrain : 0;
	return stays + overflow(scene, c, m, v, 0) - lnPhi((m + 100) / Math.sqrt(v + 10_000));
}
