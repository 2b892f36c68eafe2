/** Slopes of combines over flow, from neighboring passes cut at different flows. */
import { inverse, Matrix, SingularValueDecomposition } from 'ml-matrix';
import { type Account, MONITOR, type Records, type Seam, type Track } from '../../model/index.ts';
import { mad } from '../../stats/index.ts';

/** A combine's flow curve as estimated from neighboring passes. */
export interface FlowSlope {
	combine: number;
	/** d log(factor) / d flow, per kg/s as recorded. NaN where it cannot be estimated. */
	slope: number;
	u: number;
	df: number;
	/** Why there is no estimate; null where there is one. */
	why: string | null;
}

interface PassMean {
	logYield: number;
	/** The instrument. */
	speed: number;
	flow: number;
}

/** Two neighboring passes. */
interface Pair {
	p: number;
	q: number;
	/** Combines of both. */
	a: number;
	b: number;
	/** Weight: length of the seam, meters. */
	w: number;
}

/**
 * Estimates the slopes of the factors over flow from neighboring passes, with speed as the instrument: for one combine,
 * β = Σ Δv̄·Δln y / Σ Δv̄·Δq. The noise of flow is in yield as well, so regressing yield on flow finds curves that are not
 * there; a pass's mean speed does not share that noise. Neighboring passes of two combines count too, with the jump between
 * them as one more unknown: all slopes and jumps are solved together (instrumental variables, just identified). Standard
 * errors are clustered over pairs that share a pass.
 */
export function flowSlopes(records: Records, account: Account, track: Track, seams: readonly Seam[]): FlowSlope[] {
	const means = track.passes.map((pass) => passMean(records, account, track, pass.records));
	const own = records.combines.map((_, c) =>
		track.passes.flatMap((p, i) => (p.combine === c && means[i] ? [means[i]!] : [])),
	);
	const center = own.map((list) => ({
		speed: average(list.map((p) => p.speed)),
		flow: average(list.map((p) => p.flow)),
	}));
	const obstacles = own.map((list, c) => {
		if (list.length < 6) return 'too few of its passes lie side by side';
		// MAD, since a single slow pass does not make a contrast of speeds.
		return mad(list.map((p) => p.speed)) / center[c]!.speed < MONITOR.speedContrast
			? 'its passes were driven at much the same speed'
			: null;
	});
	const pairs = pairsOf(seams, means);
	const solved = solvePairs(pairs, means, center, obstacles);
	return records.combines.map((_, c) => {
		const found = solved.get(c);
		if (found) return { combine: c, ...found, why: null };
		const why = obstacles[c] ?? 'too few of its passes lie side by side';
		return { combine: c, slope: Number.NaN, u: Number.NaN, df: 0, why };
	});
}

function average(list: readonly number[]): number {
	return list.length > 0 ? list.reduce((a, b) => a + b, 0) / list.length : Number.NaN;
}

function passMean(records: Records, account: Account, track: Track, indices: Int32Array): PassMean | null {
	let mass = 0;
	let area = 0;
	let seconds = 0;
	let way = 0;
	for (const i of indices) {
		const t = records.interval_s[i]!;
		if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0) || !(t > 0) || !(track.speed_m_s[i]! > 0)) continue;
		mass += account.account_kg[i]!;
		area += track.area_m2[i]!;
		seconds += t;
		way += track.speed_m_s[i]! * t;
	}
	return mass > 0 ? { logYield: Math.log(mass / area), speed: way / seconds, flow: mass / seconds } : null;
}

function pairsOf(seams: readonly Seam[], means: readonly (PassMean | null)[]): Pair[] {
	return seams
		.filter((s) => s.excluded === null && means[s.passA] && means[s.passB])
		.map((s) => ({ p: s.passA, q: s.passB, a: s.combineA, b: s.combineB, w: s.length_m }));
}

/** Slope, standard error and degrees of freedom of every combine without an obstacle and with enough pairs. */
function solvePairs(
	all: readonly Pair[],
	means: readonly (PassMean | null)[],
	center: readonly { speed: number; flow: number }[],
	obstacles: readonly (string | null)[],
): Map<number, { slope: number; u: number; df: number }> {
	const out = new Map<number, { slope: number; u: number; df: number }>();
	const slopes = obstacles.flatMap((why, c) =>
		why === null && all.filter((p) => p.a === c || p.b === c).length >= 6 ? [c] : [],
	);
	if (slopes.length === 0) return out;
	// Pairs in which neither combine has an estimate are not used.
	const pairs = all.filter((p) => slopes.includes(p.a) || slopes.includes(p.b));
	const jumps = [...new Set(pairs.filter((p) => p.a !== p.b).map((p) => `${p.a} ${p.b}`))];
	const k = slopes.length + jumps.length;
	const columns = (p: Pair, of: 'flow' | 'speed') => {
		const row = new Array<number>(k).fill(0);
		const a = slopes.indexOf(p.a);
		const b = slopes.indexOf(p.b);
		if (a >= 0) row[a]! += means[p.p]![of] - center[p.a]![of];
		if (b >= 0) row[b]! -= means[p.q]![of] - center[p.b]![of];
		if (p.a !== p.b) row[slopes.length + jumps.indexOf(`${p.a} ${p.b}`)] = 1;
		return row;
	};
	if (pairs.length < k + 4) return out;
	const fit = instrumented(
		pairs,
		pairs.map((p) => columns(p, 'flow')),
		pairs.map((p) => columns(p, 'speed')),
		pairs.map((p) => means[p.p]!.logYield - means[p.q]!.logYield),
	);
	if (!fit) return out;
	slopes.forEach((c, i) => {
		const passes = new Set(pairs.flatMap((p) => [...(p.a === c ? [p.p] : []), ...(p.b === c ? [p.q] : [])]));
		if (passes.size < 6) return;
		// A monitor that reads higher at high flow needs a lower factor there.
		out.set(c, { slope: -fit.beta[i]!, u: fit.u[i]!, df: passes.size / 2 - 2 });
	});
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
	return { beta: beta.to1DArray(), u };
}
