import type { Account, Records, Seam, Track } from '../model/index.ts';
import { mad } from '../stats/index.ts';

/** What passes side by side say of a combine's flow curve. */
export interface FlowSlope {
	combine: number;
	/** d log(factor) / d flow, per kg/s as read. NaN where speeds do not differ. */
	slope: number;
	u: number;
	df: number;
	pairs: number;
	/** Standard deviation of the passes' mean flows, kg/s: over how much of a range the slope matters. */
	spread_kg_s: number;
	/** Why there is none; null where there is. */
	why: string | null;
}

interface PassMean {
	logYield: number;
	speed: number;
	flow: number;
	seconds: number;
}

/** Passes with fewer kept records than this say too little. */
const FEWEST_RECORDS = 15;

/**
 * The slope of the factor over flow, from neighbouring passes of one combine, speed being the instrument:
 * β = Σ Δv̄·Δln y / Σ Δv̄·Δq. Flow's noise is in yield and flow alike, and the plain slope invents curves; the pass's
 * mean speed shares nothing with it. A trend across the field, or with time, is taken out as the mean of the pairs.
 */
export function flowSlopes(records: Records, account: Account, track: Track, seams: readonly Seam[]): FlowSlope[] {
	const means = track.passes.map((pass) => passMean(records, account, track, pass.records));
	return records.combines.map((_, c) => {
		const pairs: { a: number; b: number; dv: number; dy: number; dq: number; w: number }[] = [];
		for (const s of seams) {
			if (s.excluded !== null || s.combineA !== c || s.combineB !== c) continue;
			const later = track.passes[s.passA]!.start_s > track.passes[s.passB]!.start_s;
			const [p, q] = later ? [s.passA, s.passB] : [s.passB, s.passA];
			const a = means[p];
			const b = means[q];
			if (!a || !b) continue;
			const shorter = Math.min(track.passes[p]!.length_m, track.passes[q]!.length_m);
			if (s.length_m < 0.5 * shorter) continue;
			const w = s.length_m;
			pairs.push({ a: p, b: q, dv: a.speed - b.speed, dy: a.logYield - b.logYield, dq: a.flow - b.flow, w });
		}
		return slopeOf(c, pairs, means);
	});
}

function passMean(records: Records, account: Account, track: Track, indices: Int32Array): PassMean | null {
	let mass = 0;
	let area = 0;
	let seconds = 0;
	let way = 0;
	let count = 0;
	for (const i of indices) {
		const t = records.interval_s[i]!;
		if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0) || !(t > 0) || !(track.speed_m_s[i]! > 0)) continue;
		mass += account.account_kg[i]!;
		area += track.area_m2[i]!;
		seconds += t;
		way += track.speed_m_s[i]! * t;
		count++;
	}
	if (count < FEWEST_RECORDS || !(mass > 0)) return null;
	return { logYield: Math.log(mass / area), speed: way / seconds, flow: mass / seconds, seconds };
}

function slopeOf(
	combine: number,
	all: { a: number; b: number; dv: number; dy: number; dq: number; w: number }[],
	means: readonly (PassMean | null)[],
): FlowSlope {
	const none = (why: string): FlowSlope => ({
		combine,
		slope: Number.NaN,
		u: Number.NaN,
		df: 0,
		pairs: all.length,
		spread_kg_s: 0,
		why,
	});
	if (all.length < 6) return none('too few of its passes lie side by side');
	let pairs = all;
	let fit = iv(pairs);
	// One far pair (a weed patch, a wrong width) must not make a curve.
	for (let turn = 0; turn < 3; turn++) {
		const scale = mad(fit.residuals, 0);
		const kept: typeof pairs = pairs.filter((_, i) => Math.abs(fit.residuals[i]!) <= 4 * scale);
		if (kept.length === pairs.length || kept.length < 6) break;
		pairs = kept;
		fit = iv(pairs);
	}
	const passes = [...new Set(pairs.flatMap((p) => [p.a, p.b]))].map((p) => means[p]!);
	const speed = passes.reduce((s, p) => s + p.speed, 0) / passes.length;
	const flow = passes.reduce((s, p) => s + p.flow, 0) / passes.length;
	const contrast = Math.sqrt(fit.vv) / speed;
	if (contrast < 0.05) return none('its passes were driven at much the same speed');
	// Speed must move flow as it does in an even crop; where it hardly does, it is no instrument.
	if (!(fit.vq * speed > 0.3 * fit.vv * flow)) return none('its flow did not follow its speed');
	// Pairs that share a pass share its error.
	let variance = 0;
	let plain = 0;
	const moment = pairs.map((p, i) => p.w * fit.dv[i]! * fit.residuals[i]!);
	for (let i = 0; i < pairs.length; i++) {
		plain += moment[i]! ** 2;
		for (let j = 0; j < pairs.length; j++) {
			const p = pairs[i]!;
			const q = pairs[j]!;
			if (i === j || p.a === q.a || p.a === q.b || p.b === q.a || p.b === q.b) variance += moment[i]! * moment[j]!;
		}
	}
	const n = pairs.length;
	const u = (Math.sqrt(Math.max(variance, plain)) / Math.abs(fit.below)) * Math.sqrt(n / Math.max(1, n - 2));
	const spread = Math.sqrt(passes.reduce((s, p) => s + (p.flow - flow) ** 2, 0) / passes.length);
	return { combine, slope: -fit.slope, u, df: Math.max(1, n / 2 - 2), pairs: n, spread_kg_s: spread, why: null };
}

/** Instrumented slope of dy over dq, every difference about its weighted mean. */
function iv(pairs: readonly { dv: number; dy: number; dq: number; w: number }[]) {
	let w = 0;
	let v = 0;
	let y = 0;
	let q = 0;
	for (const p of pairs) {
		w += p.w;
		v += p.w * p.dv;
		y += p.w * p.dy;
		q += p.w * p.dq;
	}
	const dv = pairs.map((p) => p.dv - v / w);
	let above = 0;
	let below = 0;
	let vv = 0;
	pairs.forEach((p, i) => {
		above += p.w * dv[i]! * (p.dy - y / w);
		below += p.w * dv[i]! * (p.dq - q / w);
		vv += p.w * dv[i]! ** 2;
	});
	const slope = above / below;
	const residuals = pairs.map((p) => p.dy - y / w - slope * (p.dq - q / w));
	return { slope, dv, below, residuals, vv: vv / w, vq: below / w };
}
