import type { Match } from '../../model/index.ts';
import { durationText } from '../../units/index.ts';
import { findClock } from '../clock/find-clock.ts';
import type { Explained } from '../explained.ts';
import type { Supposition } from './supposition.ts';

/** Prior costs of one log's clock being off by whole or half hours (time zone, daylight saving time), and by anything else, nats. */
const HOURS = 6;
const ODD = 8;
const SHIFTS_S = [-7200, -3600, -1800, 1800, 3600, 7200];
/** Fewest dumps of one combine for an offset of its own. */
const ENOUGH = 3;
/** Offsets within this are equal, seconds. */
const SAME_S = 120;

/** The field with another clock in one combine's log. */
export function otherLogClocks(plain: Explained): Supposition[] {
	const { problem, input } = plain;
	const { combines } = input.records;
	if (combines.length < 2) return [];
	const list: Supposition[] = [];
	const found = combines.map((_, c) => {
		const observations = problem.observations.filter((s) => s.noted && s.combines.length === 1 && s.combines[0] === c);
		if (observations.filter((s) => Number.isFinite(s.time_s)).length < ENOUGH) return Number.NaN;
		return findClock({ ...problem, observations }, () => {}).offset_s;
	});
	const known = found.filter(Number.isFinite);
	if (known.length >= 2) {
		const main = known.sort((a, b) => Math.abs(a) - Math.abs(b))[0]!;
		found.forEach((offset_s, c) => {
			const off = offset_s - main;
			if (Number.isFinite(off) && Math.abs(off) > SAME_S) list.push(shifted(plain, c, off, [main]));
		});
		return list;
	}
	const at = plain.offset.at_s;
	combines.forEach((_, c) => {
		for (const off of SHIFTS_S) list.push(shifted(plain, c, off, [at - off, at + off]));
	});
	return list;
}

/** The field with the clock of combine c's log set back by `off` seconds. */
function shifted({ input }: Explained, c: number, off: number, offsets: number[]): Supposition {
	const { records } = input;
	const time_s = records.time_s.slice();
	for (let i = 0; i < records.n; i++) if (records.combine[i] === c) time_s[i]! -= off;
	const way = off > 0 ? 'ahead of' : 'behind';
	const near = Math.round(off / 1800) * 1800;
	return {
		input: { ...input, records: { ...records, time_s } },
		price: Math.abs(off - near) < 300 ? HOURS : ODD,
		caution: `The clock in combine ${records.combines[c]}'s log is ${durationText(off)} ${way} the other logs and the cart. Possible cause: a time zone or daylight saving setting. Its dumps are matched with that difference allowed for.`,
		offsets,
		undo(match: Match): void {
			for (const u of match.unloadings) {
				if (u.combine !== c) continue;
				u.start_s += off;
				u.end_s += off;
			}
			for (const fate of match.fates) {
				if (!fate.combines.includes(c)) continue;
				fate.start_s += off;
				fate.end_s += off;
			}
		},
	};
}
