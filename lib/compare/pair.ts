import type { ComparedCombine, ComparedPair, ComparedRow, MoistureOffset, SeamJump } from '../model/index.ts';
import { tQuantile } from '../stats/index.ts';
import { noneRemainsSentence, TOLERANCE_PCT } from '../units/index.ts';
import type { CompareInput } from './input.ts';
import { rateRows } from './rates.ts';
import { sideBySide } from './side-by-side.ts';
import { paired, row } from './verdict-rows.ts';
import type { Day } from './workday.ts';

/** Smallest difference that matters, relative: the error of a well calibrated monitor. */
const TOLERANCE = TOLERANCE_PCT / 100;

/** Standard errors to either side of an estimate that a 95% interval reaches. */
const Z = tQuantile(0.975, 30);

/** Why there is no interval where passes of the two hardly meet. */
const TOO_LITTLE = 'too little ground side by side';

/** Rows and remarks of one pair of combines. */
export function pairOf(
	input: CompareInput,
	A: ComparedCombine,
	B: ComparedCombine,
	days: readonly Day[],
): ComparedPair {
	const [a, b] = [A.combine, B.combine];
	const jump = input.jumps.find((j) => j.combineA === a && j.combineB === b);
	const side = sideBySide(input, a, b);
	const levelled = [A, B]
		.filter(({ combine }) => input.factors.factors[combine]!.source === 'seams')
		.map((c) => c.name);
	const circular =
		levelled.length === 0 ? null : `no weight of ${levelled.join(' or ')}, whose factor makes the seams agree`;
	const rows = [
		factorRow(input, A, B),
		...(jump ? seamRows(jump, circular) : []),
		lagRow(A, B),
		...rateRows(A, B, days[a]!, days[b]!),
		...(jump && side.wetB > 0 ? [weightRow(jump, side.wetB, circular)] : []),
		...passRow('speed', 'ground speed', 'm/s', side.speed),
		...passRow('moisture', 'moisture, offsets applied', '%', side.moisture),
		...(jump && side.dryB > 0 ? [yieldRow(jump, side, input.moisture, [a, b], circular)] : []),
	];
	return { combineA: a, combineB: b, rows, remarks: pairRemarks(A, B, jump, circular) };
}

function factorRow(
	{ factors: { covariance }, records }: CompareInput,
	A: ComparedCombine,
	B: ComparedCombine,
): ComparedRow {
	const C = records.combines.length;
	const at = (p: ComparedCombine, q: ComparedCombine) => covariance[p.combine * C + q.combine]!;
	const half = Z * Math.sqrt(Math.max(0, at(A, A) + at(B, B) - 2 * at(A, B))) * B.factor;
	const difference = A.factor - B.factor;
	return row(
		{ what: 'factor', label: 'factor (reference ÷ monitor)', unit: '', shared: false, a: A.factor, b: B.factor },
		difference,
		[difference - half, difference + half],
		{ tolerance: TOLERANCE * B.factor, missing: 'a combine has no factor' },
	);
}

/** `circular`: why the corrected seams say nothing, where a factor was taken from them. */
function seamRows(jump: SeamJump, circular: string | null): ComparedRow[] {
	const seam = { unit: '%', shared: true, a: Number.NaN, b: Number.NaN } as const;
	const tolerance = 100 * TOLERANCE;
	return [
		row(
			{ what: 'seam_before', label: 'difference at seams, as recorded', ...seam },
			jump.before_pct,
			jump.before_interval,
			{
				tolerance,
				missing: TOO_LITTLE,
			},
		),
		row({ what: 'seam_after', label: 'difference at seams, corrected', ...seam }, jump.after_pct, jump.after_interval, {
			tolerance,
			missing: `a combine has no factor, or ${TOO_LITTLE}`,
			circular,
		}),
	];
}

function lagRow(A: ComparedCombine, B: ComparedCombine): ComparedRow {
	const lag_s = A.lag_s - B.lag_s;
	const half_s = Z * Math.hypot(A.u_lag_s, B.u_lag_s);
	return row(
		{ what: 'lag', label: 'delay from header to sensor', unit: 's', shared: false, a: A.lag_s, b: B.lag_s },
		lag_s,
		[lag_s - half_s, lag_s + half_s],
		{ missing: 'no delay was found' },
	);
}

