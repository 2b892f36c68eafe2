import proj4 from 'proj4';
import type { LoadBook, Result, Surface } from '../../lib/model/index.ts';
import type { Sim } from './index.ts';
import type { CombineTruth, Truth } from './truth.ts';

/** points.csv as columns, in its own order. NaN = blank. */
export interface Points {
	combine: string[];
	lon: Float64Array;
	lat: Float64Array;
	flag: string[];
	area_m2: Float64Array;
	moisture_pct: Float64Array;
	monitor_kg_ha: Float64Array;
	yield_kg_ha: Float64Array;
	u_rel: Float64Array;
}

/** What a run came to, against the truth. Relative numbers are in per cent. NaN = not to be had. */
export interface Scores {
	factors: {
		combine: string;
		error_pct: number;
		covered: boolean;
		/** Full width + 40 × what is missed, per cent. */
		intervalScore_pct: number;
		form: string;
		formRight: boolean;
	}[];
	lags: { combine: string; error_s: number; covered: boolean }[];
	moistures: { combine: string; error_pct: number }[];
	dumps: {
		n: number;
		/** Right combine, and rightly believed or set aside. */
		right: number;
		/** Right combine and the exact status (a dump beside a rest is `joined`, any other `used`). */
		strict: number;
		wrong: { id: string; expected: string; found: string }[];
	};
	unweighed: { expected: number; found: number; invented: number; missed: string[]; inventions: string[] };
	clock: { error_s: number; covered: boolean };
	/** Unflagged records against the true surface at the place that the run gives them. */
	records: { rmse_pct: number; bias_pct: number; raw_pct: number; kept_pct: number; flagged_pct: number };
	area_pct: number;
	/** Root mean square distance of unflagged records from where their grain was cut. */
	place_m: number;
	/** Cells of the map against the mean of the true surface over each. */
	grid: { rmse_pct: number; bias_pct: number; within1_pct: number; within2_pct: number; cells: number };
	/** Events of a weight trace; the weight is the 95th percentile of the errors of events over 2 t. */
	trace: { expected: number; found: number; invented: number; weight_pct: number };
	seams: { pair: string; error_pct: number; covered: boolean; after_pct: number; afterCovered: boolean }[];
}

/** Reads points.csv by its header. */
export function readPoints(csv: string): Points {
	const lines = csv.trimEnd().split('\n');
	const head = lines[0]!.trim().split(',');
	const n = lines.length - 1;
	const cells = lines.slice(1).map((line) => line.replace(/\r$/, '').split(','));
	const text = (name: string) => {
		const at = head.indexOf(name);
		if (at < 0) throw new Error(`points.csv has no column ${name}`);
		return cells.map((row) => row[at] ?? '');
	};
	const number = (name: string) => {
		const out = new Float64Array(n);
		text(name).forEach((cell, i) => {
			out[i] = cell === '' ? Number.NaN : Number(cell);
		});
		return out;
	};
	return {
		combine: text('combine'),
		lon: number('lon'),
		lat: number('lat'),
		flag: text('flag'),
		area_m2: number('area_m2'),
		moisture_pct: number('moisture_pct'),
		monitor_kg_ha: number('monitor_yield_kg_ha'),
		yield_kg_ha: number('yield_kg_ha'),
		u_rel: number('yield_u_rel'),
	};
}

