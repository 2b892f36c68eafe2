import { silentFlow } from '../../account/index.ts';
import { type Records, type RunSoFar, remembered } from '../../model/index.ts';
import { tQuantile } from '../../stats/index.ts';

/** Half-width of a 95 % interval in standard deviations, normal distribution. */
const NORMAL = 1.96;

/** Less ground than this may well have had no grain, m². */
const LEAST_CUT_M2 = 1000;

/** Relative half-widths of 95 % intervals of the field's grain; NaN where some combine's level is not known. */
export interface FieldHalves {
	/** Below and above, of the wet weight. */
	wet: [number, number];
	/** Below and above, of the dry weight: includes moisture. */
	dry: [number, number];
}

/**
 * Uncertainty of the field's totals, from the factors weighted by their share of the grain, with their covariance (mainly
 * from the cart ratio). Each factor's interval keeps its width relative to its standard uncertainty, so that with one
 * combine the total's interval is the factor's. Moisture offsets of several sensors come from the same tickets and are
 * taken to be fully correlated.
 *
 * @param corrected_kg - by combine, wet
 * @param moisture_pct - the field's mean, offsets applied
 */
export function fieldHalves(run: RunSoFar, corrected_kg: readonly number[], moisture_pct: number): FieldHalves {
	const { factors, moisture } = run;
	const none: [number, number] = [Number.NaN, Number.NaN];
	const total = corrected_kg.reduce((sum, kg) => sum + kg, 0);
	const m = corrected_kg.length;
	const share = corrected_kg.map((kg) => kg / total);
	const width: [number[], number[]] = [[], []];
	const grounds = groundsOf(run);
	for (let c = 0; c < m; c++) {
		const f = factors.factors.find((g) => g.combine === c);
		if (share[c] === 0) {
			const { counted_m2, blank_m2 } = grounds[c]!;
			// A combine that cut ground and has no grain lost it: its flow is never above 0, say.
			if (counted_m2 + blank_m2 > LEAST_CUT_M2) return { wet: none, dry: none };
			width[0].push(0);
			width[1].push(0);
			continue;
		}
		if (!f || f.source === null || !(f.u_rel > 0)) return { wet: none, dry: none };
		width[0].push((f.value - f.interval[0]) / (f.value * f.u_rel));
		width[1].push((f.interval[1] - f.value) / (f.value * f.u_rel));
	}
	const half = (side: 0 | 1): number => {
		let variance = 0;
		let widened = 0;
		for (let a = 0; a < m; a++) {
			for (let b = 0; b < m; b++) {
				// A combine without grain has no covariance either.
				if (share[a] === 0 || share[b] === 0) continue;
				const term = share[a]! * share[b]! * (factors.covariance[a * m + b] ?? 0);
				variance += term;
				widened += term * width[side][a]! * width[side][b]!;
			}
		}
		// Rounding may give a tiny negative variance where factors are negatively correlated.
		return Math.sqrt(Math.max(0, variance === 0 ? 0 : widened));
	};
	let dried = 0;
	for (const o of moisture) {
		const k = o.source === 'tickets' && o.n > 1 ? tQuantile(0.975, o.n - 1) : NORMAL;
		dried += ((share[o.combine] ?? 0) * k * o.u_pct) / (100 - moisture_pct);
	}
	// Where it was not recorded how much grew, as much may have grown as elsewhere, and weights make up for a part at most.
	let more = 0;
	for (let c = 0; c < m; c++) if (share[c]! > 0) more += share[c]! * (grounds[c]!.blank_m2 / grounds[c]!.counted_m2);
	const wet: [number, number] = [half(0), half(1)];
	return {
		wet: [wet[0], wet[1] + more],
		dry: [Math.hypot(wet[0], dried), Math.hypot(wet[1], dried) + more],
	};
}

/** Ground that a combine cut: with grain counted on it, and where its log has no flow, none for minutes on end, or no seconds. */
export interface Ground {
	counted_m2: number;
	blank_m2: number;
}

/** The totals and the cautions ask for it, again after every value set by hand. */
const silentBy = new WeakMap<Records, Uint8Array>();

/** The ground of each combine. */
export function groundsOf({ field, track }: Pick<RunSoFar, 'field' | 'track'>): Ground[] {
	const { records } = field;
	const silent = remembered(silentBy, records, () => silentFlow(records));
	const grounds = records.combines.map(() => ({ counted_m2: 0, blank_m2: 0 }));
	for (let i = 0; i < records.n; i++) {
		const m2 = track.area_m2[i]!;
		if (!(m2 > 0)) continue;
		const counted = silent[i] === 0 && Number.isFinite(records.flow_kg_s[i]! * records.interval_s[i]!);
		grounds[records.combine[i]!]![counted ? 'counted_m2' : 'blank_m2'] += m2;
	}
	return grounds;
}
