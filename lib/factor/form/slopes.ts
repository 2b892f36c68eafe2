/** Slopes of combines over flow, from neighboring passes cut at different flows. */
import { inverse, Matrix, SingularValueDecomposition } from 'ml-matrix';
import { type Account, MONITOR, type Records, type Seam, type Track } from '../../model/index.ts';
import { mad, median } from '../../stats/index.ts';

/** A combine's flow curve as estimated from neighboring passes. */
export interface FlowSlope {
	combine: number;
	/** d log(factor) / d flow, per kg/s as recorded. NaN where it cannot be estimated. */
	slope: number;
	u: number;
	df: number;
	pairs: number;
	/** Standard deviation of the passes' mean flows, kg/s. */
	spread_kg_s: number;
	/** Why there is no estimate; null where there is one. */
	why: string | null;
}

interface PassMean {
	logYield: number;
	speed: number;
	/** The instrument: speed, bounded (see `BOUND`). */
	drive: number;
	flow: number;
}

/** Two neighboring passes. */
interface Pair {
	p: number;
	q: number;
	/** Combines of both. */
	a: number;
	b: number;
	/** Side of q that p lies on, across the field: 1 or −1. */
	side: number;
	/** Weight: length of the seam, meters. */
	w: number;
}

/** The instrument is bounded at this many MADs from its median. */
const BOUND = 2;

/** Passes cut with less than this share of the usual width are not used. */
const FULL_HEADER = 0.85;

/** Passes with fewer unflagged records are not used. */
const FEWEST_RECORDS = 15;

/**
 * Estimates the slopes of the factors over flow from neighboring passes, with speed as the instrument: for one combine,
 * β = Σ Δv̄·Δln y / Σ Δv̄·Δq. The noise of flow is in yield as well, so regressing yield on flow finds curves that are not
 * there; a pass's mean speed does not share that noise. Neighboring passes of two combines count too, with the jump between
 * them as one more unknown: all slopes, jumps and the trend across the field are solved together (instrumental variables,
 * just identified). Standard errors are clustered over pairs that share a pass.
 */
export function flowSlopes(records: Records, account: Account, track: Track, seams: readonly Seam[]): FlowSlope[] {
	const usual = records.combines.map((_, c) => usualWidth(track, c));
	const means = track.passes.map((pass) => passMean(records, account, track, pass.records, usual[pass.combine]!));
	const own = records.combines.map((_, c) =>
		track.passes.flatMap((p, i) => (p.combine === c && means[i] ? [means[i]!] : [])),
	);
	// Bounded, so that one very slow pass does not outweigh all others.
	for (const list of own) {
		const middle = median(list.map((p) => p.speed));
		const reach = BOUND * mad(list.map((p) => p.speed));
		for (const p of list) p.drive = Math.max(middle - reach, Math.min(middle + reach, p.speed));
	}
	const center = own.map((list) => ({
		drive: average(list.map((p) => p.drive)),
		flow: average(list.map((p) => p.flow)),
	}));
	const obstacles = own.map((list, c) => {
		if (list.length < 6) return 'too few of its passes lie side by side';
		// MAD, since a single slow pass does not make a contrast of speeds.
		return mad(list.map((p) => p.speed)) / center[c]!.drive < MONITOR.speedContrast
			? 'its passes were driven at much the same speed'
			: null;
	});
	const pairs = pairsOf(track, seams, means);
	const spread = own.map((list, c) => Math.sqrt(average(list.map((p) => (p.flow - center[c]!.flow) ** 2))));
	const solved = solvePairs(pairs, means, center, obstacles);
	return records.combines.map((_, c) => {
		const count = pairs.filter((p) => p.a === c || p.b === c).length;
		const base = { combine: c, pairs: count, spread_kg_s: Number.isFinite(spread[c]!) ? spread[c]! : 0 };
		const found = solved.get(c);
		if (found) return { ...base, ...found, why: null };
		const why = obstacles[c] ?? 'too few of its passes lie side by side';
		return { ...base, slope: Number.NaN, u: Number.NaN, df: 0, why };
	});
}

