import type {
	Account,
	ComparedCombine,
	ComparedPair,
	ComparedRow,
	Comparison,
	Factors,
	FieldPlan,
	Match,
	MoistureOffset,
	Records,
	Seam,
	SeamJump,
	Track,
} from '../model/index.ts';
import { appliedFactor } from '../model/index.ts';
import { tQuantile } from '../stats/index.ts';
import { formatSigned, rangeText, TOLERANCE_PCT } from '../units/index.ts';
import { paired, row, welch } from './rows.ts';
import { type Day, dayOf } from './time.ts';

/** What a comparison is made from: every stage up to the corrected yields. */
export interface CompareInput {
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	factors: Factors;
	moisture: MoistureOffset[];
	seams: Seam[];
	/** Before and after correction. */
	jumps: SeamJump[];
	plan: FieldPlan;
}

/**
 * What an owner of two or more combines asks of one field: how much each did in how much time, what it waited for, and
 * where they differ, each difference with its 95 % interval and whether it is larger than chance.
 */
export function compareCombines(input: CompareInput): Comparison {
	const { records, account, factors } = input;
	const mass = Float64Array.from(account.account_kg, (m, i) => m * appliedFactor(factors.factor[i]!));
	const days = records.combines.map((name, c) =>
		dayOf(records, input.track, input.match, mass, c, input.plan.combines[name]?.tank_kg ?? null),
	);
	const all = records.combines.map((_, c) => combineOf(input, mass, days[c]!, c));
	const live = all.filter((c) => c.worked_s > 0);
	const pairs: ComparedPair[] = [];
	for (let i = 0; i < live.length; i++) {
		for (let j = i + 1; j < live.length; j++) pairs.push(pairOf(input, live[i]!, live[j]!, days));
	}
	return { combines: live, pairs, advice: fairTest(pairs) };
}

function combineOf(input: CompareInput, mass: Float64Array, day: Day, c: number): ComparedCombine {
	const { records, track, factors, moisture, plan } = input;
	const market = plan.crop.market_moisture_pct;
	const offset = moisture[c]?.offset_pct ?? 0;
	let area = 0;
	let total = 0;
	let way = 0;
	let seconds = 0;
	let water = 0;
	let watered = 0;
	let dry = 0;
	let dryArea = 0;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== c) continue;
		const a = Number.isFinite(track.area_m2[i]!) ? track.area_m2[i]! : 0;
		area += a;
		total += mass[i]!;
		if (track.flag[i] !== 0) continue;
		const t = records.interval_s[i]!;
		if (t > 0 && track.speed_m_s[i]! > 0) {
			way += t * track.speed_m_s[i]!;
			seconds += t;
		}
		const m = track.moisture_pct[i]! + offset;
		if (!Number.isFinite(m)) continue;
		water += m * mass[i]!;
		watered += mass[i]!;
		dry += (mass[i]! * (100 - m)) / (100 - market);
		dryArea += a;
	}
	const f = factors.factors[c]!;
	const lag = track.lags.find((l) => l.combine === c);
	const hours = day.worked_s / 3600;
	return {
		combine: c,
		name: records.combines[c]!,
		factor: f.value,
		factor_interval: f.interval,
		lag_s: lag?.lag_s ?? Number.NaN,
		u_lag_s: lag?.u_s ?? Number.NaN,
		area_ha: area / 1e4,
		mass_kg: total,
		worked_s: day.worked_s,
		area_ha_h: area / 1e4 / hours,
		mass_t_h: total / 1e3 / hours,
		time: day.time,
		speed_m_s: way / seconds,
		moisture_pct: water / watered,
		yield_kg_ha: dry / (dryArea / 1e4),
	};
}

/** A difference of this share matters: what a well calibrated monitor may be off. */
const TOLERANCE = TOLERANCE_PCT / 100;

