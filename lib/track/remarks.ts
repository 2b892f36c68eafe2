import type { Lag, Note, Records, Track } from '../model/index.ts';
import { lengthInBoth } from '../units/index.ts';
import type { Refuted, SetWidth } from './ground/set-width.ts';
import type { Machine } from './path/machine.ts';

/** Remarks that limit trust in positions and ground. */
export function remarks(input: {
	records: Records;
	headers: { inferred: boolean }[];
	lags: Lag[];
	machines: readonly Machine[];
	widths: readonly SetWidth[];
	refutedWidths: readonly Refuted[];
	boundaryRefused: boolean;
	track: Track;
}): Note[] {
	const { records, headers, lags, machines, widths, refutedWidths, boundaryRefused, track } = input;
	const list: Note[] = [];
	const name = (c: number) => `Combine ${records.combines[c]}`;
	if (boundaryRefused) {
		list.push({
			level: 'caution',
			text: 'Much of the field was cut outside the boundary as drawn. Area is counted there too; records outside it are left off the map.',
		});
	}
	for (const [c, { path }] of machines.entries()) {
		if (path.n === 0) continue;
		const lag = lags[c]!;
		if (lag.source === 'assumed') {
			list.push({
				level: 'caution',
				text: `${name(c)}: header-to-sensor delay could not be estimated; ${lag.lag_s} s is assumed, and positions may be off by about 15 ft (5 m).`,
			});
		} else if (lag.source === 'estimated' && lag.u_s > 1.5) {
			list.push({
				level: 'caution',
				text: `${name(c)}: its header-to-sensor delay of ${lag.lag_s.toFixed(1)} s is known only to ±${(2 * lag.u_s).toFixed(1)} s.`,
			});
		}
		if (headers[c]!.inferred) {
			list.push({
				level: 'note',
				text: `${name(c)}: the log has no header position; it was worked out from how the machine moved and the grain that followed.`,
			});
		}
		const bad = path.bad.reduce((n, b) => n + b, 0);
		if (bad > 0.02 * path.n) {
			list.push({
				level: 'caution',
				text: `${name(c)}: ${bad} positions are missing, jump or repeat; they were filled in from the positions around them.`,
			});
		}
	}
	for (const [c, { header_m }] of machines.entries()) {
		const { excess_m, rows, u_m } = widths[c]!;
		if (excess_m === 0 && u_m === 0) continue;
		const off = lengthInBoth(Math.abs(excess_m));
		const how = `${name(c)}: its passes lie ${off} ${excess_m > 0 ? 'closer together' : 'farther apart'} than the ${lengthInBoth(header_m)} its header is set to.`;
		const taken = lengthInBoth(header_m - excess_m);
		list.push({
			level: 'caution',
			text:
				u_m > 0.02 * header_m
					? `${how} ${taken} is used, but the header of its neighbor may be the one set wrong. Check both header widths.`
					: Number.isFinite(rows)
						? `${how} ${taken} is used, ${Math.abs(rows) === 1 ? 'a row' : `${Math.abs(rows)} rows`} ${rows > 0 ? 'less' : 'more'}. Check the header width.`
						: `${how} ${taken} is used. Check the header width.`,
		});
	}
	for (const { combine, inUse_m } of refutedWidths) {
		const used = lengthInBoth(machines[combine]!.header_m - widths[combine]!.excess_m);
		list.push({
			level: 'caution',
			text:
				`${name(combine)}: its log gives a width of ${lengthInBoth(inUse_m)} for part of the work, but its passes there lie ` +
				`as far apart as the whole header is wide. ${used} is used. Check the header width.`,
		});
	}
	const { cut_m2, boundary_m2 } = track.areas;
	if (Number.isFinite(boundary_m2) && Math.abs(cut_m2 / boundary_m2 - 1) > 0.05) {
		const share = Math.abs(100 * (cut_m2 / boundary_m2 - 1)).toFixed(0);
		list.push({
			level: 'caution',
			text:
				cut_m2 < boundary_m2
					? `The area cut is ${share}% less than the area within the boundary. Possible causes: ground not cut yet, a combine whose log is missing, or another field’s boundary.`
					: `The area cut is ${share}% more than the area within the boundary. Possible causes: a header width set too large, or another field’s boundary.`,
		});
	}
	return list;
}
