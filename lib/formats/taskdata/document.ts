/** TASKDATA.XML of ISO 11783-10, versions 3 and 4: the part that the logs need, by the attributes' letters. */
import type { Loaded } from '../bytes.ts';
import { fileFault } from '../bytes.ts';
import { below, childrenOf, type Element, readTree } from '../xml/scan-xml.ts';

export interface DeviceElement {
	id: string;
	/** 1 device, 2 function, 3 bin, 4 section, 5 unit, 6 connector, 7 navigation reference. */
	type: number;
	name: string;
	device: Device;
}

export interface Device {
	name: string;
	elements: DeviceElement[];
	/** The device's own names for its entries (DeviceProcessData). */
	titles: ReadonlyMap<number, string>;
}

interface Named {
	id: string;
	name: string;
	client: string;
	farm: string;
	crop: string;
}

export interface Task extends Named {
	field: string;
	fieldId: string;
	/** Names of its time logs, without extension. */
	logs: string[];
	/** Starts as given. */
	starts: string[];
}

export interface Partfield extends Named {
	/** Polygons: an outer ring, then holes; [lon, lat] unchanged. */
	polygons: [number, number][][][];
	area_m2: number | null;
}

export interface Document {
	elements: ReadonlyMap<string, DeviceElement>;
	tasks: Task[];
	partfields: Partfield[];
	notes: string[];
}

/**
 * Reads the task data document.
 *
 * @param main - TASKDATA.XML
 * @param linked - the other XML files of the folder by name in capitals, for tasks and fields in separate files (XFR)
 * @throws InputFault if it is not task data
 */
export function readDocument(main: Loaded, linked: ReadonlyMap<string, Loaded>): Document {
	const { root, broke } = readTree(main.name, main.bytes);
	if (root.name !== 'ISO11783_TaskData') {
		throw fileFault(main.name, `<${root.name}>`, 'expected task data of ISO 11783-10, <ISO11783_TaskData>');
	}
	const notes = broke === null ? [] : [`${main.name} breaks off at ${broke}; what comes before it is read.`];
	const top = [...root.children];
	for (const link of childrenOf(root, 'XFR')) {
		const file = linked.get(`${(link.attributes.A ?? '').toUpperCase()}.XML`);
		if (file) top.push(...readTree(file.name, file.bytes).root.children);
		else notes.push(`${link.attributes.A}.XML belongs to the task data and is missing.`);
	}
	const all = (name: string) => top.filter((e) => e.name === name);
	const elements = new Map<string, DeviceElement>();
	for (const dvc of all('DVC')) for (const e of deviceOf(dvc).elements) elements.set(e.id, e);
	const named = (list: Element[], id: string | undefined, ...keys: string[]) => {
		const found = list.find((e) => e.attributes.A === id);
		return found
			? keys
					.map((k) => found.attributes[k] ?? '')
					.join(' ')
					.trim()
			: '';
	};
	const client = (id: string | undefined) => named(all('CTR'), id, 'C', 'B');
	const farm = (id: string | undefined) => named(all('FRM'), id, 'B');
	const partfields = all('PFD').map((pfd): Partfield => {
		const a = pfd.attributes;
		const area = Number(a.D);
		return {
			id: a.A ?? '',
			name: a.C?.trim() || a.B || a.A || '',
			polygons: polygonsOf(pfd),
			area_m2: a.D && Number.isFinite(area) && area > 0 ? area : null,
			crop: named(all('CTP'), a.G, 'B'),
			client: client(a.E),
			farm: farm(a.F),
		};
	});
	const tasks = all('TSK').map((tsk): Task => {
		const a = tsk.attributes;
		const field = partfields.find((p) => p.id === a.E);
		return {
			id: a.A ?? '',
			name: a.B?.trim() ?? '',
			client: client(a.C) || (field?.client ?? ''),
			farm: farm(a.D) || (field?.farm ?? ''),
			field: field?.name ?? '',
			fieldId: a.E ?? '',
			crop: field?.crop ?? '',
			logs: childrenOf(tsk, 'TLG').map((t) => t.attributes.A ?? ''),
			starts: childrenOf(tsk, 'TIM').map((t) => t.attributes.A ?? ''),
		};
	});
	return { elements, tasks, partfields, notes };
}

function deviceOf(dvc: Element): Device {
	const a = dvc.attributes;
	const device: Device = {
		name: a.B?.trim() || a.A || '',
		elements: [],
		titles: new Map(
			childrenOf(dvc, 'DPD').map((d) => [Number.parseInt(d.attributes.B ?? '', 16), d.attributes.E?.trim() ?? '']),
		),
	};
	device.elements = childrenOf(dvc, 'DET').map((det) => ({
		id: det.attributes.A ?? '',
		type: Number(det.attributes.C),
		name: det.attributes.D?.trim() ?? '',
		device,
	}));
	return device;
}

/** A field's own outline (PLN of type 1, or without a type) with its holes; lines of other types are left out. */
function polygonsOf(pfd: Element): Partfield['polygons'] {
	return childrenOf(pfd, 'PLN').flatMap((pln) => {
		if ((pln.attributes.A ?? '1') !== '1') return [];
		const rings = (type: string) =>
			childrenOf(pln, 'LSG').flatMap((lsg) => {
				if (lsg.attributes.A !== type) return [];
				const ring = [...below(lsg, 'PNT')]
					.map((p): [number, number] => [Number(p.attributes.D), Number(p.attributes.C)])
					.filter(([lon, lat]) => Math.abs(lat) <= 90 && Math.abs(lon) <= 180);
				return ring.length >= 3 ? [ring] : [];
			});
		const outer = rings('1');
		return outer.map((ring, i) => (i === 0 ? [ring, ...rings('2')] : [ring]));
	});
}