function pairOf(input: CompareInput, A: ComparedCombine, B: ComparedCombine, days: readonly Day[]): ComparedPair {
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
		// Offsets of moisture are uncertain too, and a point of moisture is worth 1/(100 − M) of dry yield.
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

function rateRows(A: ComparedCombine, B: ComparedCombine, p: Day, q: Day): ComparedRow[] {
	const rows: ComparedRow[] = [];
	const add = (
		what: ComparedRow['what'],
		label: string,
		unit: ComparedRow['unit'],
		of: (d: Day['pieces'][number]) => number,
		a: number,
		b: number,
	) => {
		const w = welch(p.pieces.map(of), q.pieces.map(of));
		// The whole day's numbers are shown; the pieces tell how far they scatter.
		const shift = a - b - w.difference;
		rows.push(
			row({ what, label, unit, shared: false, a, b }, a - b, [w.interval[0] + shift, w.interval[1] + shift], {
				missing: 'less than half an hour of work',
			}),
		);
	};
	add('area_rate', 'area per hour', 'ha/h', (d) => d.area_m2 / 1e4 / (d.worked_s / 3600), A.area_ha_h, B.area_ha_h);
	add('mass_rate', 'wet weight per hour', 't/h', (d) => d.mass_kg / 1e3 / (d.worked_s / 3600), A.mass_t_h, B.mass_t_h);
	const kinds = [
		['cutting', 'cutting', 'cutting_s'],
		['turning', 'turning and driving', 'turning_s'],
		['dumping', 'dumping while not cutting', 'dumping_s'],
		['waiting', 'waiting with a full tank', 'waiting_s'],
		['standing', 'stopped otherwise', 'standing_s'],
	] as const;
	for (const [what, label, key] of kinds) {
		const share = (t: Day['time'], s: number) => (100 * t[key]) / s;
		add(
			what,
			label,
			'% of time',
			(d) => share(d.time, d.worked_s),
			share(A.time, A.worked_s),
			share(B.time, B.worked_s),
		);
	}
	return rows;
}

/** Passes of both on either side of a seam: one pair a seam, weighted by its length. */
function sideBySide(input: CompareInput, a: number, b: number) {
	const { seams, records, track, account, factors, moisture, plan } = input;
	const speed: { a: number; b: number; w: number }[] = [];
	const moist: { a: number; b: number; w: number }[] = [];
	let mass = 0;
	let dry = 0;
	let area = 0;
	let water = 0;
	for (const s of seams) {
		if (s.excluded !== null || s.combineA !== a || s.combineB !== b) continue;
		const both = [s.passA, s.passB].map((p) => {
			const c = track.passes[p]!.combine;
			const offset = moisture[c]?.offset_pct ?? 0;
			const sum = { way: 0, time: 0, water: 0, mass: 0, dry: 0, area: 0 };
			for (const i of track.passes[p]!.records) {
				if (track.flag[i] !== 0 || !(track.area_m2[i]! > 0)) continue;
				const m = account.account_kg[i]! * appliedFactor(factors.factor[i]!);
				const t = records.interval_s[i]!;
				const wet = track.moisture_pct[i]! + offset;
				if (!Number.isFinite(wet)) continue;
				sum.way += t * track.speed_m_s[i]!;
				sum.time += t;
				sum.water += m * wet;
				sum.mass += m;
				sum.dry += (m * (100 - wet)) / (100 - plan.crop.market_moisture_pct);
				sum.area += track.area_m2[i]!;
			}
			return sum;
		});
		const [p, q] = both as [(typeof both)[number], (typeof both)[number]];
		if (!(p.mass > 0) || !(q.mass > 0)) continue;
		const w = s.length_m;
		speed.push({ a: p.way / p.time, b: q.way / q.time, w });
		moist.push({ a: p.water / p.mass, b: q.water / q.mass, w });
		mass += q.mass;
		dry += q.dry;
		area += q.area;
		water += q.water;
	}
	return {
		speed,
		moisture: moist,
		wetB: area > 0 ? mass / (area / 1e4) : 0,
		dryB: area > 0 ? dry / (area / 1e4) : 0,
		moisture_pct: mass > 0 ? water / mass : 15,
	};
}

/** Do the weights and the seams tell the same story? */
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

function fairTest(pairs: readonly ComparedPair[]): string[] {
	if (pairs.length === 0) return ['Only one combine cut this field, so there is nothing to compare.'];
	return [
		'For a fair test, let both cut side by side, pass by pass, at your usual speeds.',
		'Swap sides after every few rounds, so that neither has the better side of the field.',
		'Empty both tanks fully before the first and after the last pass of the test.',
		'Weigh at least six dumps of each on the same cart, stopped and level.',
		'Check behind both for grain on the ground; no scale weighs it.',
	];
}
