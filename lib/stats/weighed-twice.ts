import { greatest } from 'd3-array';
import { CART } from '../model/index.ts';
import { median } from './median.ts';
import { ratioOfSums } from './ratio.ts';
import { tQuantile } from './student.ts';

/** A truckload by the cart: out of it, and into it by its dumps (NaN where these are not known). */
export interface CartLoad {
	offload_kg: number;
	dumps_kg: number;
}

/**
 * How far each load's ratio of two scales is from that of most others, relative; 0 where that may be scale error. Where two
 * groups are of one size, as around a failure of a scale, the one nearer to 1 counts; with one or two loads only
 * impossible ratios can be recognized.
 */
export function outOfLine(ratios: readonly number[]): number[] {
	const agreeing = (ratio: number) => ratios.filter((r) => Math.abs(r / ratio - 1) <= CART.apart_rel);
	const nearest = ratios.toSorted((a, b) => Math.abs(Math.log(a)) - Math.abs(Math.log(b)));
	const several = ratios.length >= 3;
	const middle = several ? median(agreeing(greatest(nearest, (r) => agreeing(r).length)!)) : 1;
	const limit = several ? CART.apart_rel : 0.15;
	return ratios.map((r) => (Math.abs(r / middle - 1) > limit ? r / middle - 1 : 0));
}

/** Dumps over offloads of the same grain, less 1; 0 where chance explains it, or fewer than three loads show it. */
export function dumpsApart(loads: readonly CartLoad[]): number {
	const both = loads.filter((l) => Number.isFinite(l.dumps_kg));
	if (both.length < 3) return 0;
	const { ratio, u, df } = ratioOfSums(
		both.map((l) => l.dumps_kg),
		both.map((l) => l.offload_kg),
	);
	const rel = ratio - 1;
	return Math.abs(rel) > Math.max((tQuantile(0.975, df) * u) / ratio, 0.0005) ? rel : 0;
}

/**
 * The cart's side of each load. The grain was weighed twice, coming in and going out. Where the two agree and are known for
 * every load, their mean scatters less; where they do not agree the dumps count, since the factors are based on
 * them, and an offload whose dumps are not known differs from them as the others do.
 */
export function cartSide(loads: readonly CartLoad[], apart_rel: number): (load: CartLoad) => number {
	if (apart_rel !== 0)
		return ({ offload_kg, dumps_kg }) => (Number.isFinite(dumps_kg) ? dumps_kg : offload_kg * (1 + apart_rel));
	const known = loads.every((l) => Number.isFinite(l.dumps_kg));
	return ({ offload_kg, dumps_kg }) => (known ? (offload_kg + dumps_kg) / 2 : offload_kg);
}

/** A ratio to certified weights, the certified scale's tolerance included. */
export interface Certified {
	ratio: number;
	/** Relative standard uncertainty. */
	u_rel: number;
	/** 95 %. */
	interval: [number, number];
	/** Degrees of freedom of `u_rel`. */
	df: number;
}

/** Adds the certified scale's tolerance to a ratio whose scatter between `n` loads is `u_loads` (relative). */
export function certified(ratio: number, u_loads: number, n: number): Certified {
	const u_rel = Math.hypot(u_loads, CART.certified_rel / Math.sqrt(3));
	const df = n >= 2 && u_loads > 0 ? ((n - 1) * u_rel ** 4) / u_loads ** 4 : Infinity;
	const half = tQuantile(0.975, df) * u_rel * ratio;
	return { ratio, u_rel, interval: [ratio - half, ratio + half], df };
}
