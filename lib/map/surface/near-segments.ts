/**
 * Points sorted into square bins: finds the nearest of many about evenly spaced points in time proportional to the
 * number found. (Harvested ground is evenly sampled; uneven points would need a k-d tree.)
 */
export class Near {
	private readonly west_m: number;
	private readonly south_m: number;
	private readonly columns: number;
	private readonly rows: number;
	private readonly bin_m: number;
	private readonly start: Int32Array;
	private readonly order: Int32Array;
	/** Scratch of the last search: indices and squared distances, sorted by distance. */
	readonly found: Int32Array;
	readonly d2_m2: Float64Array;

	constructor(
		private readonly x_m: Float64Array,
		private readonly y_m: Float64Array,
		wantedBin_m: number,
		private readonly most: number,
	) {
		const n = x_m.length;
		let west = Infinity;
		let south = Infinity;
		let east = -Infinity;
		let north = -Infinity;
		for (let i = 0; i < n; i++) {
			west = Math.min(west, x_m[i]!);
			east = Math.max(east, x_m[i]!);
			south = Math.min(south, y_m[i]!);
			north = Math.max(north, y_m[i]!);
		}
		// Bound the number of bins, in case of a stray position.
		let bin_m = wantedBin_m;
		while (n > 0 && ((east - west) / bin_m + 1) * ((north - south) / bin_m + 1) > 8 * n + 1000) bin_m *= 2;
		this.bin_m = bin_m;
		this.west_m = n > 0 ? west : 0;
		this.south_m = n > 0 ? south : 0;
		this.columns = n > 0 ? Math.floor((east - west) / bin_m) + 1 : 1;
		this.rows = n > 0 ? Math.floor((north - south) / bin_m) + 1 : 1;
		const bins = this.columns * this.rows;
		this.start = new Int32Array(bins + 1);
		const bin = new Int32Array(n);
		for (let i = 0; i < n; i++) {
			const b = this.row(y_m[i]!) * this.columns + this.column(x_m[i]!);
			bin[i] = b;
			this.start[b + 1]!++;
		}
		for (let b = 0; b < bins; b++) this.start[b + 1]! += this.start[b]!;
		const next = this.start.slice(0, bins);
		this.order = new Int32Array(n);
		for (let i = 0; i < n; i++) this.order[next[bin[i]!]!++] = i;
		this.found = new Int32Array(most);
		this.d2_m2 = new Float64Array(most);
	}

	private column(x: number): number {
		return Math.floor((x - this.west_m) / this.bin_m);
	}

	private row(y: number): number {
		return Math.floor((y - this.south_m) / this.bin_m);
	}

	/**
	 * The nearest points within `radius_m`, at most `most`, sorted by distance into `found` and `d2_m2`; points for
	 * which `skip` returns true are left out. Points at equal distances keep their order. Returns how many.
	 */
	search(x: number, y: number, radius_m: number, skip?: (i: number) => boolean): number {
		let count = 0;
		const { found, d2_m2, most } = this;
		let limit = radius_m * radius_m;
		const fromColumn = Math.max(0, this.column(x - radius_m));
		const toColumn = Math.min(this.columns - 1, this.column(x + radius_m));
		const fromRow = Math.max(0, this.row(y - radius_m));
		const toRow = Math.min(this.rows - 1, this.row(y + radius_m));
		for (let r = fromRow; r <= toRow; r++) {
			const first = r * this.columns;
			for (let k = this.start[first + fromColumn]!; k < this.start[first + toColumn + 1]!; k++) {
				const i = this.order[k]!;
				const ex = this.x_m[i]! - x;
				const ey = this.y_m[i]! - y;
				const d2 = ex * ex + ey * ey;
				if (d2 > limit || skip?.(i)) continue;
				let at = count < most ? count++ : most - 1;
				while (at > 0 && d2_m2[at - 1]! > d2) {
					found[at] = found[at - 1]!;
					d2_m2[at] = d2_m2[at - 1]!;
					at--;
				}
				found[at] = i;
				d2_m2[at] = d2;
				if (count === most) limit = d2_m2[most - 1]!;
			}
		}
		return count;
	}
}
