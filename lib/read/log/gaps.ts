import { caution, type LogPlan, type Note, type Records } from '../../model/index.ts';
import { upperMedian } from '../../stats/index.ts';
import { massInBoth } from '../../units/index.ts';

/** One log among the records of all. */
export interface LogRecords {
	records: Records;
	log: LogPlan;
	index: number;
}

/** A gap of at least this length is a break, not lost records. */
const LONGEST_S = 120;
/** Flow on both sides of a gap that shows that grain came through: a share of the usual flow. */
const FLOWING = 0.6;

/** Grain that came through while nothing was recorded in a log: there is flow before and after the gap. */
export function gapNotes({ records, log, index }: LogRecords): Note[] {
	const { gaps, lost_s, lost_kg } = gapsOf(records, index);
	// Every log loses one or two records at random.
	if (!(lost_kg > 0) || (gaps < 3 && lost_s < 10)) return [];
	return [
		caution(
			`${log.file}: ${gaps} ${gaps === 1 ? 'gap' : 'gaps'} of ${Math.round(lost_s)} s in all, with grain flowing before and after: about ${massInBoth(lost_kg)} came through that no record holds.`,
		),
	];
}

function gapsOf(r: Records, log: number): { gaps: number; lost_s: number; lost_kg: number } {
	const flows: number[] = [];
	for (let i = 0; i < r.n; i++) if (r.log[i] === log && r.flow_kg_s[i]! > 0) flows.push(r.flow_kg_s[i]!);
	const usual_kg_s = upperMedian(flows);
	let gaps = 0;
	let lost_s = 0;
	let lost_kg = 0;
	for (let i = 1; i < r.n; i++) {
		const j = i - 1;
		if (r.log[i] !== log || r.log[j] !== log || r.combine[i] !== r.combine[j]) continue;
		const missing_s = r.time_s[i]! - r.time_s[j]! - r.interval_s[i]! - (r.lost_s?.[i] ?? 0);
		if (!(missing_s > Math.max(2, 2 * r.interval_s[i]!) && missing_s < LONGEST_S)) continue;
		const [before, after] = [r.flow_kg_s[j]!, r.flow_kg_s[i]!];
		if (!(before > FLOWING * usual_kg_s && after > FLOWING * usual_kg_s)) continue;
		gaps++;
		lost_s += missing_s;
		lost_kg += (missing_s * (before + after)) / 2;
	}
	return { gaps, lost_s, lost_kg };
}
