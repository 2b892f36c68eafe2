import type { Match } from '../model/index.ts';
import { mad, median } from '../stats/index.ts';
import type { System } from './system.ts';

/** What the screen found: weights not believed, and unloadings that plainly left much in the tank. */
export interface Screened {
	aside: { weighing: number; reason: string }[];
	loose: Set<number>;
}

/** A weight nearer than this to what its neighbours say is never set aside: scales and monitors do err so. */
const TOLERANCE = 0.05;

/**
 * Finds single bad weights, whatever the form of the factor: each weight's ratio to its fill is held against those of
 * the fills about it in time (three on either side), so a step or a drift is no outlier. Where one fill is low and the
 * next as high by the same mass, the unloading between them was cut short: both weights stand, joined.
 *
 * @param system built with constant shapes
 * @param sd expected standard deviation of each weight, kg
 */
export function screen(system: System, match: Match, sd: readonly number[]): Screened {
	const aside: Screened['aside'] = [];
	const loose = new Set<number>();
	const combines = new Set(match.unloadings.map((u) => u.combine));
	for (const c of combines) {
		const own = system.weighings
			.map((w, i) => ({ w, i }))
			.filter(({ w }) => w.kind !== 'mixed' && w.kind !== 'total' && w.unloadings.length > 0)
			.filter(({ w }) => w.unloadings.every((u) => match.unloadings[u]!.combine === c))
			.map(({ w, i }) => ({
				i,
				time: match.unloadings[w.unloadings[0]!]!.end_s,
				first: Math.min(...w.unloadings),
				last: Math.max(...w.unloadings),
				mass: system.A[i]!.reduce((a, b) => a + b, 0),
				y: system.y[i]!,
				sd: sd[i]!,
			}))
			.filter((f) => f.mass > 0)
			.sort((a, b) => a.time - b.time);
		if (own.length < 4) continue;
		const ratio = own.map((f) => f.y / f.mass);
		const reach = own.length < 7 ? own.length : 3;
		// Not from any fill's own ratio: what the others about it say.
		const expected = own.map((_, k) => {
			const near = [];
			for (let j = Math.max(0, k - reach); j <= Math.min(own.length - 1, k + reach); j++)
				if (j !== k) near.push(ratio[j]!);
			return median(near);
		});
		const off = own.map((f, k) => f.y - expected[k]! * f.mass);
		const scale = mad(
			off.map((v, k) => v / own[k]!.mass),
			0,
		);
		const limit = own.map((f) => Math.max(TOLERANCE * f.y, 4.5 * f.sd, 5 * scale * f.mass));
		const done = new Set<number>();
		for (let k = 0; k + 1 < own.length; k++) {
			const a = own[k]!;
			const b = own[k + 1]!;
			if (b.first !== a.last + 1 || done.has(k)) continue;
			const both = off[k]! + off[k + 1]!;
			const cut = Math.min(Math.abs(off[k]!), Math.abs(off[k + 1]!));
			// What stayed behind must be seen in both: low first, then high.
			if (off[k]! < 0 && off[k + 1]! > 0 && Math.max(Math.abs(off[k]! / limit[k]!), off[k + 1]! / limit[k + 1]!) > 1) {
				if (Math.abs(both) < 0.5 * cut && Math.abs(both) < Math.max(limit[k]!, limit[k + 1]!)) {
					loose.add(a.last);
					done.add(k);
					done.add(k + 1);
				}
			}
		}
		own.forEach((f, k) => {
			if (done.has(k) || !(Math.abs(off[k]!) > limit[k]!)) return;
			const percent = Math.abs((100 * off[k]!) / (expected[k]! * f.mass));
			const way = off[k]! > 0 ? 'more' : 'less';
			aside.push({
				weighing: system.index[f.i]!,
				reason: `weighs ${percent.toFixed(0)} % ${way} than the monitor and the loads before and after it say`,
			});
		});
	}
	return { aside, loose };
}
