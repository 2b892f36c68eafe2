import { COSTS, USUAL } from './costs.ts';
import { flowNoise, levelAt, overflow } from './levels.ts';
import { lnPhi, normalCost, restCost } from './normal.ts';
import type { Insert, Place, Reading } from './reading.ts';
import { tellingCost } from './repeats.ts';
import { falseRun, falseRuns } from './runs.ts';
import type { Scene, Table } from './scene.ts';
import type { Step } from './steps.ts';
import type { Told } from './told.ts';

/** Gone at a moment which nothing tells, and of a weight that nothing tells. */
export const UNKNOWN: Insert = { kind: 'unknown', told: -1, runs: [], rests: false };

/** Tank c just before the dump, what left it unweighed taken out, and what that costs. */
export interface Before {
	m: number;
	v: number;
	cost: number;
	inserts: Insert[];
	/** Tellings taken up. */
	told: number;
	/** Runs of the auger that nothing stands for yet. */
	free: number[];
}

/**
 * What may have left tank c since its previous unloading without a row: as the cart's level or a ticket tells (the
 * weight is known, the moment hardly matters), by a run of the auger (the moment is known, the weight is not), or
 * both, one after the other.
 */
export function unweighed(
	scene: Scene,
	table: Table,
	step: Step,
	c: number,
	place: Place,
	m: number,
	v: number,
	reading: Reading,
): Before[] {
	const carried: Before = { m, v, cost: 0, inserts: [], told: reading.told, free: place.skipped };
	const context = { scene, table, c, place, reading };
	const once = takeTold(context, carried, -1);
	// Two in a row need the grain of both.
	const twice = once.flatMap((b) => (b.m > 0.3 * step.kg ? takeTold(context, b, last(b)) : []));
	const resets = [carried, ...once].flatMap((b) => runOut(context, b));
	const after = resets.flatMap((b) => (b.m > 1.2 * step.kg ? takeTold(context, b, -1) : []));
	return [...once, ...twice, ...resets, ...after].map((b) => ({
		...b,
		cost: b.cost + falseRuns(scene, c, b.free, place.end_s) + overflow(scene, c, b.m, b.v, step.kg),
	}));
}

interface Context {
	scene: Scene;
	table: Table;
	c: number;
	place: Place;
	reading: Reading;
}

const last = (b: Before): number => b.inserts[b.inserts.length - 1]?.told ?? -1;

/** One telling taken up, of those after `from`; by a run of the auger, or by none. */
function takeTold({ scene, table, c, place, reading }: Context, b: Before, from: number): Before[] {
	const list: Before[] = [];
	const signal = scene.runs[c] !== null;
	for (let p = from + 1; p < scene.told.length; p++) {
		if (b.told & (scene.facts[p] as number)) continue;
		const told = scene.told[p]!;
		if (told.combine >= 0 && told.combine !== c) continue;
		if (b.m < told.kg * 0.9) continue;
		if (!couldBe(told, table.offset_s, reading.time_s[c] as number, place.end_s)) continue;
		const small = told.kg < 0.4 * scene.fill_kg ? COSTS.smallUnloading : 0;
		const which = told.combine < 0 ? Math.log(scene.flows.length) : 0;
		const cost = b.cost + small + which + COSTS.unweighedTold + tellingCost(scene, reading, told);
		const take = (more: number, runs: number[]): Before => ({
			m: b.m - told.kg,
			v: b.v + told.variance,
			cost: cost + more,
			inserts: [...b.inserts, { kind: 'told', told: p, runs, rests: false }],
			told: b.told | (1 << p),
			free: b.free.filter((r) => !runs.includes(r)),
		});
		list.push(take(signal ? scene.habits.augerMissed : 0, []));
		const run = signal ? likeliestRun(scene, reading, c, told, b, table.offset_s) : null;
		if (run) list.push(take(run.cost, [run.run]));
	}
	return list;
}