/** Wet weight on the ground that both cut: the second combine's, and how far the first is from it along the seams. */
function weightRow(jump: SeamJump, b: number, circular: string | null): ComparedRow {
	const to = (pct: number) => (b * pct) / 100;
	const a = b * (1 + jump.after_pct / 100);
	return row(
		{ what: 'scale_weight', label: 'wet weight per area', unit: 'kg/ha', shared: true, a, b },
		to(jump.after_pct),
		[to(jump.after_interval[0]), to(jump.after_interval[1])],
		{ tolerance: TOLERANCE * b, missing: TOO_LITTLE, circular },
	);
}

/** What the passes on both sides of each seam show, seam by seam; no row where none shows it. */
function passRow(
	what: 'speed' | 'moisture',
	label: string,
	unit: '%' | 'm/s',
	seams: readonly { a: number; b: number; w: number }[],
): ComparedRow[] {
	const good = seams.filter((v) => Number.isFinite(v.a) && Number.isFinite(v.b));
	if (good.length === 0) return [];
	const { difference, interval } = paired(
		good.map((v) => v.a - v.b),
		good.map((v) => v.w),
	);
	const W = good.reduce((s, v) => s + v.w, 0);
	const mean = (of: 'a' | 'b') => good.reduce((s, v) => s + v.w * v[of], 0) / W;
	const missing = 'they meet along one seam only';
	return [row({ what, label, unit, shared: true, a: mean('a'), b: mean('b') }, difference, interval, { missing })];
}

function yieldRow(
	{ after_pct, after_interval: [low_pct, high_pct] }: SeamJump,
	{ dryB, moisture_pct }: ReturnType<typeof sideBySide>,
	offsets: readonly MoistureOffset[],
	[a, b]: readonly [number, number],
	circular: string | null,
): ComparedRow {
	// Moisture offsets are uncertain too; a point of moisture changes dry yield by 1/(100 − M).
	const uM = Math.hypot(offsets[a]?.u_pct ?? 0, offsets[b]?.u_pct ?? 0) / (100 - moisture_pct);
	const low = after_pct / 100 - Math.hypot((after_pct - low_pct) / 100, Z * uM);
	const high = after_pct / 100 + Math.hypot((high_pct - after_pct) / 100, Z * uM);
	const dryA = dryB * (1 + after_pct / 100);
	return row(
		{ what: 'yield', label: 'dry yield', unit: 'kg/ha', shared: true, a: dryA, b: dryB },
		dryA - dryB,
		[low * dryB, high * dryB],
		{ tolerance: TOLERANCE * dryB, missing: TOO_LITTLE, circular },
	);
}

/** Remarks on the seam difference that remains after correction. */
function pairRemarks(
	A: ComparedCombine,
	B: ComparedCombine,
	jump: SeamJump | undefined,
	circular: string | null,
): string[] {
	if (!jump)
		return [`Combines ${A.name} and ${B.name} never cut side by side, so there is no shared ground to compare.`];
	const out = [...jump.remarks];
	if (!Number.isFinite(A.factor / B.factor) || !Number.isFinite(jump.after_pct)) return out;
	if (circular !== null) {
		out.push(
			`Whether ${A.name} and ${B.name} bring in the same from the same ground cannot be told: ${circular}. Weigh dumps of both.`,
		);
		return out;
	}
	const [low, high] = jump.after_interval;
	if (low > 0 || high < 0) {
		const less = jump.after_pct > 0 ? B.name : A.name;
		out.push(
			`A difference of ${Math.abs(jump.after_pct).toFixed(1)}% remains after correction: by the weights, ${less} brought in less ` +
				'from the same ground. Possible causes: grain left on the ground behind it, a header of another width than set, factors (as from two carts), ' +
				'or a crop that differed from pass to pass.',
		);
	} else {
		out.push(noneRemainsSentence(jump));
	}
	return out;
}
