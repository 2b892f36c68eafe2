import type { FactorInput } from '../factor/index.ts';
import { type Factor, type Factors, MONITOR, type SeamJump } from '../model/index.ts';
import { columnOf, groupBy, weightedRegression } from '../stats/index.ts';

/** Half-width of a 95 % interval in standard deviations, normal distribution. */
const NORMAL = 1.96;

/**
 * Levels combines against each other at their seams, where nothing was weighed and the user asks for it. Seams determine
 * ratios only, so combines joined by seams keep their total recorded grain. Its error is as uncertain as that of any
 * monitor without weights (MONITOR.factor), which is included in every uncertainty here.
 */
export function leveledBySeams({ records, account, plan, jumps }: FactorInput, bare: Factors): Factors {
	if (plan.pins.level !== 'seams') return bare;
	const say = (text: string): Factors => ({ ...bare, cautions: [...(bare.cautions ?? []), text] });
	if (bare.factors.some((f) => f.source !== null)) {
		return say(
			'Combines were to be leveled by their seams. This was not done: weights, or a factor set by hand, already give the level.',
		);
	}
	const across = jumps.filter((j) => j.combineA !== j.combineB && Number.isFinite(j.log_jump) && j.u_log > 0);
	const groups = joined(across, records.combines.length);
	if (groups.length === 0) {
		return say('Combines were to be leveled by their seams, but no seam compares two of them. Yields are as recorded.');
	}
	const kg = new Float64Array(records.combines.length);
	for (let i = 0; i < records.n; i++) kg[records.combine[i]!]! += account.account_kg[i]! || 0;
	const factors = [...bare.factors];
	const covariance = bare.covariance.slice();
	const cautions = [...(bare.cautions ?? [])];
	for (const group of groups) {
		const { log, cov } = levelsOf(group, across, kg);
		group.forEach((a, i) => {
			factors[a] = leveled(bare.factors[a]!, Math.exp(log[i]!), Math.sqrt(cov(i, i)));
			group.forEach((b, j) => {
				covariance[a * records.combines.length + b] = cov(i, j);
			});
		});
		const names = group.map((c) => records.combines[c]).join(' and ');
		cautions.push(
			`No weight shows the level. Combines ${names} are leveled against each other by their seams; the level itself is unknown. Together they keep the grain that they recorded, and it may be off by as much as any monitor that was never checked (about ±${Math.round(100 * NORMAL * MONITOR.factor)}%).`,
		);
	}
	const of = (what: 'value' | 'u_rel') => columnOf(records.combine, (c) => factors[c]![what]);
	return { ...bare, factors, factor: of('value'), u_rel: of('u_rel'), covariance, cautions };
}

/** Groups of combines joined by seams, directly or through others. */
function joined(jumps: readonly SeamJump[], combines: number): number[][] {
	const group = Array.from({ length: combines }, (_, c) => c);
	for (const { combineA, combineB } of jumps) {
		const [to, from] = [group[combineA]!, group[combineB]!];
		group.forEach((g, c) => {
			if (g === from) group[c] = to;
		});
	}
	return [...groupBy(group.keys(), (c) => group[c]).values()].filter((g) => g.length > 1);
}

/** Log factors of a group that fit its seams best and keep its recorded grain, with their covariance. */
function levelsOf(group: readonly number[], across: readonly SeamJump[], kg: Float64Array) {
	const seen = across.filter((j) => group.includes(j.combineA));
	// Along a seam of A and B corrected yields agree: log k_B − log k_A is the jump. The first combine is fixed.
	const rows = seen.map((j) => group.slice(1).map((c) => Number(j.combineB === c) - Number(j.combineA === c)));
	const fit = weightedRegression(
		rows,
		seen.map((j) => j.log_jump),
		seen.map((j) => j.u_log ** -2),
	);
	const apart = [0, ...fit.beta];
	const p = group.length - 1;
	const C = (i: number, j: number) => (i === 0 || j === 0 ? 0 : fit.covariance[(i - 1) * p + j - 1]!);
	const mass = group.map((c, i) => kg[c]! * Math.exp(apart[i]!));
	const moved = mass.reduce((a, b) => a + b, 0);
	const recorded = group.reduce((sum, c) => sum + kg[c]!, 0);
	const share = mass.map((m) => (moved > 0 ? m / moved : 1 / group.length));
	const common = moved > 0 ? Math.log(recorded / moved) : 0;
	const row = share.map((_, i) => share.reduce((sum, w, j) => sum + w * C(i, j), 0));
	const mean = share.reduce((sum, w, i) => sum + w * row[i]!, 0);
	return {
		log: apart.map((x) => x + common),
		cov: (i: number, j: number) => C(i, j) - row[i]! - row[j]! + mean + MONITOR.factor ** 2,
	};
}

function leveled(f: Factor, value: number, u_rel: number): Factor {
	const next = Math.hypot(u_rel, MONITOR.slow, MONITOR.fill);
	const interval: [number, number] = [value * (1 - NORMAL * u_rel), value * (1 + NORMAL * u_rel)];
	return {
		...f,
		form: 'constant',
		value,
		u_rel,
		interval,
		next_interval: [value * (1 - NORMAL * next), value * (1 + NORMAL * next)],
		source: 'seams',
		changes: [],
		knots: [],
		curve: [],
		advice: [
			'Leveled against its neighbors by seams; the level itself is unknown. Weigh a few dumps before you calibrate anything from this.',
		],
	};
}