/** Scores one run. */
export function score(
	sim: Sim,
	result: Result,
	points: Points,
	surface: Surface | null,
	book: LoadBook | null = null,
): Scores {
	const { truth } = sim;
	return {
		factors: truth.combines.map((c) => scoreFactor(c, result)),
		lags: truth.combines.map((c) => {
			const found = result.combines[c.name];
			const error_s = (found?.lag_s ?? Number.NaN) - c.effectiveLag_s;
			return { combine: c.name, error_s, covered: Math.abs(error_s) <= 2 * (found?.lag_u_s ?? 0) };
		}),
		moistures: truth.combines.map((c) => ({
			combine: c.name,
			error_pct: (result.combines[c.name]?.moisture.offset_pct ?? Number.NaN) - c.moistureOffset_pct,
		})),
		dumps: scoreDumps(truth, result),
		unweighed: scoreUnweighed(sim, result),
		clock: {
			error_s: (result.clock.offset_s ?? Number.NaN) - truth.clock_offset_s,
			covered: Math.abs((result.clock.offset_s ?? Number.NaN) - truth.clock_offset_s) <= 2 * (result.clock.u_s ?? 0),
		},
		...scorePoints(sim, points),
		grid: surface
			? scoreGrid(truth, surface)
			: { rmse_pct: NaN, bias_pct: NaN, within1_pct: NaN, within2_pct: NaN, cells: 0 },
		trace: scoreTrace(truth, book),
		seams: scoreSeams(truth, result),
	};
}

function scoreFactor(c: CombineTruth, result: Result): Scores['factors'][number] {
	const f = result.combines[c.name]?.factor;
	if (!f)
		return { combine: c.name, error_pct: NaN, covered: false, intervalScore_pct: NaN, form: 'none', formRight: false };
	const [low, high] = f.interval;
	const missed = Math.max(0, low - c.factor, c.factor - high);
	return {
		combine: c.name,
		error_pct: 100 * (f.value / c.factor - 1),
		covered: missed === 0,
		intervalScore_pct: (100 * (high - low + 40 * missed)) / c.factor,
		form: f.form,
		formRight: f.form === c.form,
	};
}

function scoreDumps(truth: Truth, result: Result): Scores['dumps'] {
	const out: Scores['dumps'] = { n: truth.dumps.length, right: 0, strict: 0, wrong: [] };
	const found = new Map(result.dumps.map((d) => [d.id, d]));
	for (const dump of truth.dumps) {
		const row = found.get(dump.id);
		const expected = `${dump.combines.join('+')} ${dump.accept.join('/')}`;
		const got = row ? `${row.combine ?? '-'} ${row.status}` : 'missing';
		// Of a weight saved twice it does not matter which row is set aside.
		const twin = truth.dumps.find((d) => d !== dump && d.unloadings.join() === dump.unloadings.join());
		let accept = dump.accept;
		let believed = accept.some((s) => s !== 'aside');
		let asideToo = accept.includes('aside');
		if (twin) {
			const other = found.get(twin.id);
			const first = dump.repeated ? twin : dump;
			if (row?.status === 'aside' && other?.status !== 'aside') {
				accept = ['aside'];
				believed = false;
				asideToo = true;
			} else if (row && row.status !== 'aside' && other?.status === 'aside') {
				accept = first.accept;
				believed = true;
				asideToo = false;
			}
		}
		const combineRight =
			row !== undefined && ((row.combine ?? '') === dump.combines.join('+') || (row.status === 'aside' && asideToo));
		const statusRight = row !== undefined && (row.status === 'aside' ? asideToo : believed);
		if (combineRight && statusRight) {
			out.right++;
			const either = dump.combines.length > 1;
			if (accept.includes(row.status) || (either && row.status !== 'aside')) out.strict++;
		} else out.wrong.push({ id: dump.id, expected, found: got });
	}
	return out;
}