function average(list: readonly number[]): number {
	return list.length > 0 ? list.reduce((a, b) => a + b, 0) / list.length : Number.NaN;
}

function usualWidth(track: Track, combine: number): number {
	const widths: number[] = [];
	for (const pass of track.passes) {
		if (pass.combine === combine) for (const i of pass.records) if (track.flag[i] === 0) widths.push(track.width_m[i]!);
	}
	return median(widths);
}

function passMean(
	records: Records,
	account: Account,
	track: Track,
	indices: Int32Array,
	usual_m: number,
): PassMean | null {
	let mass = 0;
	let area = 0;
	let seconds = 0;
	let way = 0;
	let count = 0;
	let width = 0;
	for (const i of indices) {
		const t = records.interval_s[i]!;
		if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0) || !(t > 0) || !(track.speed_m_s[i]! > 0)) continue;
		mass += account.account_kg[i]!;
		area += track.area_m2[i]!;
		seconds += t;
		way += track.speed_m_s[i]! * t;
		width += track.width_m[i]!;
		count++;
	}
	// The yield of a partial swath is too uncertain, and such passes are driven differently.
	if (count < FEWEST_RECORDS || !(mass > 0) || width / count < FULL_HEADER * usual_m) return null;
	return { logYield: Math.log(mass / area), speed: way / seconds, drive: way / seconds, flow: mass / seconds };
}

function pairsOf(track: Track, seams: readonly Seam[], means: readonly (PassMean | null)[]): Pair[] {
	const pairs: Pair[] = [];
	let axis: number | null = null;
	for (const s of seams) {
		if (s.excluded !== null || !means[s.passA] || !means[s.passB]) continue;
		const p = track.passes[s.passA]!;
		const q = track.passes[s.passB]!;
		if (s.length_m < 0.5 * Math.min(p.length_m, q.length_m)) continue;
		// Across the field: to the right of the first long seam's heading.
		axis ??= p.heading_rad;
		const middle = (pass: typeof p, of: Float64Array) => of[pass.records[pass.records.length >> 1]!]!;
		const dx = middle(p, track.cutX_m) - middle(q, track.cutX_m);
		const dy = middle(p, track.cutY_m) - middle(q, track.cutY_m);
		const side = dx * Math.cos(axis) - dy * Math.sin(axis) > 0 ? 1 : -1;
		pairs.push({ p: s.passA, q: s.passB, a: s.combineA, b: s.combineB, side, w: s.length_m });
	}
	return pairs;
}

