import type { Random } from './random.ts';

export type Point = readonly [number, number];

/** Half-open stretch along a line. */
export type Stretch = [number, number];

/** One straight pass as planned: lanes across the header, each with the stretches on which the crop still stood. */
export interface Strip {
	/** Center line at s = 0 and unit direction. */
	origin: Point;
	along: Point;
	/** Unit vector to the left of `along`. */
	left: Point;
	length_m: number;
	/** Full width of the header, and the width at which the passes are laid (a small overlap is usual). */
	width_m: number;
	/** Lane middles, left of the center line, and their widths. */
	lanes: { offset_m: number; width_m: number; stretches: Stretch[] }[];
	/** Strips of a stage may start when all strips of the stages before have been finished. */
	stage: number;
	/** Who may take it: a combine's index, or −1 for whoever is free. */
	combine: number;
	/** Where it stands among the parallel passes; −1 on a headland. */
	row: number;
	headland: boolean;
}

/** Stretches of a line (origin + s·along) inside a simple ring. */
export function inside(ring: readonly Point[], origin: Point, along: Point): Stretch[] {
	const cuts: number[] = [];
	const nx = -along[1];
	const ny = along[0];
	for (let i = 0; i < ring.length; i++) {
		const a = ring[i]!;
		const b = ring[(i + 1) % ring.length]!;
		const da = (a[0] - origin[0]) * nx + (a[1] - origin[1]) * ny;
		const db = (b[0] - origin[0]) * nx + (b[1] - origin[1]) * ny;
		if (da > 0 === db > 0) continue;
		const f = da / (da - db);
		const x = a[0] + f * (b[0] - a[0]) - origin[0];
		const y = a[1] + f * (b[1] - a[1]) - origin[1];
		cuts.push(x * along[0] + y * along[1]);
	}
	cuts.sort((a, b) => a - b);
	const stretches: Stretch[] = [];
	for (let i = 0; i + 1 < cuts.length; i += 2) stretches.push([cuts[i]!, cuts[i + 1]!]);
	return stretches;
}

/** What is left of some stretches when others are taken away. */
export function without(stretches: Stretch[], taken: Stretch[]): Stretch[] {
	let left = stretches;
	for (const [from, to] of taken) {
		const next: Stretch[] = [];
		for (const [a, b] of left) {
			if (to <= a || from >= b) next.push([a, b]);
			else {
				if (from > a) next.push([a, from]);
				if (to < b) next.push([to, b]);
			}
		}
		left = next;
	}
	return left;
}

interface Plan {
	ring: readonly Point[];
	/** By combine: header, spacing of its passes, lanes across it. */
	machines: { width_m: number; pitch_m: number; lanes: number }[];
	/** Direction of the passes, radians counter-clockwise from the x axis. */
	direction_rad: number;
	headlandRounds: number;
	/** How parallel passes are shared out. */
	sharing: 'adjacent' | 'blocks' | 'ends';
	blockPasses: number;
	/** A pass this often, by its number, is cut with half a header, as when a land is finished. */
	narrowEvery: number;
}

