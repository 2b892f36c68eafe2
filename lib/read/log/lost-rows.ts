import { eastPerDeg_m, M_PER_DEG } from '../../geo/plane.ts';
import { caution, inTimeOrder, type LogPlan, type Note, type Records } from '../../model/index.ts';
import { hypotenuse } from '../../stats/index.ts';

/** A longer gap is a stop or a turn, not lost rows, seconds. */
const LONGEST_S = 20;
/** Headings before, over and after the gap within this angle go straight on: cos 30°, as places scatter by decimeters. */
const STRAIGHT = Math.cos(Math.PI / 6);
/** The way over the gap against the pace on either side. */
const PACE = [0.5, 1.5] as const;
/** Rows lost for less than this share of a log's time, or for seconds, are not worth a word. */
const SHARE = 0.01;
const SOME_S = 10;

/**
 * Seconds before each record that no row holds: a single row, or several that an export or a radio lost while the header was up
 * all along, or down while the machine went straight on at its pace. Null where there are none.
 */
export function lostRows(records: Records): Float64Array | null {
	const { n, time_s, interval_s, headerDown } = records;
	const lost_s = new Float64Array(n);
	let any = false;
	for (let c = 0; c < records.combines.length; c++) {
		const index = inTimeOrder(records, c);
		const raises = index.some((i) => headerDown[i] === 0);
		for (let k = 2; k + 1 < index.length; k++) {
			const [from, to] = [index[k - 1]!, index[k]!];
			const gap_s = time_s[to]! - time_s[from]! - interval_s[to]!;
			if (!(gap_s > 0.9 * interval_s[to]! && gap_s <= LONGEST_S)) continue;
			const single = gap_s < 1.5 * interval_s[to]!;
			if (!single) {
				// A log that writes nothing while the header is up has gaps of its own, at a waterway, say.
				if (!raises || headerDown[from] === -1 || headerDown[from] !== headerDown[to]) continue;
				if (headerDown[to] === 1 && !wentOn(records, [index[k - 2]!, from, to, index[k + 1]!])) continue;
			}
			lost_s[to] = gap_s;
			any = true;
		}
	}
	return any ? lost_s : null;
}

/** Whether a machine went straight on at its pace from the second of four records to the third. */
function wentOn(
	{ time_s, lat_deg, lon_deg }: Records,
	[a, b, c, d]: readonly [number, number, number, number],
): boolean {
	const east_m = eastPerDeg_m(lat_deg[c]!);
	const step = (i: number, j: number) => {
		const x = (lon_deg[j]! - lon_deg[i]!) * east_m;
		const y = (lat_deg[j]! - lat_deg[i]!) * M_PER_DEG;
		return { x, y, length: hypotenuse(x, y), s: time_s[j]! - time_s[i]! };
	};
	const [before, over, after] = [step(a, b), step(b, c), step(c, d)];
	const along = (way: typeof over) => (way.x * over.x + way.y * over.y) / (way.length * over.length);
	if (!(along(before) > STRAIGHT && along(after) > STRAIGHT)) return false;
	const expected_m = ((before.length / before.s + after.length / after.s) / 2) * over.s;
	return over.length > PACE[0] * expected_m && over.length < PACE[1] * expected_m;
}

/** What is said of a log whose rows were lost. */
export function lostNotes(records: Records, logs: readonly LogPlan[]): Note[] {
	const { lost_s } = records;
	if (lost_s === undefined) return [];
	const [lost, all] = [logs.map(() => 0), logs.map(() => 0)];
	for (let i = 0; i < records.n; i++) {
		lost[records.log[i]!]! += lost_s[i]!;
		all[records.log[i]!]! += records.interval_s[i]! || 0;
	}
	return logs.flatMap(({ file }, log) =>
		lost[log]! > Math.max(SOME_S, SHARE * all[log]!)
			? [
					caution(
						`${file}: rows for ${Math.round(lost[log]!)} s are missing within passes, ${((100 * lost[log]!) / all[log]!).toFixed(0)}% of the time it holds. The row after each gap stands for the time since the row before.`,
					),
				]
			: [],
	);
}
