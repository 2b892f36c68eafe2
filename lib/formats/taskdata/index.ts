/** Task data of ISO 11783-10: a table for each harvesting machine of each time log, a boundary for each partfield. */
import { InputFault } from '../../model/index.ts';
import { fileFault, type Loaded } from '../bytes.ts';
import type { RawBoundary, RawColumn, RawTable } from '../raw-table.ts';
import { namedApart, polygonOf } from '../shapes.ts';
import { type Device, type Document, readDocument, type Task } from './document.ts';
import { ENTRIES, HARVEST, twoBits } from './entries.ts';
import { held, type Logged, readTimeLog, type TimeLog } from './timelog.ts';

export interface TaskDataParts {
	main: Loaded;
	/** The other files of the same folder by name in capitals. */
	beside: ReadonlyMap<string, Loaded>;
}

/**
 * Reads task data.
 *
 * @throws InputFault if TASKDATA.XML cannot be read, or if it names time logs and none can be read
 */
export function readTaskData({ main, beside }: TaskDataParts): { tables: RawTable[]; boundaries: RawBoundary[] } {
	const document = readDocument(main, beside);
	const folder = main.name.slice(0, main.name.lastIndexOf('/') + 1);
	const tables: RawTable[] = [];
	const faults: InputFault[] = [];
	for (const task of document.tasks) {
		for (const log of task.logs) {
			const name = log.toUpperCase();
			const [header, records] = [beside.get(`${name}.XML`), beside.get(`${name}.BIN`)];
			try {
				if (!header || !records) {
					throw fileFault(
						`${folder}${log}`,
						header ? 'no .BIN' : 'no .XML',
						'a time log is two files, .XML and .BIN; add the missing one',
					);
				}
				tables.push(...tablesOf(readTimeLog(header, records), task, document, `${folder}${log}`));
			} catch (fault) {
				if (!(fault instanceof InputFault)) throw fault;
				faults.push(fault);
			}
		}
	}
	if (tables.length === 0 && faults.length > 0) throw new InputFault(faults.flatMap((f) => f.faults));
	const [first] = tables;
	first?.notes.unshift(...document.notes, ...faults.flatMap((f) => f.message.split('\n')));
	const boundaries = document.partfields.flatMap((p): RawBoundary[] => {
		const geometry = polygonOf(p.polygons);
		if (geometry === null) return [];
		return [
			{
				file: main.name,
				kind: 'taskdata',
				name: p.name,
				fieldId: p.id,
				geometry,
				properties: { area_m2: p.area_m2, crop: p.crop, client: p.client, farm: p.farm },
				notes: first ? [] : document.notes,
			},
		];
	});
	return { tables, boundaries };
}

/** One table per harvesting machine; if there is none, one table of everything, which lists what was logged. */
function tablesOf(log: TimeLog, task: Task, document: Document, file: string): RawTable[] {
	const deviceOf = (l: Logged) => document.elements.get(l.element)?.device ?? null;
	const devices = [...new Set(log.logged.filter((l) => HARVEST.has(l.entry)).map(deviceOf))];
	return (devices.length === 0 ? [undefined] : devices).map((device) => {
		const logged = device === undefined ? log.logged : log.logged.filter((l) => deviceOf(l) === device);
		const name = devices.length > 1 ? `${file} (${device?.name ?? '?'})` : file;
		return tableOf({ log, logged, device: device ?? null, task, document, file: name });
	});
}

/** What one device logged in a task. */
interface DeviceLog {
	log: TimeLog;
	logged: readonly Logged[];
	device: Device | null;
	task: Task;
	document: Document;
	file: string;
}

function tableOf({ log, logged, device, task, document, file }: DeviceLog): RawTable {
	const columns: RawColumn[] = [timeColumn(log, task)];
	const place = (name: string, numbers: Float64Array | null, as: 'lat' | 'lon' | 'elevation', unit: string) => {
		if (numbers) columns.push({ name, numbers, as, unit, certain: true });
	};
	place('lat', log.lat_deg, 'lat', 'deg');
	place('lon', log.lon_deg, 'lon', 'deg');
	if (log.elevation_m?.some((v) => v !== 0 && Math.abs(v) < 9000))
		place('elevation', log.elevation_m, 'elevation', 'm');
	if (log.fix) columns.push({ name: 'position status', numbers: log.fix });
	const notes = [...log.notes];
	const byEntry = new Map<number, Logged[]>();
	for (const l of logged) {
		if (l.values.some(Number.isFinite)) byEntry.set(l.entry, [...(byEntry.get(l.entry) ?? []), l]);
	}
	for (const [entry, ones] of byEntry) columns.push(...columnsOf(entry, ones, document, device, notes));
	return {
		file,
		kind: 'taskdata',
		n: log.n,
		columns: namedApart(columns),
		lines: Int32Array.from({ length: log.n }, (_, i) => i + 1),
		meta: metaOf(log, task, device),
		totals: totalsOf(byEntry),
		notes,
	};
}

