/** The combines of result.json. */
import { appliedFactor, type Factor, type ResultCombine, type ResultFactor, type RunSoFar } from '../../model/index.ts';
import { isoTime } from './dumps.ts';
import { finite } from './finite.ts';

export function resultCombine(run: RunSoFar, c: number): ResultCombine {
	const { field, track, match, account } = run;
	const { records } = field;
	const lag = track.lags.find((l) => l.combine === c);
	const factor = run.factors.factors.find((f) => f.combine === c);
	const moisture = run.moisture.find((m) => m.combine === c);
	let count = 0;
	let flagged = 0;
	let monitor_kg = 0;
	let account_kg = 0;
	let corrected_kg = 0;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== c) continue;
		count++;
		if (run.yields.flag[i] !== 0) flagged++;
		monitor_kg += account.monitor_kg[i]!;
		account_kg += account.account_kg[i]!;
		corrected_kg += account.account_kg[i]! * appliedFactor(run.factors.factor[i]!);
	}
	return {
		lag_s: lag ? finite(lag.lag_s) : null,
		lag_u_s: lag ? finite(lag.u_s) : null,
		lag_source: lag?.source ?? 'assumed',
		records: count,
		flagged,
		fills: match.unloadings.filter((u) => u.combine === c).length,
		factor: factor ? resultFactor(factor, corrected_kg / account_kg) : null,
		moisture: {
			offset_pct: moisture?.offset_pct ?? 0,
			u_pct: moisture?.u_pct ?? 0.6,
			n: moisture?.n ?? 0,
			source: moisture?.source ?? 'none',
		},
		monitor_kg,
		account_kg,
		corrected_kg,
		advice: factor?.advice ?? [],
		budget: factor?.budget ?? [],
		more_dumps: factor ? finite(factor.moreDumps) : null,
	};
}

function resultFactor(f: Factor, value: number): ResultFactor | null {
	if (f.source === null || !Number.isFinite(f.value)) return null;
	return {
		form: f.form,
		value: Number.isFinite(value) && f.source !== 'pinned' ? value : f.value,
		u_rel: f.u_rel,
		interval: f.interval,
		next_interval: f.next_interval,
		n: f.n,
		source: f.source,
		...(f.source === 'pinned' ? { weighed: f.weighed ?? null } : {}),
		...(f.form === 'step' ? { changes: f.changes.map((p) => ({ time: isoTime(p.time_s)!, value: p.value })) } : {}),
		...(f.form === 'trend' ? { knots: f.knots.map((p) => ({ time: isoTime(p.time_s)!, value: p.value })) } : {}),
		...(f.form === 'flow' ? { curve: f.curve } : {}),
	};
}
