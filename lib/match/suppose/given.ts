import type { Account, Factor, Factors, Match, Records } from '../../model/index.ts';
import { flowing } from '../problem/mass.ts';

/** Per combine, the factor for the files as given over the one that is solved under another unit (`Match.under`). */
export function restatedBy({ under }: Match, records: Records, account: Account): number[] | undefined {
	return (
		under &&
		records.combines.map((_, c) => {
			const by = flowing(records, under.account, c).total_kg / flowing(records, account, c).total_kg / under.weight_kg;
			return Number.isFinite(by) ? by : 1;
		})
	);
}

/**
 * Restates a match that was solved under another unit (`Match.under`) for the weights and logs as given, and its factors in
 * place, so that the factors of the records include the unit.
 */
export function inGivenUnits(solved: Match, factors: Factors, records: Records, account: Account): Match {
	const { under, ...rest } = solved;
	if (!under) return solved;
	const match: Match = structuredClone(rest);
	const u = under.weight_kg;
	for (const x of match.unloadings) {
		x.rest_kg /= u;
		x.u_rest_kg /= u;
		x.deduced_kg /= u;
		if (x.restPrior_kg !== undefined) x.restPrior_kg /= u;
		if (x.u_restPrior_kg !== undefined) x.u_restPrior_kg /= u;
	}
	for (const w of match.weighings) {
		w.weight_kg /= u;
		w.reference_kg /= u;
		w.u_reading_kg /= u;
		w.u_gross_kg = [w.u_gross_kg[0] / u, w.u_gross_kg[1] / u];
	}
	for (const s of [...match.start_kg, ...(match.startPrior_kg ?? [])]) {
		s.kg /= u;
		s.u_kg /= u;
	}
	const of = (i: number): number => (under.scale ? under.scale[i]! : 1) / u;
	for (let i = 0; i < records.n; i++) factors.factor[i]! *= of(i);
	restatedBy(solved, records, account)!.forEach((by, c) => {
		const given = flowing(records, account, c);
		for (const x of match.unloadings) {
			if (x.combine === c) x.account_kg = given.sum_kg[x.to]! - given.sum_kg[x.from]!;
		}
		if (!(given.total_kg > 0)) return;
		match.factors[c]! *= by;
		const f = factors.factors[c];
		if (!f) return;
		if (f.form === 'constant') stepsByUnit(f, given.index, given.time_s, of);
		else restate([...f.changes, ...f.knots, ...f.curve], by);
		const both = ([low, high]: [number, number]): [number, number] => [low * by, high * by];
		restate([f], by);
		f.interval = both(f.interval);
		f.next_interval = both(f.next_interval);
		if (f.weighed) f.weighed = { ...f.weighed, value: f.weighed.value * by, interval: both(f.weighed.interval) };
	});
	return match;
}

function restate(list: { value: number }[], by: number): void {
	for (const p of list) p.value *= by;
}

/** Turns a constant factor into steps where the log changes its unit. */
function stepsByUnit(f: Factor, index: Int32Array, time_s: Float64Array, of: (i: number) => number): void {
	const changes: Factor['changes'] = [];
	let last = Number.NaN;
	for (let k = 0; k < index.length; k++) {
		const s = of(index[k]!);
		if (s !== last) changes.push({ time_s: time_s[k]!, value: f.value * s });
		last = s;
	}
	if (changes.length < 2) return;
	f.form = 'step';
	f.changes = changes;
}
