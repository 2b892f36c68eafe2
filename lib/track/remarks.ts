import { type Account, caution, type Lag, type Note, type Records, remark, type Track } from '../model/index.ts';
import { lengthInBoth } from '../units/index.ts';
import type { Receivers } from './ground/receivers.ts';
import type { Refuted, SetWidth } from './ground/set-width.ts';
import type { Machine } from './path/machine.ts';
import type { Described } from './records/describe-records.ts';

interface RemarksInput {
	records: Records;
	account: Account;
	described: readonly Pick<Described, 'path' | 'outside'>[];
	headers: { inferred: boolean }[];
	lags: Lag[];
	machines: readonly Machine[];
	widths: readonly SetWidth[];
	refutedWidths: readonly Refuted[];
	receivers: Receivers;
	boundaryRefused: boolean;
	track: Track;
}

/** Remarks that limit trust in positions and ground. */
export function remarks(input: RemarksInput): Note[] {
	const { records, machines, widths, refutedWidths, boundaryRefused, track } = input;
	const name = (c: number) => `Combine ${records.combines[c]}`;
	const refused =
		'Much of the field was cut outside the boundary as drawn. Area is counted there too; records outside it are left off the map.';
	return [
		...(boundaryRefused ? [caution(refused)] : ofOutside(input)),
		...machines.flatMap((_, c) => ofPath(input, c, name(c))),
		...machines.flatMap((m, c) => ofWidth(m.header_m, widths[c]!, name(c))),
		...refutedWidths.map(({ combine, inUse_m }) => {
			const used = lengthInBoth(machines[combine]!.header_m - widths[combine]!.excess_m);
			return caution(
				`${name(combine)}: its log gives a width of ${lengthInBoth(inUse_m)} for part of the work, but its passes there lie ` +
					`as far apart as the whole header is wide. ${used} is used. Check the header width.`,
			);
		}),
		...machines.flatMap((_, c) => ofReceiver(input, c, name(c))),
		...ofArea(track.areas),
	];
}

/** A share of the grain from outside the boundary that is told: nearly none is where the boundary is right (below 0.02% over 16 simulated fields). */
const OUTSIDE = 0.005;

/** On grain from beyond a boundary that limits the ground. */
function ofOutside({ account, described }: RemarksInput): Note[] {
	let [outside_kg, all_kg] = [0, 0];
	for (const { path, outside } of described)
		for (let k = 0; k < path.n; k++) {
			const kg = account.account_kg[path.index[k]!]!;
			all_kg += kg;
			if (outside[k] === 1) outside_kg += kg;
		}
	const share = outside_kg / all_kg;
	if (!(share > OUTSIDE)) return [];
	return [
		caution(
			`${(100 * share).toFixed(1)}% of the grain was cut outside the boundary. Its weight counts in the totals, its ground does not. Check the boundary, and whether the logs hold records of another field.`,
		),
	];
}

/** On a combine's delay, header and positions. */
function ofPath({ machines, lags, headers }: RemarksInput, c: number, name: string): Note[] {
	const { path } = machines[c]!;
	const { source, lag_s, u_s } = lags[c]!;
	const list: Note[] = [];
	if (path.n === 0) return list;
	if (source === 'assumed')
		list.push(
			caution(
				`${name}: header-to-sensor delay could not be estimated; ${lag_s} s is assumed, and positions may be off by about 15 ft (5 m).`,
			),
		);
	if (source === 'estimated' && u_s > 1.5)
		list.push(
			caution(
				`${name}: its header-to-sensor delay of ${lag_s.toFixed(1)} s is known only to ±${(2 * u_s).toFixed(1)} s.`,
			),
		);
	if (headers[c]!.inferred)
		list.push(
			remark(
				`${name}: the log has no header position; it was worked out from how the machine moved and the grain that followed.`,
			),
		);
	const bad = path.bad.reduce((n, b) => n + b, 0);
	if (bad > 0.02 * path.n)
		list.push(
			caution(
				`${name}: ${bad} positions are missing, jump or repeat; they were filled in from the positions around them.`,
			),
		);
	return list;
}

/** On a header whose passes lie closer together or farther apart than it is wide. */
function ofWidth(header_m: number, { excess_m, rows, u_m }: SetWidth, name: string): Note[] {
	if (excess_m === 0 && u_m === 0) return [];
	const off = lengthInBoth(Math.abs(excess_m));
	const how = `${name}: its passes lie ${off} ${excess_m > 0 ? 'closer together' : 'farther apart'} than the ${lengthInBoth(header_m)} its header is set to.`;
	const used = `${how} ${lengthInBoth(header_m - excess_m)} is used`;
	if (u_m > 0.02 * header_m)
		return [caution(`${used}, but the header of its neighbor may be the one set wrong. Check both header widths.`)];
	const some = Math.abs(rows) === 1 ? 'a row' : `${Math.abs(rows)} rows`;
	const why = Number.isFinite(rows) ? `, ${some} ${rows > 0 ? 'less' : 'more'}` : '';
	return [caution(`${used}${why}. Check the header width.`)];
}

/** Receivers agree within this with good corrections; beyond it something is set wrong, meters (common practice). */
const OFF_M = 1.5;

/** On positions that seams show to be far off. */
function ofReceiver({ receivers, records }: RemarksInput, c: number, name: string): Note[] {
	const [right_m, east_m, north_m] = [receivers.right_m[c]!, receivers.east_m[c]!, receivers.north_m[c]!];
	const list: Note[] = [];
	if (Math.abs(right_m) > OFF_M)
		list.push(
			caution(
				`${name}: its positions lie ${lengthInBoth(Math.abs(right_m))} to the ${right_m > 0 ? 'right' : 'left'} of where its passes show it drove. ` +
					'They are moved back. Check the offset of the receiver from the middle of the machine.',
			),
		);
	const apart_m = Math.hypot(east_m, north_m);
	if (apart_m > OFF_M)
		list.push(
			caution(
				`${name}: its positions lie ${lengthInBoth(apart_m)} off those of combine ${records.combines[0]}, as their passes show. ` +
					'They are moved there. Check that both receivers use the same correction signal and datum.',
			),
		);
	return list;
}

/** On an area cut that is not the boundary's. */
function ofArea({ cut_m2, boundary_m2 }: Track['areas']): Note[] {
	const off = cut_m2 / boundary_m2 - 1;
	if (!Number.isFinite(boundary_m2) || !(Math.abs(off) > 0.05)) return [];
	const than = `The area cut is ${Math.abs(100 * off).toFixed(0)}% ${off < 0 ? 'less' : 'more'} than the area within the boundary.`;
	const causes =
		off < 0
			? 'ground not cut yet, a combine whose log is missing, a header width set too small, positions that are far off, or another field’s boundary'
			: 'a header width set too large, or another field’s boundary';
	return [caution(`${than} Possible causes: ${causes}.`)];
}
