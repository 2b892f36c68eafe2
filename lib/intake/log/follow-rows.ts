import { pointIndex } from '../../geo/near.ts';
import { upperMedian } from '../../stats/median.ts';

/** Motion from the previous row of the same machine to each row. */
export interface Motion {
	/** The machine's previous row, −1 at a start. */
	before: Int32Array;
	/** Distance from the previous row, meters; NaN if unknown. */
	step_m: Float64Array;
	/** Time since the previous row, seconds; NaN if unknown. */
	dt_s: Float64Array;
	/** Bearing of the step, degrees. */
	bearing_deg: Float64Array;
}

/**
 * Computes the motion between rows.
 *
 * @param machine - index of each row's machine, −1 for none
 * @param order - rows in their machine's order; null: the table's
 */
export function followRows(
	machine: Int32Array,
	x_m: Float64Array,
	y_m: Float64Array,
	time_s: Float64Array,
	order: Int32Array | null = null,
): Motion {
	const n = machine.length;
	const nan = () => new Float64Array(n).fill(Number.NaN);
	const motion: Motion = { before: new Int32Array(n).fill(-1), step_m: nan(), dt_s: nan(), bearing_deg: nan() };
	const last = new Map<number, number>();
	for (let k = 0; k < n; k++) {
		const i = order?.[k] ?? k;
		const m = machine[i]!;
		if (m < 0) continue;
		const j = last.get(m);
		last.set(m, i);
		if (j === undefined) continue;
		motion.before[i] = j;
		const dx = x_m[i]! - x_m[j]!;
		const dy = y_m[i]! - y_m[j]!;
		motion.step_m[i] = Math.hypot(dx, dy);
		motion.dt_s[i] = time_s[i]! - time_s[j]!;
		if (dx !== 0 || dy !== 0) motion.bearing_deg[i] = ((Math.atan2(dx, dy) * 180) / Math.PI + 360) % 360;
	}
	return motion;
}

/** Distance between neighboring passes, meters: the median over places spread over the log; NaN if none is found. */
export function passSpacing_m(motion: Motion, x_m: Float64Array, y_m: Float64Array): number {
	const n = x_m.length;
	const index = pointIndex(x_m, y_m);
	const across: number[] = [];
	const step = Math.max(1, Math.floor(n / 500));
	for (let i = step; i < n; i += step) {
		const length = motion.step_m[i]!;
		if (!(length > 0.3 && length < 30)) continue;
		const angle = (motion.bearing_deg[i]! * Math.PI) / 180;
		const ux = Math.sin(angle);
		const uy = Math.cos(angle);
		let nearest = Infinity;
		for (const j of index.within(x_m[i]!, y_m[i]!, 22)) {
			// A neighbor on another pass: well before or after, traveling along the same line.
			if (Math.abs(j - i) < 15) continue;
			const turn = ((motion.bearing_deg[j]! - motion.bearing_deg[i]!) * Math.PI) / 180;
			if (!(Math.abs(Math.cos(turn)) > 0.985)) continue;
			const dx = x_m[j]! - x_m[i]!;
			const dy = y_m[j]! - y_m[i]!;
			if (Math.abs(dx * ux + dy * uy) > Math.max(length, 3)) continue;
			const off = Math.abs(dx * uy - dy * ux);
			if (off > 1.5 && off < nearest) nearest = off;
		}
		if (Number.isFinite(nearest)) across.push(nearest);
	}
	return across.length < 15 ? Number.NaN : upperMedian(across);
}
