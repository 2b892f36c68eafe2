import { mad, median } from '../stats/index.ts';
import { USUAL } from './costs.ts';
import { stoodShare } from './mass.ts';
import type { Reading } from './reading.ts';
import { choicesOf } from './reading.ts';
import type { Habits, Scene } from './scene.ts';
import type { Smoothed } from './smooth.ts';
import type { Emptying } from './unloadings.ts';

/** What one round of the alignment teaches of the field, for the next. */
export function learn(scene: Scene, reading: Reading, list: readonly Emptying[], smooth: Smoothed): Habits {
	const old = scene.habits;
	// The same weights will be looked at again: what they say of the factors is let in wider than they say it.
	const u_factor = smooth.u_factor.map((u) => Math.min(0.12, Math.max(0.01, 2.5 * u)));
	let emptied = 0;
	let dumps = 0;
	let standing = 0;
	const scatter: number[] = [];
	let signalled = 0;
	let missed = 0;
	for (const choice of choicesOf(reading)) {
		if ((choice.kind !== 'normal' && choice.kind !== 'mixed') || !choice.place) continue;
		dumps++;
		if (!choice.rests) emptied++;
		const t = choice.place.end_s;
		if (scene.runs[choice.combine] && t < scene.flows[choice.combine]!.end_s) {
			signalled++;
			if (choice.place.run < 0) missed++;
		}
		if (stoodShare(scene.flows[choice.combine]!, t - 70, t - 10) > 0.5) standing++;
	}
	const { runs, idle } = idleRuns(scene, list);
	list.forEach((e, i) => {
		const before = list[i - 1];
		const clean = before ? before.combine === e.combine && !before.rests && !before.loose : false;
		if (e.choice?.kind === 'normal' && clean && !e.rests && !e.loose) scatter.push(smooth.miss[i] as number);
	});
	return {
		...old,
		factor: smooth.factor,
		u_factor,
		ratios: [],
		// As if ten more unloadings had been signalled rightly.
		augerMissed: -Math.log((missed + 0.1) / (signalled + 10)),
		augerFalse: -Math.log((idle + 0.1) / (runs + 10)),
		// As if three more dumps had been seen that do as usual.
		emptied: clamp((emptied + 1.6) / (dumps + 3), 0.1, 0.96),
		standing: clamp((standing + 1) / (dumps + 3), 0.05, 0.9),
		delay_s: Math.max(0, (augerClock(scene, reading)?.scatter_s ?? 0) - USUAL.delay_s),
		fill: scatter.length < 6 ? old.fill : clamp(1.1 * mad(scatter, 0), 0.008, 0.05),
	};
}

/** Runs of the auger long enough to be unloadings, and how many of them stand for none. */
function idleRuns(scene: Scene, list: readonly Emptying[]): { runs: number; idle: number } {
	let runs = 0;
	let idle = 0;
	scene.runs.forEach((own, c) => {
		for (const run of own ?? []) {
			if (run.end_s - run.start_s < 20) continue;
			runs++;
			const stands = list.some((e) => e.combine === c && run.start_s < e.end_s + 60 && run.end_s > e.start_s - 60);
			if (!stands) idle++;
		}
	});
	return { runs, idle };
}

function clamp(x: number, low: number, high: number): number {
	return Math.min(high, Math.max(low, x));
}

/** Cart times against the ends of the auger's runs: what the clock is off by, and how far single times scatter. */
export function augerClock(
	scene: Scene,
	reading: Reading,
): { offset_s: number; u_s: number; scatter_s: number; n: number } | null {
	const off: number[] = [];
	for (const choice of choicesOf(reading)) {
		if (choice.kind !== 'normal' && choice.kind !== 'mixed') continue;
		const t = scene.steps[choice.step]!.time_s;
		// Of two unloadings in one weight the later one ends when the weight is taken.
		const ends = [choice.place, choice.otherPlace].filter((p) => p && p.run >= 0).map((p) => p!.end_s);
		if (choice.kind === 'mixed' && ends.length < 2) continue;
		if (Number.isFinite(t) && ends.length > 0) off.push(Math.max(...ends) - t);
	}
	if (off.length < 3) return null;
	const offset_s = median(off);
	const scatter_s = Math.max(2, mad(off, offset_s));
	return { offset_s, u_s: Math.hypot((1.25 * scatter_s) / Math.sqrt(off.length), 3), scatter_s, n: off.length };
}