/** Unloadings without a row of their own must be listed, at the right end of the right combine; nothing else may be. */
function scoreUnweighed(sim: Sim, result: Result): Scores['unweighed'] {
	const { truth, scenario } = sim;
	const out: Scores['unweighed'] = { expected: 0, found: 0, invented: 0, missed: [], inventions: [] };
	if (scenario.notes.ticketsOnly !== 'no' || scenario.notes.trace) return out;
	const left = result.unweighed.map((u) => ({
		...u,
		start_s: Date.parse(u.start) / 1000,
		end_s: Date.parse(u.end) / 1000,
	}));
	for (const u of truth.unloadings) {
		if (u.fate === 'saved') continue;
		out.expected++;
		const name = truth.combines[u.combine]!.name;
		const i = left.findIndex((l) => l.combine === name && Math.abs(l.end_s - u.end_s) <= 120);
		if (i >= 0) {
			out.found++;
			left.splice(i, 1);
		} else out.missed.push(`${name} ${new Date(u.end_s * 1000).toISOString()} ${u.fate}`);
	}
	for (const l of left) {
		const c = truth.combines.findIndex((t) => t.name === l.combine);
		const times = truth.combines[c]?.records.time_s;
		// Grain that went home in the tank is a stretch without a weight, and no invention.
		const last = truth.unloadings.filter((u) => u.combine === c).at(-1);
		const wentHome = times !== undefined && last !== undefined && l.end_s > last.end_s + 30;
		if (!wentHome) {
			out.invented++;
			out.inventions.push(`${l.combine} ${l.end} ${l.reason}`);
		}
	}
	return out;
}

function scorePoints(sim: Sim, points: Points): Pick<Scores, 'records' | 'area_pct' | 'place_m'> {
	const { truth } = sim;
	const forward = utm(truth.epsg);
	const next = new Map(truth.combines.map((c) => [c.name, { c, i: 0 }]));
	let n = 0;
	let squares = 0;
	let sum = 0;
	let rawN = 0;
	let rawSquares = 0;
	let keptArea = 0;
	let area = 0;
	let places = 0;
	let placed = 0;
	let flagged = 0;
	for (let k = 0; k < points.combine.length; k++) {
		const at = next.get(points.combine[k]!);
		if (!at) throw new Error(`points.csv names a combine of which the truth knows nothing: ${points.combine[k]}`);
		const i = at.i++;
		const a = points.area_m2[k]!;
		if (a > 0) area += a;
		const placedHere = !Number.isNaN(points.lon[k]!);
		if (placedHere && points.monitor_kg_ha[k]! > 0) {
			const [x, y] = forward(points.lon[k]!, points.lat[k]!);
			const t = truth.trueYield_kg_ha(x, y);
			const e = points.monitor_kg_ha[k]! / t - 1;
			if (Math.abs(e) < 3) {
				rawSquares += e * e;
				rawN++;
			}
		}
		if (points.flag[k] !== '') {
			flagged++;
			continue;
		}
		if (!placedHere || Number.isNaN(points.yield_kg_ha[k]!)) continue;
		if (a > 0) keptArea += a;
		const [x, y] = forward(points.lon[k]!, points.lat[k]!);
		const e = points.yield_kg_ha[k]! / truth.trueYield_kg_ha(x, y) - 1;
		squares += e * e;
		sum += e;
		n++;
		const tx = at.c.records.cutX_m[i]!;
		const ty = at.c.records.cutY_m[i]!;
		if (!Number.isNaN(tx)) {
			places += (x - tx) ** 2 + (y - ty) ** 2;
			placed++;
		}
	}
	for (const { c, i } of next.values())
		if (i !== c.records.time_s.length)
			throw new Error(`points.csv holds ${i} records of combine ${c.name}, the log ${c.records.time_s.length}`);
	return {
		records: {
			rmse_pct: 100 * Math.sqrt(squares / n),
			bias_pct: (100 * sum) / n,
			raw_pct: 100 * Math.sqrt(rawSquares / rawN),
			kept_pct: (100 * keptArea) / truth.area_m2,
			flagged_pct: (100 * flagged) / points.combine.length,
		},
		area_pct: 100 * (area / truth.area_m2 - 1),
		place_m: Math.sqrt(places / placed),
	};
}

