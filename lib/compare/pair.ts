import type { ComparedCombine, ComparedPair, ComparedRow, SeamJump } from '../model/index.ts';
import { tQuantile } from '../stats/index.ts';
import { formatSigned, rangeText, TOLERANCE_PCT } from '../units/index.ts';
import type { CompareInput } from './input.ts';
import { rateRows } from './rates.ts';
import { paired, row } from './rows.ts';
import { sideBySide } from './side-by-side.ts';
import type { Day } from './time.ts';

/** Smallest difference that matters, relative: the error of a well calibrated monitor. */
const TOLERANCE = TOLERANCE_PCT / 100;

/** Rows and remarks of one pair of combines. */
export function pairOf(
	input: CompareInput,
	A: ComparedCombine,
	B: ComparedCombine,
	days: readonly Day[],
): ComparedPair {
	const { factors, jumps } = input;
	const C = input.records.combines.length;
	const a = A.combine;
	const b = B.combine;
	const rows: ComparedRow[] = [];
	const z = tQuantile(0.975, 30);

	const cov = factors.covariance;
	const uLog = Math.sqrt(Math.max(0, cov[a * C + a]! + cov[b * C + b]! - 2 * cov[a * C + b]!));
	const ratio = A.factor / B.factor;
	const factorHalf = z * uLog * B.factor;
	const fDiff = A.factor - B.factor;
	rows.push(
		row(
			{ what: 'factor', label: 'factor (reference ÷ monitor)', unit: '', shared: false, a: A.factor, b: B.factor },
			fDiff,
			[fDiff - factorHalf, fDiff + factorHalf],
			{ tolerance: TOLERANCE * B.factor, missing: 'a combine has no factor' },
		),
	);
	const jump = jumps.find((j) => j.combineA === a && j.combineB === b);
	const side = sideBySide(input, a, b);
	if (jump) {
		const nan = Number.NaN;
		rows.push(
			row(
				{ what: 'seam_before', label: 'difference at seams, as recorded', unit: '%', shared: true, a: nan, b: nan },
				jump.before_pct,
				jump.before_interval,
				{ tolerance: 100 * TOLERANCE, missing: 'too little ground side by side' },
			),
			row(
				{ what: 'seam_after', label: 'difference at seams, corrected', unit: '%', shared: true, a: nan, b: nan },
				jump.after_pct,
				jump.after_interval,
				{ tolerance: 100 * TOLERANCE, missing: 'a combine has no factor, or too little ground side by side' },
			),
		);
	}
	const lag = A.lag_s - B.lag_s;
	const lagHalf = z * Math.hypot(A.u_lag_s, B.u_lag_s);
	rows.push(
		row(
			{ what: 'lag', label: 'delay from header to sensor', unit: 's', shared: false, a: A.lag_s, b: B.lag_s },
			lag,
			[lag - lagHalf, lag + lagHalf],
			{ missing: 'no delay was found' },
		),
	);
	rows.push(...rateRows(A, B, days[a]!, days[b]!));
	if (jump && side.wetB > 0) {
		const to = (pct: number) => (side.wetB * pct) / 100;
		const wetA = side.wetB * (1 + jump.after_pct / 100);
		rows.push(
			row(
				{ what: 'scale_weight', label: 'wet weight per area', unit: 'kg/ha', shared: true, a: wetA, b: side.wetB },
				to(jump.after_pct),
				[to(jump.after_interval[0]), to(jump.after_interval[1])],
				{ tolerance: TOLERANCE * side.wetB, missing: 'too little ground side by side' },
			),
		);
	}
	const pairOn = (
		what: 'speed' | 'moisture',
		label: string,
		unit: '%' | 'm/s',
		list: { a: number; b: number; w: number }[],
	) => {
		const good = list.filter((v) => Number.isFinite(v.a) && Number.isFinite(v.b));
		if (good.length === 0) return;
		const d = paired(
			good.map((v) => v.a - v.b),
			good.map((v) => v.w),
		);
		const W = good.reduce((s, v) => s + v.w, 0);
		const mean = (of: 'a' | 'b') => good.reduce((s, v) => s + v.w * v[of], 0) / W;
		rows.push(
			row({ what, label, unit, shared: true, a: mean('a'), b: mean('b') }, d.difference, d.interval, {
				missing: 'they meet along one seam only',
			}),
		);
	};
	pairOn('speed', 'ground speed', 'm/s', side.speed);
	pairOn('moisture', 'moisture, offsets applied', '%', side.moisture);
	if (jump && side.dryB > 0) {
		// Moisture offsets are uncertain too; a point of moisture changes dry yield by 1/(100 − M).
		const uM = Math.hypot(input.moisture[a]?.u_pct ?? 0, input.moisture[b]?.u_pct ?? 0) / (100 - side.moisture_pct);
		const low = jump.after_pct / 100 - Math.hypot((jump.after_pct - jump.after_interval[0]) / 100, z * uM);
		const high = jump.after_pct / 100 + Math.hypot((jump.after_interval[1] - jump.after_pct) / 100, z * uM);
		const yieldA = side.dryB * (1 + jump.after_pct / 100);
		rows.push(
			row(
				{ what: 'yield', label: 'dry yield', unit: 'kg/ha', shared: true, a: yieldA, b: side.dryB },
				yieldA - side.dryB,
				[low * side.dryB, high * side.dryB],
				{ tolerance: TOLERANCE * side.dryB, missing: 'too little ground side by side' },
			),
		);
	}
	return { combineA: a, combineB: b, rows, remarks: pairRemarks(A, B, jump, ratio) };
}

/** Remarks on the seam difference that remains after correction. */
function pairRemarks(A: ComparedCombine, B: ComparedCombine, jump: SeamJump | undefined, ratio: number): string[] {
	if (!jump)
		return [`Combines ${A.name} and ${B.name} never cut side by side, so there is no shared ground to compare.`];
	const out = [...jump.remarks];
	if (!Number.isFinite(ratio) || !Number.isFinite(jump.after_pct)) return out;
	const [low, high] = jump.after_interval;
	if (low > 0 || high < 0) {
		const less = jump.after_pct > 0 ? B.name : A.name;
		out.push(
			`A difference of ${Math.abs(jump.after_pct).toFixed(1)}% remains after correction: by the weights, ${less} brought in less ` +
				'from the same ground. Possible causes: grain left on the ground behind it, a header narrower than set, factors, ' +
				'or a crop that differed from pass to pass.',
		);
	} else {
		const range = rangeText(jump.after_interval, 1, { unit: '%', sign: true });
		out.push(`No difference shown after correction (${formatSigned(jump.after_pct, 1)}%; 95% interval ${range}).`);
	}
	return out;
}
