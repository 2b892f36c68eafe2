import type { Records } from '../model/index.ts';
import { align } from './align.ts';
import type { Reading } from './reading.ts';
import { lookUp, type Scene } from './scene.ts';
import { type Smoothed, smoothRests } from './smooth.ts';
import { type Emptying, emptyings } from './unloadings.ts';

/** Readings kept after each dump in the last rounds. */
const WIDTH = 48;
/** A clock less sure than this is no help in telling which run of the auger a dump is, seconds. */
const VAGUE_S = 120;

/** The best reading at one offset of the clock and what follows from it. */
export interface Solved {
	/** All readings that were kept to the end, cheapest first. */
	all: Reading[];
	reading: Reading;
	list: Emptying[];
	/** Combines that come with grain in the tank. */
	starts: boolean[];
	smooth: Smoothed;
}

export function solve(scene: Scene, records: Records, offset_s: number, clock_s: number): Solved {
	const table = lookUp(scene, offset_s, false);
	const u_s = Number.isFinite(clock_s) ? Math.min(VAGUE_S, clock_s) : 0;
	const all = align(scene, table, { width: WIDTH, whole: true, clock_s: u_s });
	const reading = all[0] as Reading;
	const starts = startsWithGrain(reading);
	const list = emptyings(scene, records, reading);
	const smooth = smoothRests(scene, list, starts);
	dropTrifles(scene, list, smooth);
	return { all, reading, list, starts, smooth };
}

/** A rest smaller than this is what clings to any tank, kg. */
const TRIFLE_KG = 60;

/** Rests that all weights together show to be nothing: unless somebody noted one, the tank was emptied. */
function dropTrifles(scene: Scene, list: readonly Emptying[], smooth: Smoothed): void {
	list.forEach((e, i) => {
		const noted = e.choice ? scene.steps[e.choice.step]!.emptied === 0 : false;
		if (e.rests && e.choice && !noted && (smooth.rest_kg[i] as number) < TRIFLE_KG) e.rests = false;
	});
}

/** Which tanks the reading takes to come with grain. */
function startsWithGrain(reading: Reading): boolean[] {
	let first = reading;
	while (first.parent) first = first.parent;
	const C = first.mass_kg.length;
	return Array.from({ length: C }, (_, c) => (first.belief.x[C + c] as number) > 0);
}
