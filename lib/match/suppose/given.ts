import { type Account, curveOf, type Factor, type Factors, type Match, type Records } from '../../model/index.ts';
import { firstFrom } from '../../stats/index.ts';
import { type Flowing, flowing } from '../problem/mass.ts';

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
	}
	for (const w of match.weighings) {
		w.weight_kg /= u;
		w.reference_kg /= u;
		w.u_reading_kg /= u;
		w.u_gross_kg = [w.u_gross_kg[0] / u, w.u_gross_kg[1] / u];
	}
	for (const s of match.start_kg) {
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
		restate(f.curve, by);
		if (under.saturation?.combine !== c) restateInTime(f, given, of);
		else if (f.form === 'constant') Object.assign(f, { form: 'flow', curve: curveOf(under.saturation, f.value) });
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

/** Restates knots and steps by the unit at their time; where the log changes its unit, the factor steps. */
function restateInTime(f: Factor, { index, time_s }: Flowing, of: (i: number) => number): void {
	for (const p of f.knots) p.value *= of(index[Math.min(firstFrom(time_s, p.time_s), index.length - 1)]!);
	if (f.form !== 'constant' && f.form !== 'step') return;
	const steps = f.form === 'step' ? f.changes : [{ time_s: -Infinity, value: f.value }];
	const changes: Factor['changes'] = [];
	for (let k = 0, j = 0; k < index.length; k++) {
		while (j + 1 < steps.length && steps[j + 1]!.time_s <= time_s[k]!) j++;
		const value = steps[j]!.value * of(index[k]!);
		if (value === changes.at(-1)?.value) continue;
		const begins = steps[j]!.time_s > (time_s[k - 1] ?? -Infinity);
		changes.push({ time_s: begins ? steps[j]!.time_s : time_s[k]!, value });
	}
	if (changes.length < 2) return;
	f.form = 'step';
	f.changes = changes;
}
