import { type Projection, utmProjection } from '../../geo/utm.ts';
import { remembered, type Zone } from '../../model/index.ts';

/** Side of a tile. Within one, a quadratic is good to 1e-9 degrees, a tenth of a millimeter. */
const TILE_M = 1000;
/** Numbers kept per tile: six for longitude, six for latitude. */
const TERMS = 12;

/**
 * UTM meters back to degrees for millions of places: nine places per tile of one kilometer are projected, and a
 * quadratic interpolates the rest.
 */
export class Degrees {
	/** Result of the last `of`. NaN if the place was NaN. */
	lon = Number.NaN;
	lat = Number.NaN;
	private readonly projection: Projection;
	private readonly tiles = new Map<number, Float64Array>();
	private column = Number.NaN;
	private row = Number.NaN;
	private tile: Float64Array = new Float64Array(TERMS);

	constructor(zone: Zone) {
		this.projection = utmProjection(zone);
	}

	/** Sets `lon` and `lat` to the degrees of a place in meters. */
	of(x_m: number, y_m: number): void {
		const column = Math.floor(x_m / TILE_M);
		const row = Math.floor(y_m / TILE_M);
		if (column !== this.column || row !== this.row) {
			if (Number.isNaN(column) || Number.isNaN(row)) {
				this.lon = Number.NaN;
				this.lat = Number.NaN;
				return;
			}
			this.enter(column, row);
		}
		const t = this.tile;
		const u = x_m / TILE_M - column - 0.5;
		const v = y_m / TILE_M - row - 0.5;
		this.lon = term(t, 0) + u * (term(t, 1) + u * term(t, 3) + v * term(t, 4)) + v * (term(t, 2) + v * term(t, 5));
		this.lat = term(t, 6) + u * (term(t, 7) + u * term(t, 9) + v * term(t, 10)) + v * (term(t, 8) + v * term(t, 11));
	}

	private enter(column: number, row: number): void {
		this.column = column;
		this.row = row;
		this.tile = remembered(this.tiles, column * 100_000 + row, () => this.fit(column, row));
	}

	/** Central differences over the tile: exact for a quadratic. */
	private fit(column: number, row: number): Float64Array {
		const at = (u: number, v: number) => this.projection.inverse((column + 0.5 + u) * TILE_M, (row + 0.5 + v) * TILE_M);
		const h = 0.5;
		const middle = at(0, 0);
		const [east, west, north, south] = [at(h, 0), at(-h, 0), at(0, h), at(0, -h)];
		const [ne, nw, se, sw] = [at(h, h), at(-h, h), at(h, -h), at(-h, -h)];
		const tile = new Float64Array(TERMS);
		for (const k of [0, 1] as const) {
			tile.set(
				[
					middle[k],
					(east[k] - west[k]) / (2 * h),
					(north[k] - south[k]) / (2 * h),
					(east[k] + west[k] - 2 * middle[k]) / (2 * h * h),
					(ne[k] - nw[k] - se[k] + sw[k]) / (4 * h * h),
					(north[k] + south[k] - 2 * middle[k]) / (2 * h * h),
				],
				6 * k,
			);
		}
		return tile;
	}
}

const term = (tile: Float64Array, k: number): number => tile[k]!;
