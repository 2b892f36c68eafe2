/** Totals and flags of result.json. */
import { appliedFactor, FLAGS, type Result, type RunSoFar } from '../../model/index.ts';
import { dumpWeight_kg } from './dumps.ts';
import { fieldHalves } from './intervals.ts';

export function flagTable(run: RunSoFar): Result['flags'] {
	const rows = FLAGS.map((flag) => ({ flag: flag as string, records: 0, account_kg: 0 }));
	for (let i = 0; i < run.field.records.n; i++) {
		const row = rows[run.yields.flag[i]!];
		if (!row) continue;
		row.records++;
		row.account_kg += run.account.account_kg[i]!;
	}
	return rows.filter((row, code) => code > 0 && row.records > 0);
}

export function totals(run: RunSoFar): Result['totals'] {
	const { field, account, yields, match } = run;
	const { market_moisture_pct, bushel_kg } = field.plan.crop;
	let monitor_kg = 0;
	let corrected_kg = 0;
	let dry_kg = 0;
	const byCombine = field.records.combines.map(() => 0);
	for (let i = 0; i < field.records.n; i++) {
		const wet = account.account_kg[i]! * appliedFactor(run.factors.factor[i]!);
		monitor_kg += account.monitor_kg[i]!;
		corrected_kg += wet;
		byCombine[field.records.combine[i]!]! += wet;
		dry_kg += yields.dry_kg[i]!;
	}
	const dry_bu = dry_kg / bushel_kg;
	const moisture_pct = 100 - ((100 - market_moisture_pct) * dry_kg) / corrected_kg;
	const halves = fieldHalves(run, byCombine, moisture_pct);
	let cart_kg = 0;
	for (const fate of match.fates) {
		if (fate.status !== 'aside') cart_kg += dumpWeight_kg(run, fate.dump);
	}
	let ticket_kg = 0;
	for (const t of field.book.tickets) ticket_kg += t.net_kg;
	return {
		// All ground cut, including that of grain that arrived after a log stopped.
		area_ha: run.track.areas.cut_m2 / 10000,
		monitor_kg,
		corrected_kg,
		cart_kg,
		ticket_kg,
		dry_kg,
		dry_bu,
		corrected_interval: around(corrected_kg, halves.wet),
		dry_bu_interval: around(dry_bu, halves.dry),
	};
}

/** An interval from relative half-widths below and above; null where they are not known. */
function around(value: number, [below, above]: [number, number]): [number, number] | null {
	const interval: [number, number] = [value * (1 - below), value * (1 + above)];
	return interval.every(Number.isFinite) ? interval : null;
}