/** Every cell against the mean of the true surface over the part of it that lies in the field. */
function scoreGrid(truth: Truth, surface: Surface): Scores['grid'] {
	let cells = 0;
	let squares = 0;
	let sum = 0;
	let within1 = 0;
	let within2 = 0;
	const fine = 5;
	for (let r = 0; r < surface.rows; r++) {
		for (let c = 0; c < surface.columns; c++) {
			const value = surface.yield_kg_ha[r * surface.columns + c]!;
			if (!(value > 0)) continue;
			let mean = 0;
			let n = 0;
			for (let a = 0; a < fine; a++) {
				for (let b = 0; b < fine; b++) {
					const x = surface.west_m + (c + (a + 0.5) / fine) * surface.cell_m;
					const y = surface.north_m - (r + (b + 0.5) / fine) * surface.cell_m;
					if (!within(truth.ring_m, x, y)) continue;
					mean += truth.trueYield_kg_ha(x, y);
					n++;
				}
			}
			if (n === 0) continue;
			mean /= n;
			const e = value / mean - 1;
			squares += e * e;
			sum += e;
			cells++;
			const miss = Math.abs(value - mean) / surface.se_kg_ha[r * surface.columns + c]!;
			if (miss <= 1) within1++;
			if (miss <= 2) within2++;
		}
	}
	return {
		rmse_pct: 100 * Math.sqrt(squares / cells),
		bias_pct: (100 * sum) / cells,
		within1_pct: (100 * within1) / cells,
		within2_pct: (100 * within2) / cells,
		cells,
	};
}

/** Dumps and offloads found in a weight trace, by the cart's own clock. */
function scoreTrace(truth: Truth, book: LoadBook | null): Scores['trace'] {
	const out = { expected: truth.trace.length, found: 0, invented: 0, weight_pct: 0 };
	if (truth.trace.length === 0 || !book) return out;
	const weights: number[] = [];
	const left = [
		...book.dumps.map((d) => ({ event: 'dump', time_s: d.time_s, kg: d.weight_kg })),
		...book.offloads.map((o) => ({ event: 'offload', time_s: o.time_s, kg: o.weight_kg })),
	];
	for (const e of truth.trace) {
		const i = left.findIndex((l) => l.event === e.event && Math.abs(l.time_s - e.time_s) <= 60);
		if (i < 0) continue;
		out.found++;
		// Setting off at once spoils the weight: such are to be marked, and are not judged.
		if (!e.hasty && e.weight_kg > 2000) weights.push(Math.abs(100 * (left[i]!.kg / e.weight_kg - 1)));
		left.splice(i, 1);
	}
	out.invented = left.length;
	out.weight_pct = weights.sort((a, b) => a - b)[Math.floor(0.95 * weights.length)] ?? 0;
	return out;
}

function scoreSeams(truth: Truth, result: Result): Scores['seams'] {
	return result.seams.flatMap((seam) => {
		const i = truth.combines.findIndex((c) => c.name === seam.pair[0]);
		const j = truth.combines.findIndex((c) => c.name === seam.pair[1]);
		if (i < 0 || j < 0 || i === j) return [];
		const before = truth.jump_pct(i, j);
		const after = 100 * ((1 - truth.combines[i]!.left_rel) / (1 - truth.combines[j]!.left_rel) - 1);
		return [
			{
				pair: seam.pair.join('/'),
				error_pct: seam.before_pct - before,
				covered: seam.before_interval[0] <= before && before <= seam.before_interval[1],
				after_pct: seam.after_pct - after,
				afterCovered: seam.after_interval[0] <= after && after <= seam.after_interval[1],
			},
		];
	});
}

function within(ring: readonly (readonly [number, number])[], x: number, y: number): boolean {
	let odd = false;
	for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
		const a = ring[i]!;
		const b = ring[j]!;
		if (a[1] > y !== b[1] > y && x < ((b[0] - a[0]) * (y - a[1])) / (b[1] - a[1]) + a[0]) odd = !odd;
	}
	return odd;
}

function utm(epsg: number): (lon: number, lat: number) => [number, number] {
	const south = epsg >= 32700;
	const zone = epsg % 100;
	const projection = proj4(
		'+proj=longlat +datum=WGS84 +no_defs',
		`+proj=utm +zone=${zone}${south ? ' +south' : ''} +datum=WGS84 +units=m +no_defs`,
	);
	return (lon, lat) => projection.forward([lon, lat]) as [number, number];
}
