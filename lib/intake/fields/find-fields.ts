import type { RawBoundary } from '../../formats/index.ts';
import { type SetAside, wholeFile } from '../../model/index.ts';
import { groupBy, mode } from '../../stats/group.ts';
import type { Given, LogRows } from '../model.ts';
import { placesOf } from './cluster.ts';
import { type Flat, fillLabels, flatten, labelRows } from './label.ts';
import { type MachineRows, machineRows, nameFields, nameMachines, spanOf } from './machine-names.ts';

/** The rows of one field. */
export interface FieldRows {
	name: string;
	because: string;
	boundary: RawBoundary | null;
	/** Rows of the logs, by machine; machine and log are indices. */
	parts: { machine: number; log: number; rows: Int32Array }[];
	start_s: number;
	end_s: number;
	/** True if no log of the field knows the time of day. */
	timeless: boolean;
}

/** The logs that a field's rows are in, by index. */
export const logsOf = ({ parts }: Pick<FieldRows, 'parts'>): number[] => [...new Set(parts.map((p) => p.log))];

/** The fields of a drop. */
export interface FoundFields {
	fields: FieldRows[];
	/** Names of the machines. */
	names: string[];
	notes: string[];
	/** Boundaries without grain in them. */
	idle: RawBoundary[];
	/** Rows between fields. */
	leftOut: SetAside[];
}

/** A season is over after this long without a record, seconds. */
const SEASON_S = 60 * 86_400;

/** Separates the machines and the fields of all logs, and names both. `inCart`: combines that lists of loads name. */
export function findFields(
	logs: readonly LogRows[],
	given: (log: number) => Given,
	inCart: readonly string[],
	boundaries: readonly RawBoundary[],
): FoundFields {
	const machines = machineRows(logs);
	const { names, notes } = nameMachines(machines, logs, inCart, given);
	const { fields, travel, idle } = gatherFields(machines, logs, boundaries);
	nameFields(fields, logs);
	const why = 'recorded between fields or without a place near one, with no grain';
	const leftOut = travel.map(([machine, rows]) =>
		wholeFile(logs[machines[machine]!.log]!.table.file, `${rows.length} rows`, why),
	);
	return { fields, names, notes, idle, leftOut };
}

/** Sorts every machine's rows into fields: by boundaries, by the field that a file names, by ground, by season. */
function gatherFields(machines: readonly MachineRows[], logs: readonly LogRows[], boundaries: readonly RawBoundary[]) {
	const flat = flatten(machines, logs);
	const { n } = flat;
	const { place } = placesOf(flat.x, flat.y, flat.time_s, flat.machine, flat.works);
	const { label, reasons } = labelRows(flat, place, boundaries);
	fillLabels(flat, label);
	// A machine that cut one field alone was nowhere else.
	const cut = new Map<number, Set<string>>();
	for (let i = 0; i < n; i++) {
		if (label[i] === '') continue;
		const labels = cut.get(flat.machine[i]!) ?? new Set<string>();
		cut.set(flat.machine[i]!, labels.add(label[i]!));
	}
	for (let i = 0; i < n; i++) {
		const labels = cut.get(flat.machine[i]!);
		if (label[i] === '' && labels?.size === 1) label[i] = [...labels][0]!;
	}
	const groups = groupBy(label.keys(), (i) => label[i]!);
	const travel = groupBy(groups.get('') ?? [], (i) => flat.machine[i]!);
	groups.delete('');
	const fields: FieldRows[] = [];
	const used = new Set<number>();
	for (const [key, rows] of groups) {
		const seasons = bySeason(rows, flat.time_s);
		const at = key.startsWith('b:') ? Number(key.slice(2)) : -1;
		if (at >= 0) used.add(at);
		for (const season of seasons) {
			const boundary = at < 0 ? null : boundaries[at]!;
			const name =
				boundary?.name ??
				(key.startsWith('f:')
					? key.slice(2)
					: (mode(season.map((i) => flat.field[i]).filter((named) => named !== '')) ?? ''));
			const because = reasons.get(key) ?? 'connected ground';
			const rows = rowsOf(name, season, flat, machines, seasons.length > 1);
			const timeless = rows.parts.every((p) => logs[p.log]!.timeless);
			fields.push({ because, boundary, timeless, ...rows });
		}
	}
	fields.sort((a, b) => a.start_s - b.start_s);
	return { fields, travel: [...travel], idle: boundaries.filter((_, k) => !used.has(k)) };
}

function bySeason(rows: number[], time_s: Float64Array): number[][] {
	const order = [...rows].sort((a, b) => time_s[a]! - time_s[b]!);
	const out: number[][] = [];
	let last = Number.NaN;
	for (const i of order) {
		const t = time_s[i]!;
		if (out.length === 0 || t - last > SEASON_S) out.push([]);
		if (!Number.isNaN(t)) last = t;
		out.at(-1)!.push(i);
	}
	return out;
}

/** A field's rows by machine; its name has the year where there are several seasons. */
function rowsOf(
	name: string,
	rows: readonly number[],
	flat: Flat,
	machines: readonly MachineRows[],
	seasons: boolean,
): Pick<FieldRows, 'name' | 'parts' | 'start_s' | 'end_s'> {
	const { start_s, end_s } = spanOf(flat.time_s, rows);
	const year = seasons && Number.isFinite(start_s) ? ` ${new Date(start_s * 1000).getUTCFullYear()}` : '';
	return {
		name: `${name}${year}`.trim(),
		parts: [...groupBy(rows, (i) => flat.machine[i]!)].map(([machine, own]) => ({
			machine,
			log: machines[machine]!.log,
			rows: Int32Array.from(own, (i) => flat.row[i]!),
		})),
		start_s,
		end_s,
	};
}