/** Times from the receiver are UTC; times from the controller's clock are local, or offset as given in the task. */
function timeColumn(log: TimeLog, task: Task): RawColumn {
	const base = { name: 'time', as: 'time', unit: 's', certain: true } as const;
	if (log.utc_s) return { ...base, numbers: log.utc_s, since: '1970-01-01T00:00:00Z' };
	const offset = offsetOf(log, task);
	return { ...base, numbers: log.time_s, since: `1970-01-01T00:00:00${offset ?? ''}` };
}

/** The offset that a task gives with its start, if that start is when the log begins. */
function offsetOf(log: TimeLog, task: Task): string | null {
	for (const start of task.starts) {
		const parts = /^(.*T.*?)(Z|[-+]\d\d:?\d\d)$/.exec(start);
		if (!parts || log.n === 0) continue;
		if (Math.abs(Date.parse(`${parts[1]}Z`) / 1000 - log.time_s[0]!) < 900) return parts[2]!;
	}
	return null;
}

function metaOf(log: TimeLog, task: Task, device: Device | null): RawTable['meta'] {
	const stated = Object.entries({
		device: device ? device.name : '',
		task: task.name || task.id,
		field: task.field,
		fieldId: task.fieldId,
		client: task.client,
		farm: task.farm,
		crop: task.crop,
	}).filter(([, text]) => text !== '');
	const utc = log.utc_s !== null || offsetOf(log, task) !== null;
	return { ...Object.fromEntries(stated), timeScale: utc ? 'utc' : 'local' };
}

/** Elements that represent the whole machine: the device, its function, a unit of it. */
const WHOLE = new Set([1, 2, 5]);
/** Quantities of sections that add up to the machine's. */
const ADD_UP = new Set([67, 87, 90, 116, 182, 183]);

function columnsOf(
	entry: number,
	ones: Logged[],
	document: Document,
	device: Device | null,
	notes: string[],
): RawColumn[] {
	const known = ENTRIES[entry];
	const code = `entry ${entry}`;
	const columnOf = (l: Logged, leads: boolean): RawColumn => {
		const element = document.elements.get(l.element);
		const values = held(l.values);
		const bits = entry === 141 || entry === 240;
		const scaled =
			known && (known.resolution !== 1 || bits)
				? values.map((v) => (bits ? twoBits(v) : v * known.resolution))
				: values;
		const name = known ? known.name : code;
		const title = device?.titles.get(entry);
		return {
			name: leads ? name : `${name}, ${element?.name || l.element}`,
			numbers: scaled,
			...(known?.unit ? { unit: known.unit } : {}),
			title: title ? `${title} (${code})` : code,
			...(leads && known?.as ? { as: known.as, certain: true } : {}),
			...(known?.basis ? { basis: known.basis } : {}),
		};
	};
	if (ones.length === 1) return [columnOf(ones[0]!, true)];
	const whole = ones.filter((l) => WHOLE.has(document.elements.get(l.element)?.type ?? 0));
	const counted = (l: Logged) => l.values.reduce((n, v) => n + (Number.isFinite(v) ? 1 : 0), 0);
	if (whole.length > 0) {
		const lead = whole.reduce((a, b) => (counted(b) > counted(a) ? b : a));
		return [columnOf(lead, true), ...ones.filter((l) => l !== lead).map((l) => columnOf(l, false))];
	}
	const parts = ones.map((l) => columnOf(l, false));
	if (!known?.as || !ADD_UP.has(entry)) {
		// The first with the most values is used.
		const lead = ones.reduce((a, b) => (counted(b) > counted(a) ? b : a));
		return [columnOf(lead, true), ...ones.filter((l) => l !== lead).map((l) => columnOf(l, false))];
	}
	notes.push(`${known.name} is logged by ${ones.length} sections; their sum is taken.`);
	const n = parts[0]!.numbers!.length;
	const sum = new Float64Array(n);
	for (let i = 0; i < n; i++) {
		const there = parts.map((p) => p.numbers![i]!).filter(Number.isFinite);
		sum[i] = there.length === 0 ? Number.NaN : there.reduce((a, b) => a + b, 0);
	}
	return [{ ...columnOf(ones[0]!, true), numbers: sum }, ...parts];
}

/** How much a counter rose within the log; a counter reset to zero continues from there. */
function totalsOf(byEntry: ReadonlyMap<number, Logged[]>): NonNullable<RawTable['totals']> {
	const rise = (entry: number): number | undefined => {
		const ones = byEntry.get(entry);
		if (!ones) return undefined;
		const rises = ones.map(({ values }) => {
			let [sum, before] = [0, Number.NaN];
			for (const v of values) {
				if (!Number.isFinite(v)) continue;
				if (v > before) sum += v - before;
				before = v;
			}
			return sum * (ENTRIES[entry]?.resolution ?? 1);
		});
		return Math.max(...rises);
	};
	const totals = { wet_kg: rise(90), area_m2: rise(116) };
	return Object.fromEntries(Object.entries(totals).filter(([, v]) => v !== undefined && v > 0));
}
