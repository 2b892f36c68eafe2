import { caution, type Note } from '../../model/index.ts';
import { utcText } from '../../units/index.ts';
import type { LogRecords } from './gaps.ts';

/** A flow above 0 that stays the same for this long, turns and stops among it, is not measured, seconds. */
const STUCK_S = 180;

/** Stretches of a log over which its flow above 0 never changes. */
export function stuckNotes({ records, log, index }: LogRecords): Note[] {
	const { flow_kg_s, time_s, combine } = records;
	const column = log.columns?.flow?.column ?? log.columns?.yield?.column ?? 'flow_kg_s';
	const notes: Note[] = [];
	for (let first = 0, i = 1; i <= records.n; i++) {
		const goes = i < records.n && records.log[i] === index && flow_kg_s[i] === flow_kg_s[first];
		if (goes && combine[i] === combine[first]) continue;
		const [from_s, to_s] = [time_s[first]!, time_s[i - 1]!];
		const lasts_s = to_s - from_s;
		if (records.log[first] === index && flow_kg_s[first]! > 0 && lasts_s > STUCK_S) {
			notes.push(
				caution(
					`${log.file}: column ${column} stays the same from ${utcText(from_s)} for ${Math.round(lasts_s / 60)} min. Was the sensor stuck, or disconnected? The grain counted there is a guess.`,
				),
			);
		}
		first = i;
	}
	return notes;
}
