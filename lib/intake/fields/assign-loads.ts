import { bisectCenter } from 'd3-array';
import { type Box, emptyBox, inBox, widen } from '../../geo/box.ts';
import type { SetAside } from '../../model/index.ts';
import type { LoadPart } from '../folder/loads-file.ts';
import type { CartTrack } from '../loads/cart-track.ts';
import type { LoadRow, LoadTable } from '../loads/load-table.ts';
import type { LogRows } from '../model.ts';
import type { FieldRows } from './find-fields.ts';

/** A cart waits beside a field; degrees of latitude, about a hundred meters. */
const BESIDE_DEG = 0.001;
/** After this long without a position, the cart's place is unknown, seconds. */
const SILENT_S = 300;

/** Allowance for the cart's clock and a truck's trip, seconds. */
const BEFORE_S = 3 * 3600;
const AFTER_S = 36 * 3600;
/** With one field only: a longer time outside the field's harvest means that the list covers other fields too. */
const SEASON_S = 5 * 86_400;

export interface FieldLoads {
	cart: LoadPart[];
	tickets: LoadPart[];
	trace: LoadPart[];
}

const same = (a: string, b: string): boolean => {
	const plain = (s: string) => s.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, '');
	return plain(a) !== '' && plain(a) === plain(b);
};

/** Assigns weights to fields: by the field that a row names, by the cart's position, by time, by the row before. */
export function assignLoads(
	tables: readonly LoadTable[],
	fields: readonly FieldRows[],
	/** The field in which the cart was at a time, −1 if unknown. */
	byTrack: (time_s: number) => number,
): { loads: FieldLoads[]; leftOut: SetAside[] } {
	const loads = fields.map((): FieldLoads => ({ cart: [], tickets: [], trace: [] }));
	const leftOut: SetAside[] = [];
	const seen = new Map<string, LoadTable>();
	for (const table of tables) {
		const whole = fields.length === 1 && !mostlyInside(table, fields[0]!);
		const leave = (row: LoadRow, found: string, why: string) =>
			leftOut.push({ file: table.table.file, row: row.line, column: null, found, why });
		let last = -1;
		for (const row of table.rows) {
			const untimed = Number.isNaN(row.time_s);
			const { ticket, id, combine, truck_load } = row.text;
			const key = [table.use, row.event, row.time_s, row.weight_kg.toFixed(1), ticket, id, combine, truck_load].join(
				'\t',
			);
			const before = seen.get(key) ?? table;
			seen.set(key, before);
			if (before !== table && table.use !== 'trace') {
				leave(row, String(row.weight_kg), `the same row is in ${before.table.file}: it counts once`);
				continue;
			}
			const named = row.text.field ?? '';
			let at = named === '' ? -1 : fields.findIndex((f) => same(f.name, named));
			if (at < 0 && fields.length === 1) {
				if (whole || untimed || fields[0]!.timeless || within(row.time_s, fields[0]!, SEASON_S, SEASON_S)) at = 0;
			}
			if (at < 0 && !untimed && fields.length > 1) at = byTrack(row.time_s);
			if (at < 0) at = untimed ? last : nearest(row.time_s, fields);
			if (at < 0) {
				leave(
					row,
					untimed ? '' : new Date(row.time_s * 1000).toISOString(),
					'no field was cut at that time, or the row names a field that is not here; add the log of that field',
				);
				continue;
			}
			last = at;
			loads[at]![table.use].push({ row, from: table });
		}
	}
	return { loads, leftOut };
}

/** Most rows should fall within the field's times; if they do not, the list's clock is wrong, not its rows. */
function mostlyInside(table: LoadTable, field: FieldRows): boolean {
	const timed = table.rows.filter((r) => !Number.isNaN(r.time_s));
	return timed.filter((r) => within(r.time_s, field, SEASON_S, SEASON_S)).length > timed.length / 2;
}

const within = (t: number, f: FieldRows, before: number, after: number): boolean =>
	t > f.start_s - before && t < f.end_s + after;

/** The field being cut at that time, or the last one before. */
function nearest(t: number, fields: readonly FieldRows[]): number {
	let best = -1;
	let least = Infinity;
	fields.forEach((f, k) => {
		if (!within(t, f, BEFORE_S, AFTER_S)) return;
		const off = t < f.start_s ? 3 * (f.start_s - t) : Math.max(0, t - f.end_s);
		if (off < least) [least, best] = [off, k];
	});
	return best;
}

/**
 * Field in which the cart was at a time, −1 if it was in none or may have been in several. The clocks of the list and
 * the receiver sometimes differ by minutes: this identifies the field, but not the combine it stood beside.
 */
export function fieldByTrack(
	tracks: readonly CartTrack[],
	fields: readonly FieldRows[],
	logs: readonly LogRows[],
): (time_s: number) => number {
	const boxes = fields.map((field) => boxOf(field, logs));
	return (time_s) => {
		const found = new Set<number>();
		for (const track of tracks) {
			const i = bisectCenter(track.time_s, time_s);
			if (Math.abs(track.time_s[i]! - time_s) > SILENT_S) continue;
			boxes.forEach((box, k) => {
				const [lat, lon] = [track.lat_deg[i]!, track.lon_deg[i]!];
				if (inBox(box, lon, lat)) found.add(k);
			});
		}
		return found.size === 1 ? [...found][0]! : -1;
	};
}

function boxOf(field: FieldRows, logs: readonly LogRows[]): Box {
	const box = emptyBox();
	for (const { log, rows } of field.parts) {
		const { lat_deg, lon_deg } = logs[log]!;
		for (const i of rows) {
			if (!Number.isNaN(lat_deg[i]! + lon_deg[i]!)) widen(box, lon_deg[i]!, lat_deg[i]!);
		}
	}
	const [west, south, east, north] = box;
	const across = BESIDE_DEG / Math.cos((((south + north) / 2) * Math.PI) / 180);
	return [west - across, south - BESIDE_DEG, east + across, north + BESIDE_DEG];
}
