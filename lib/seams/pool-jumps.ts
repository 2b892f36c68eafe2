/** One jump from the jumps of many seams. */
import type { Seam } from '../model/index.ts';
import { median } from '../stats/index.ts';
import type { Baseline } from './sample-seams.ts';

export interface SeamValue {
	seam: number;
	jump: number;
	length_m: number;
	blocks: number;
	/** Distance between the passes compared, swaths: 1 where they touch, more where a part header was stepped over. */
	apart: number;
	/** +1 or −1: on which side of the second pass the first lies, along the field's axis. */
	side: number;
}

/** Seams whose scatter has more than so many times the variance expected do not differ by chance: a width may be wrong. */
const DISAGREE = 6;

/** A longer seam gets no more weight than one of this length, since its error is common along it, meters. */
const COHERENT_M = 150;

/**
 * Mean jump over seams, J_s = J + g × side + error, with the gradient g's prior from same-combine seams. The
 * uncertainty is the scatter between seams (those that share a pass are correlated) pooled with the expected scatter.
 */
export function poolJumps(
	values: readonly SeamValue[],
	seams: readonly Seam[],
	baseline: Baseline,
): { jump: number; u: number; df: number } {
	const n = values.length;
	// The crop differs the more the farther apart two passes lie.
	const w = values.map((v) => v.length_m / (v.length_m + COHERENT_M) / v.apart ** 2);
	// Outlying seams are limited: a track or a ditch may run along one.
	const center = median(values.map((v) => v.jump - baseline.gradient * v.side));
	const scale = 1.4826 * median(values.map((v) => Math.abs(v.jump - baseline.gradient * v.side - center)));
	const reach = Math.max(3 * scale, 2.5 * baseline.u);
	const y = values.map((v) => {
		const off = v.jump - baseline.gradient * v.side - center;
		return center + Math.max(-reach, Math.min(reach, off));
	});
	// Normal equations of (J, g − gradient), the second with its prior.
	let a = 0;
	let b = 0;
	let c = 1 / baseline.gradientU ** 2;
	for (let i = 0; i < n; i++) {
		const q = w[i]! / baseline.u ** 2;
		a += q;
		b += q * values[i]!.side;
		c += q;
	}
	const det = a * c - b * b;
	const map = values.map((v, i) => ((w[i]! / baseline.u ** 2) * (c - b * v.side)) / det);
	const mapG = values.map((v, i) => ((w[i]! / baseline.u ** 2) * (a * v.side - b)) / det);
	const jump = map.reduce((sum, m, i) => sum + m * y[i]!, 0);
	const g = mapG.reduce((sum, m, i) => sum + m * y[i]!, 0);
	const e = y.map((v, i) => v - jump - g * values[i]!.side);
	let plain = 0;
	let shared = 0;
	let expected = 0;
	for (let i = 0; i < n; i++) {
		const s = seams[values[i]!.seam]!;
		for (let j = 0; j < n; j++) {
			const t = seams[values[j]!.seam]!;
			const both = map[i]! * map[j]! * e[i]! * e[j]!;
			// Seams on either side of one pass share its error by half.
			const share = i === j ? 1 : s.passA === t.passA || s.passB === t.passB ? 0.5 : 0;
			if (share > 0) expected += share * map[i]! * map[j]! * baseline.u ** 2 * values[i]!.apart * values[j]!.apart;
			if (i === j) plain += both;
			if (share > 0) shared += both;
		}
	}
	const passes = Math.min(
		n,
		new Set(values.map((v) => seams[v.seam]!.passA)).size,
		new Set(values.map((v) => seams[v.seam]!.passB)).size,
	);
	const ownDf = Math.max(0, passes - 1);
	const found = n > 1 ? (Math.max(plain, shared) * n) / (n - 1) : 0;
	// Add the part of the gradient that the seams do not determine.
	const prior = (b / det / baseline.gradientU ** 2) ** 2 * baseline.gradientU ** 2;
	const pooled = (found * ownDf + expected * baseline.df) / (ownDf + baseline.df);
	const variance = Math.max(pooled, found > DISAGREE * expected ? found : 0) + prior;
	return { jump, u: Math.sqrt(variance), df: ownDf + baseline.df };
}