/** Slope, standard error and degrees of freedom of every combine without an obstacle and with enough pairs. */
function solvePairs(
	all: readonly Pair[],
	means: readonly (PassMean | null)[],
	center: readonly { drive: number; flow: number }[],
	obstacles: readonly (string | null)[],
): Map<number, { slope: number; u: number; df: number }> {
	const out = new Map<number, { slope: number; u: number; df: number }>();
	const slopes = obstacles.flatMap((why, c) =>
		why === null && all.filter((p) => p.a === c || p.b === c).length >= 6 ? [c] : [],
	);
	if (slopes.length === 0) return out;
	// Pairs in which neither combine has an estimate are not used.
	let pairs = all.filter((p) => slopes.includes(p.a) || slopes.includes(p.b));
	const jumps = [...new Set(pairs.filter((p) => p.a !== p.b).map((p) => `${p.a} ${p.b}`))];
	const k = slopes.length + jumps.length + 1;
	const columns = (p: Pair, of: 'flow' | 'drive') => {
		const row = new Array<number>(k).fill(0);
		const a = slopes.indexOf(p.a);
		const b = slopes.indexOf(p.b);
		if (a >= 0) row[a]! += means[p.p]![of] - center[p.a]![of];
		if (b >= 0) row[b]! -= means[p.q]![of] - center[p.b]![of];
		const j = p.a === p.b ? -1 : jumps.indexOf(`${p.a} ${p.b}`);
		if (j >= 0) row[slopes.length + j] = 1;
		row[k - 1] = p.side;
		return row;
	};
	for (let turn = 0; turn < 4; turn++) {
		if (pairs.length < k + 4) return out;
		const x = pairs.map((p) => columns(p, 'flow'));
		const z = pairs.map((p) => columns(p, 'drive'));
		const y = pairs.map((p) => means[p.p]!.logYield - means[p.q]!.logYield);
		const fit = instrumented(pairs, x, z, y);
		if (!fit) return out;
		// Outliers, such as a weed patch or a wrong width, are removed.
		const limit = 4 * mad(fit.residuals, 0);
		const kept = pairs.filter((_, i) => Math.abs(fit.residuals[i]!) <= limit);
		if (kept.length < pairs.length && turn < 3) {
			pairs = kept;
			continue;
		}
		slopes.forEach((c, i) => {
			const passes = new Set(pairs.flatMap((p) => [...(p.a === c ? [p.p] : []), ...(p.b === c ? [p.q] : [])]));
			if (passes.size < 6) return;
			// Effective number of passes: long-tailed speeds count for fewer.
			const drives = [...passes].map((p) => means[p]!.drive - center[c]!.drive);
			const worth = drives.reduce((s, v) => s + v * v, 0) ** 2 / drives.reduce((s, v) => s + v ** 4, 0);
			// A monitor that reads higher at high flow needs a lower factor there.
			out.set(c, { slope: -fit.beta[i]!, u: fit.u[i]!, df: Math.max(1, Math.min(passes.size, 1.5 * worth) / 2 - 2) });
		});
		return out;
	}
	return out;
}

/** Weighted instrumental-variable fit of y on x with instruments z; null where it is singular. */
function instrumented(pairs: readonly Pair[], x: number[][], z: number[][], y: number[]) {
	const [X, Z, Y] = [new Matrix(x), new Matrix(z), Matrix.columnVector(y)];
	const [n, k] = [X.rows, X.columns];
	const weighted = Z.clone().mulColumnVector(pairs.map((p) => p.w));
	const zx = weighted.transpose().mmul(X);
	// Columns differ in size (kg/s, m/s, ones), so the condition number is taken after scaling.
	const size = zx.diagonal().map((v) => Math.sqrt(Math.abs(v)) || 1);
	const scaled = zx.clone().divRowVector(size).divColumnVector(size);
	if (!(new SingularValueDecomposition(scaled).condition < 1e6)) return null;
	const A = inverse(scaled).divRowVector(size).divColumnVector(size);
	const beta = A.mmul(weighted.transpose().mmul(Y));
	const residuals = Matrix.sub(Y, X.mmul(beta)).to1DArray();
	const moments = weighted.mulColumnVector(residuals);
	// Pairs that share a pass share its error.
	const at = new Map<number, number[]>();
	pairs.forEach(({ p, q }, i) => {
		for (const pass of [p, q]) at.set(pass, [...(at.get(pass) ?? []), i]);
	});
	const around = Matrix.zeros(n, k);
	pairs.forEach(({ p, q }, r) => {
		for (const s of new Set([...at.get(p)!, ...at.get(q)!])) {
			around.setRow(r, Matrix.add(around.getRowVector(r), moments.getRowVector(s)));
		}
	});
	const variances = (near: Matrix) => A.mmul(moments.transpose().mmul(near)).mmul(A.transpose()).diagonal();
	const [plain, shared] = [variances(moments), variances(around)];
	const u = plain.map((v, i) => Math.sqrt((Math.max(v, shared[i]!) * n) / Math.max(1, n - k)));
	return { beta: beta.to1DArray(), u, residuals };
}
