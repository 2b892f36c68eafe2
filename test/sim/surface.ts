import type { Random } from './random.ts';

/** A smooth function on the plane, laid down once on a raster and read between its nodes. */
export interface Raster {
	at(x_m: number, y_m: number): number;
}

export interface Box {
	west_m: number;
	south_m: number;
	east_m: number;
	north_m: number;
}

export interface Scale {
	/** Wavelength-like size of the structure. */
	size_m: number;
	/** Standard deviation over the plane. */
	sd: number;
}

/** Structure that runs along one direction and changes only across it: tillage, planter, tile lines. */
export interface Streak extends Scale {
	/** Unit vector across the streaks. */
	across: readonly [number, number];
}

/**
 * A random surface: for each scale a sum of plane waves with random directions and phases (random Fourier features
 * of a Gaussian covariance), plus streaks. Mean 0.
 */
export function randomRaster(rng: Random, box: Box, scales: Scale[], streaks: Streak[], cell_m = 2.5): Raster {
	const waves: { kx: number; ky: number; phase: number; amplitude: number }[] = [];
	const perScale = 22;
	for (const { size_m, sd } of scales) {
		for (let i = 0; i < perScale; i++) {
			waves.push({
				kx: rng.normal(1.4 / size_m),
				ky: rng.normal(1.4 / size_m),
				phase: rng.between(0, 2 * Math.PI),
				amplitude: sd * Math.sqrt(2 / perScale),
			});
		}
	}
	for (const { size_m, sd, across } of streaks) {
		for (let i = 0; i < 8; i++) {
			const k = rng.normal(1.4 / size_m);
			waves.push({
				kx: k * across[0],
				ky: k * across[1],
				phase: rng.between(0, 2 * Math.PI),
				amplitude: sd * Math.sqrt(2 / 8),
			});
		}
	}
	const columns = Math.ceil((box.east_m - box.west_m) / cell_m) + 2;
	const rows = Math.ceil((box.north_m - box.south_m) / cell_m) + 2;
	const value = new Float64Array(columns * rows);
	for (const wave of waves) {
		// cos of a sum by rotation along a row: one sine and cosine a row instead of one a node.
		const dc = Math.cos(wave.kx * cell_m);
		const ds = Math.sin(wave.kx * cell_m);
		for (let r = 0; r < rows; r++) {
			const start = wave.kx * box.west_m + wave.ky * (box.south_m + r * cell_m) + wave.phase;
			let c = Math.cos(start) * wave.amplitude;
			let s = Math.sin(start) * wave.amplitude;
			for (let i = r * columns; i < (r + 1) * columns; i++) {
				value[i]! += c;
				const turned = c * dc - s * ds;
				s = s * dc + c * ds;
				c = turned;
			}
		}
	}
	return {
		at(x_m, y_m) {
			const u = Math.min(Math.max((x_m - box.west_m) / cell_m, 0), columns - 1.001);
			const v = Math.min(Math.max((y_m - box.south_m) / cell_m, 0), rows - 1.001);
			const i = Math.floor(u);
			const j = Math.floor(v);
			const fu = u - i;
			const fv = v - j;
			const k = j * columns + i;
			return (
				(value[k]! * (1 - fu) + value[k + 1]! * fu) * (1 - fv) +
				(value[k + columns]! * (1 - fu) + value[k + columns + 1]! * fu) * fv
			);
		},
	};
}
