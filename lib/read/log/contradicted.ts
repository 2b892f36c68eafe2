/** Columns of a log that its other columns contradict throughout: they count as missing, and that is said. */
import { apart_m } from '../../geo/plane.ts';
import { caution, inTimeOrder, type Records } from '../../model/index.ts';
import { columnOf, median } from '../../stats/index.ts';
import type { LogColumns, LogContext } from './log-columns.ts';

/** Positions that lie farther apart than this are of a machine that moved, meters. */
const MOVED_M = 50;
/** Grain is recorded while the header is down; above this share with the header up, the column looks inverted. */
const RAISED_SHARE = 0.6;
/** An unloading auger runs for a tenth of the time or so; above this share the column looks inverted, or stuck. */
const UNLOADING_SHARE = 0.5;

/** Distances that are all zero though the machine moved, intervals that are never above zero, a header that is up over the grain, an auger that hardly stops. */
export function dropContradicted({ growing, notes }: LogContext, file: string, columns: LogColumns): void {
	const { records } = growing;
	const say = (text: string) => notes.push(caution(`${file}: ${text}`));
	const name = (into: keyof Records) => columns.numbers.find((number) => number.into === into)?.name;
	const interval = name('interval_s');
	if (interval !== undefined) withUsualSteps(records, interval, say);
	const distance = name('distance_m');
	if (distance !== undefined && zeroThoughMoved(records)) {
		records.distance_m.fill(Number.NaN, 0, records.n);
		say(`column ${distance} is never above 0: distance traveled is computed from the positions.`);
	}
	const raised = raisedShare(records);
	if (columns.header !== null && raised > RAISED_SHARE) {
		records.headerDown.fill(-1, 0, records.n);
		say(
			`${Math.round(100 * raised)}% of the grain came while column ${columns.header.name} says that the header was up. Are 0 and 1 exchanged? The column is not used; the header is worked out from movement and flow.`,
		);
	}
	const unloading = unloadingShare(records);
	if (columns.auger !== null && unloading > UNLOADING_SHARE) {
		records.augerOn.fill(-1, 0, records.n);
		say(
			`column ${columns.auger.name} says that the unloading auger ran for ${Math.round(100 * unloading)}% of the rows. Are 0 and 1 exchanged? The column is not used.`,
		);
	}
}

/** Share of the records with a signal of the auger in which it runs. */
function unloadingShare({ n, augerOn }: Records): number {
	let [on, known] = [0, 0];
	for (let i = 0; i < n; i++) {
		if (augerOn[i] !== -1) known++;
		if (augerOn[i] === 1) on++;
	}
	return on / known;
}

/** Where no row has seconds, each stands for the usual time between rows. */
function withUsualSteps(records: Records, column: string, say: (text: string) => void): void {
	const { n, interval_s, time_s } = records;
	for (let i = 0; i < n; i++) if (interval_s[i]! > 0) return;
	records.combines.forEach((_, c) => {
		const index = inTimeOrder(records, c);
		const steps = columnOf(index, (i, k) => (k > 0 ? time_s[i]! - time_s[index[k - 1]!]! : Number.NaN));
		const usual_s = median(steps.filter((s) => s > 0));
		if (!(usual_s > 0)) return;
		for (const i of index) interval_s[i] = usual_s;
		say(`column ${column} is never above 0: each row is taken to stand for the usual time between rows, ${usual_s} s.`);
	});
}

function zeroThoughMoved({ n, distance_m, lat_deg, lon_deg }: Records): boolean {
	let moved = false;
	for (let i = 0; i < n; i++) {
		if (distance_m[i]! > 0) return false;
		moved ||= apart_m(lon_deg[i]!, lat_deg[i]!, lon_deg[0]!, lat_deg[0]!) > MOVED_M;
	}
	return moved;
}

/** Share of the grain that came while the header was up, of what came while it is known. */
function raisedShare({ n, flow_kg_s, interval_s, headerDown }: Records): number {
	let [raised_kg, known_kg] = [0, 0];
	for (let i = 0; i < n; i++) {
		const kg = flow_kg_s[i]! * interval_s[i]!;
		if (!(kg > 0) || headerDown[i] === -1) continue;
		known_kg += kg;
		if (headerDown[i] === 0) raised_kg += kg;
	}
	return raised_kg / known_kg;
}