/** Lays out headland passes and parallel passes and works out what each lane of each finds uncut. */
export function layStrips(plan: Plan, rng: Random): Strip[] {
	const { ring, machines } = plan;
	const combines = machines.length;
	const sameHeaders = machines.every((m) => m.width_m === machines[0]!.width_m);
	const strips: Strip[] = [];
	const quads: Point[][] = [];
	const center = middle(ring);

	const lay = (origin: Point, along: Point, from: number, to: number, machine: number, make: Partial<Strip>) => {
		const { width_m, pitch_m: width, lanes: count } = machines[machine]!;
		const left: Point = [-along[1], along[0]];
		const lanes = [];
		for (let j = 0; j < count; j++) {
			const offset_m = ((j + 0.5) / count - 0.5) * width;
			const o: Point = [origin[0] + left[0] * offset_m, origin[1] + left[1] * offset_m];
			let stretches: Stretch[] = inside(ring, o, along).map(([a, b]) => [Math.max(a, from), Math.min(b, to)]);
			stretches = stretches.filter(([a, b]) => b > a);
			for (const quad of quads) stretches = without(stretches, inside(quad, o, along));
			lanes.push({ offset_m, width_m: width / count, stretches: stretches.filter(([a, b]) => b - a > 0.2) });
		}
		// A gap of more than 15 m over all lanes makes two passes of one line.
		const all = lanes.flatMap((lane) => lane.stretches).sort((a, b) => a[0] - b[0]);
		const runs: Stretch[] = [];
		for (const [a, b] of all) {
			const last = runs.at(-1);
			if (last && a - last[1] < 15) last[1] = Math.max(last[1], b);
			else runs.push([a, b]);
		}
		for (const [a, b] of runs) {
			if (b - a < 3) continue;
			// The header goes down a few meters before the crop and up a few meters after it.
			const lead = rng.between(2, 7);
			const start = a - lead;
			const end = b + rng.between(1, 4);
			strips.push({
				origin: [origin[0] + along[0] * start, origin[1] + along[1] * start],
				along,
				left,
				length_m: end - start,
				width_m,
				lanes: lanes.map((lane) => ({
					offset_m: lane.offset_m,
					width_m: lane.width_m,
					stretches: lane.stretches
						.filter(([c, d]) => c >= a - 1e-9 && d <= b + 1e-9)
						.map(([c, d]) => [c - start, d - start] as Stretch),
				})),
				stage: 0,
				combine: -1,
				row: -1,
				headland: false,
				...make,
			});
		}
		const h = width / 2;
		return [
			[origin[0] + along[0] * from + left[0] * h, origin[1] + along[1] * from + left[1] * h],
			[origin[0] + along[0] * to + left[0] * h, origin[1] + along[1] * to + left[1] * h],
			[origin[0] + along[0] * to - left[0] * h, origin[1] + along[1] * to - left[1] * h],
			[origin[0] + along[0] * from - left[0] * h, origin[1] + along[1] * from - left[1] * h],
		] as Point[];
	};

	// Headlands: the ring runs counter-clockwise, so the field lies to the left of every side.
	const n = ring.length;
	const sideDepth = new Array<number>(n).fill(0);
	let stage = 0;
	for (let round = 0; round < plan.headlandRounds; round++) {
		const order: number[][] = [];
		if (combines > 1 && n >= 4) {
			const half = Math.floor(n / 2);
			for (let i = 0; i < half; i++) order.push([i, i + half]);
			if (n % 2 === 1) order.push([n - 1]);
		} else for (let i = 0; i < n; i++) order.push([i]);
		for (const sides of order) {
			sides.forEach((side, k) => {
				const a = ring[side]!;
				const b = ring[(side + 1) % n]!;
				const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
				const along: Point = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
				const machine = combines > 1 ? k : 0;
				const { width_m, pitch_m } = machines[machine]!;
				sideDepth[side] = plan.headlandRounds * pitch_m;
				const depth = (round + 0.5) * pitch_m;
				const origin: Point = [a[0] - along[1] * depth, a[1] + along[0] * depth];
				const reflexStart = turn(ring[(side + n - 1) % n]!, a, b) < 0;
				const reflexEnd = turn(a, b, ring[(side + 2) % n]!) < 0;
				const from = reflexStart ? 0 : -3 * width_m;
				const to = reflexEnd ? length + (round + 1) * pitch_m : length + 3 * width_m;
				quads.push(
					lay(origin, along, from, to, machine, {
						stage,
						combine: machine,
						headland: true,
					}),
				);
			});
			stage++;
		}
	}

	// Parallel passes over what the headlands left.
	const along: Point = [Math.cos(plan.direction_rad), Math.sin(plan.direction_rad)];
	const left: Point = [-along[1], along[0]];
	let low = Infinity;
	let high = -Infinity;
	for (const p of ring) {
		const v = (p[0] - center[0]) * left[0] + (p[1] - center[1]) * left[1];
		low = Math.min(low, v);
		high = Math.max(high, v);
	}
	// Along a side that runs with the passes its headland has taken a full strip.
	const [lowest, highest] = [low, high];
	for (let i = 0; i < n; i++) {
		const [va, vb] = [ring[i]!, ring[(i + 1) % n]!].map(
			(p) => (p[0] - center[0]) * left[0] + (p[1] - center[1]) * left[1],
		) as [number, number];
		if (Math.abs(va - vb) > 0.5) continue;
		if (Math.abs(va - lowest) < 0.5) low = lowest + sideDepth[i]!;
		if (Math.abs(va - highest) < 0.5) high = highest - sideDepth[i]!;
	}
	const rowsAbout = Math.ceil((high - low) / machines[0]!.pitch_m);
	/** Who cuts the pass at a place, and −1 for whoever comes first. */
	const owner = (row: number, v: number) => {
		if (combines === 1) return -1;
		if (plan.sharing === 'blocks') return Math.floor(row / plan.blockPasses) % combines;
		if (plan.sharing === 'ends') return Math.min(combines - 1, Math.floor(((v - low) / (high - low)) * combines));
		// Headers of different widths take turns; equal ones go to whoever is free.
		return sameHeaders ? -1 : row % combines;
	};
	let v = low;
	let row = 0;
	while (v < high - 0.3 && row < 3 * rowsAbout) {
		const combine = owner(row, v);
		const machine = Math.max(0, combine);
		const { pitch_m, lanes } = machines[machine]!;
		const narrow = plan.narrowEvery > 0 && row % plan.narrowEvery === plan.narrowEvery - 1;
		const width = narrow ? (pitch_m * Math.round(rng.between(0.35, 0.7) * lanes)) / lanes : pitch_m;
		// The header is laid beside what was cut: a narrow pass uses its near side only.
		const mid = v + pitch_m / 2;
		const origin: Point = [center[0] + left[0] * mid, center[1] + left[1] * mid];
		lay(origin, along, -5000, 5000, machine, { stage, row, combine });
		if (narrow) {
			// Lanes beyond the narrow width are cut already, from the other side.
			for (const strip of strips) {
				if (strip.row !== row) continue;
				for (const lane of strip.lanes) if (lane.offset_m > width - pitch_m / 2) lane.stretches = [];
			}
		}
		v += width;
		row++;
	}
	if (plan.sharing === 'ends' && combines > 1) {
		// The last combine works from the far end toward the middle.
		const last = strips.filter((strip) => !strip.headland && strip.combine === combines - 1);
		const others = strips.filter((strip) => !last.includes(strip));
		return [...others, ...last.reverse()];
	}
	return strips;
}

/** Positive where b turns left between a and c. */
function turn(a: Point, b: Point, c: Point): number {
	return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
}

function middle(ring: readonly Point[]): Point {
	let x = 0;
	let y = 0;
	for (const p of ring) {
		x += p[0] / ring.length;
		y += p[1] / ring.length;
	}
	return [x, y];
}

/** Area of a simple ring, m². */
export function ringArea(ring: readonly Point[]): number {
	let twice = 0;
	for (let i = 0; i < ring.length; i++) {
		const a = ring[i]!;
		const b = ring[(i + 1) % ring.length]!;
		twice += a[0] * b[1] - a[1] * b[0];
	}
	return Math.abs(twice) / 2;
}