/** The tank emptied by a run of the auger, whole or nearly; runs before it may be unloadings too. */
function runOut({ scene, c, place, reading }: Context, b: Before): Before[] {
	const runs = scene.runs[c];
	if (!runs) return [];
	const list: Before[] = [];
	const { x, P } = reading.belief;
	const D = x.length;
	const k = x[c] as number;
	const some = COSTS.restShare * (scene.tank_kg[c] as number);
	const p = scene.habits.emptied;
	const taken = Math.max(-1, ...b.inserts.flatMap((i) => i.runs));
	for (const r of b.free.slice(-5)) {
		const run = runs[r]!;
		if (r < taken || run.end_s - run.start_s < 15 || place.end_s - run.end_s < 30) continue;
		const whole = levelAt(scene, reading, c, run.endMass_kg);
		const gone = b.inserts.reduce((sum, i) => sum + (scene.told[i.told]?.kg ?? 0), 0);
		const held = (m: number, v: number): number =>
			overflow(scene, c, m, v, scene.fill_kg) - lnPhi((m - 300) / Math.sqrt(v + 10_000));
		let cost = b.cost + COSTS.unweighedSeen + held(whole.m - gone, whole.v);
		let inserts: Insert[] = [{ kind: 'run', told: -1, runs: [r], rests: false }];
		let free = b.free.filter((q) => q !== r);
		// More than the tank holds: it was emptied by an earlier run too.
		for (const q of free) {
			if (q > r || q < taken) continue;
			const earlier = runs[q]!;
			const m = k * (run.endMass_kg - earlier.endMass_kg);
			const first = levelAt(scene, reading, c, earlier.endMass_kg);
			const both =
				b.cost +
				2 * COSTS.unweighedSeen +
				held(first.m - gone, first.v) +
				held(m, 40_000) -
				falseRun(scene, c, q, place.end_s);
			if (both >= cost) continue;
			cost = both + falseRun(scene, c, q, place.end_s);
			inserts = [{ kind: 'run', told: -1, runs: [q], rests: false }, inserts[inserts.length - 1] as Insert];
			free = b.free.filter((other) => other !== r && other !== q);
		}
		const dM = place.mass_kg - run.endMass_kg;
		const v =
			dM * dM * (P[c * D + c] as number) + flowNoise(scene, dM, k) + USUAL.clinging_kg ** 2 + (run.flow_kg_s * 4) ** 2;
		const all = [...b.inserts, ...inserts];
		list.push({ m: k * dM, v, cost: cost - Math.log(p), inserts: all, told: b.told, free });
		const kept = [...all.slice(0, -1), { ...(all[all.length - 1] as Insert), rests: true }];
		list.push({
			m: k * dM + some,
			v: v + some * some,
			cost: cost - Math.log(1 - p),
			inserts: kept,
			told: b.told,
			free,
		});
	}
	return list;
}

/** May the telling be of an unloading between these log times? */
export function couldBe(told: Told, offset_s: number, after_s: number, before_s: number): boolean {
	const within = (shift: number): boolean => told.from_s + shift <= before_s + 60 && told.to_s + shift >= after_s - 60;
	// A certified scale keeps its own time, which is usually right; the cart's is off by the offset.
	return within(offset_s) || (told.kind === 'straight' && (within(900) || within(-900)));
}

/**
 * The run by which a known weight left the tank, and its cost against an unloading at any moment: likeliest where the
 * tank held just that; with more in it a rest stayed. null without any run.
 */
export function likeliestRun(
	scene: Scene,
	reading: Reading,
	c: number,
	told: Told,
	b: Pick<Before, 'free' | 'inserts'>,
	offset_s: number,
): { run: number; cost: number } | null {
	const runs = scene.runs[c] ?? [];
	const p = scene.habits.emptied;
	const some = COSTS.restShare * (scene.tank_kg[c] as number);
	const before = b.inserts[b.inserts.length - 1];
	const after = Math.max(-1, ...(before?.runs ?? []));
	let best: { run: number; cost: number } | null = null;
	for (const r of b.free) {
		const run = runs[r]!;
		const lasts = run.end_s - run.start_s;
		if (r < after || lasts < 15 || !couldBe(told, offset_s, run.end_s, run.end_s)) continue;
		let { m, v } = levelAt(scene, reading, c, run.endMass_kg);
		for (const insert of b.inserts) {
			if (insert.kind === 'told') m -= scene.told[insert.told]!.kg;
			else if (insert.kind === 'run') {
				const dM = run.endMass_kg - runs[insert.runs[0] as number]!.endMass_kg;
				m = (reading.belief.x[c] as number) * dM + (insert.rests ? some : 0);
				v = flowNoise(scene, dM, 1) + (insert.rests ? some * some : 0);
			}
		}
		const d = m - told.kg;
		const spread = v + told.variance + USUAL.clinging_kg ** 2;
		const gone = normalCost(d, spread) - Math.log(p);
		const kept = restCost(d, spread, some) - Math.log(1 - p);
		const short = lasts < (0.4 * told.kg) / USUAL.unloading_kg_s ? 1.5 : 0;
		const cost = Math.min(gone, kept) + short - Math.log(scene.fill_kg);
		if (!best || cost < best.cost) best = { run: r, cost };
	}
	return best;
}
