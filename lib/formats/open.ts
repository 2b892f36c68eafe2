import { sha256 } from '@noble/hashes/sha2.js';
import { InputFault, type Source } from '../model/index.ts';
import { endingOf, head, type Loaded, load, stemOf } from './bytes.ts';
import { recognize } from './recognize.ts';
import type { RawBoundary, RawFile, RawSet, RawTable } from './table.ts';

/** Zips nested deeper than this are not exports. */
const DEEPEST_ZIP = 3;
/** Number of bytes needed to recognize a format. */
const START = 4096;

/** One file, and its recognized format. */
interface Met {
	source: Source;
	found: ReturnType<typeof recognize>;
}

/**
 * Reads all sources, opening zips and folders, into tables and boundaries. Files of unknown formats and files that
 * cannot be read are listed under `files` with the reason; one bad file never throws. A reader is loaded when a file
 * needs it.
 */
export async function readSources(sources: readonly Source[]): Promise<RawSet> {
	const set: RawSet = { files: [], tables: [], boundaries: [] };
	const met = await openAll(sources, set, 0);
	const used = new Set<Met>();
	for (const group of [...taskDataOf(met), ...shapefilesOf(met)]) {
		for (const part of group.parts) used.add(part);
		await readGroup(group, set);
	}
	for (const one of met) if (!used.has(one)) await readGroup({ main: one, parts: [one] }, set);
	return set;
}

/** Opens zips, in the order given; workbooks and zipped KML stay one file. */
async function openAll(sources: readonly Source[], set: RawSet, depth: number): Promise<Met[]> {
	const out: Met[] = [];
	for (const source of sources) {
		try {
			const found = recognize(source.name, await head(source, START));
			if (found.kind !== 'zip') {
				out.push({ source, found });
				continue;
			}
			const zip = await load(source);
			const { unzip } = await import('./zip/unpack.ts');
			const inside = unzip(zip);
			const whole = await readPacked(zip, inside, set);
			if (whole) continue;
			const nested = inside.some((s) => endingOf(s.name) === 'zip');
			if (nested && depth + 1 >= DEEPEST_ZIP) {
				set.files.push(
					fileOf([zip], 'zip', `zips in zips, ${DEEPEST_ZIP} deep; unpack them and open the files in them`),
				);
				continue;
			}
			set.files.push(fileOf([zip], 'zip', inside.length === 0 ? 'the zip is empty' : null));
			out.push(...(await openAll(inside, set, depth + 1)));
		} catch (fault) {
			const loaded = await load(source).catch(() => ({ name: source.name, bytes: new Uint8Array() }));
			set.files.push(fileOf([loaded], 'zip', reasonOf(fault)));
		}
	}
	return out;
}

/** Formats that are zips themselves. */
async function readPacked(zip: Loaded, inside: readonly Source[], set: RawSet): Promise<boolean> {
	const parts = new Map(inside.map((s) => [s.name.slice(zip.name.length + 1), s]));
	const kml =
		parts.get('doc.kml') ?? (endingOf(zip.name) === 'kmz' ? inside.find((s) => endingOf(s.name) === 'kml') : undefined);
	if (parts.has('xl/workbook.xml')) {
		await attempt([zip], 'spreadsheet', set, async () => {
			const { readSpreadsheet } = await import('./sheet/index.ts');
			return { tables: await readSpreadsheet(zip.name, parts) };
		});
		return true;
	}
	if (kml) {
		await attempt([zip], 'kml', set, async () => {
			const { readKml } = await import('./drawn/kml.ts');
			return { boundaries: readKml({ name: zip.name, bytes: (await load(kml)).bytes }) };
		});
		return true;
	}
	if (parts.has('content.xml') && parts.has('META-INF/manifest.xml')) {
		set.files.push(fileOf([zip], null, 'this is a spreadsheet of another form; save it as .xlsx or CSV and open that'));
		return true;
	}
	return false;
}

interface Group {
	main: Met;
	parts: Met[];
}

const folderOf = (name: string): string => name.slice(0, name.lastIndexOf('/') + 1);

/** TASKDATA.XML with every other file of its folder that belongs to the task data. */
function taskDataOf(met: readonly Met[]): Group[] {
	return met
		.filter((m) => m.found.kind === 'taskdata')
		.map((main) => {
			const folder = folderOf(main.source.name);
			const parts = met.filter(
				(m) =>
					m !== main &&
					folderOf(m.source.name) === folder &&
					/^((TLG|TSK|PFD|DVC|CTR|FRM|WKR|CTP|PDT|VPN|CCT|BSN|CCG|CPC|DTL|OTQ|PGP)\d{5}\.(xml|bin)|LINKLIST\.XML)$/i.test(
						m.source.name.slice(folder.length),
					),
			);
			return { main, parts: [main, ...parts] };
		});
}

/** .shp with the files of the same name beside it. */
function shapefilesOf(met: readonly Met[]): Group[] {
	return met
		.filter((m) => m.found.kind === 'shapefile' && endingOf(m.source.name) !== 'shx')
		.map((main) => {
			const stem = stemOf(main.source.name).toLowerCase();
			const parts = met.filter((m) => {
				const ending = m.source.name.slice(stem.length).toLowerCase();
				return (
					m !== main &&
					m.source.name.toLowerCase().startsWith(stem) &&
					/^(\.shp)?\.(shx|dbf|prj|cpg|qpj|sbn|sbx|qix|xml|cst)$/.test(ending)
				);
			});
			return { main, parts: [main, ...parts] };
		});
}

async function readGroup({ main, parts }: Group, set: RawSet): Promise<void> {
	const { found } = main;
	const loaded: Loaded[] = [];
	try {
		for (const { source } of parts) loaded.push(await load(source));
	} catch (fault) {
		set.files.push(fileOf([{ name: main.source.name, bytes: new Uint8Array() }], null, reasonOf(fault)));
		return;
	}
	const [first] = loaded as [Loaded];
	if (found.kind === null) {
		set.files.push(fileOf(loaded, null, found.why));
		return;
	}
	if (found.kind === 'shapefile' && endingOf(first.name) === 'shx') {
		set.files.push(fileOf(loaded, 'shapefile', 'the index of a shapefile; its .shp and .dbf are needed'));
		return;
	}
	const kind = found.kind === 'dbf' ? 'shapefile' : found.kind;
	await attempt(loaded, kind, set, async () => {
		switch (found.kind) {
			case 'taskdata': {
				const { readTaskData } = await import('./taskdata/index.ts');
				const folder = folderOf(first.name);
				const beside = new Map(loaded.slice(1).map((l) => [l.name.slice(folder.length).toUpperCase(), l]));
				return readTaskData({ main: first, beside });
			}
			case 'shapefile': {
				const { readShapefile } = await import('./shapefile/index.ts');
				const part = (ending: string) => loaded.find((l) => endingOf(l.name) === ending) ?? null;
				const text = (ending: string) => {
					const bytes = part(ending)?.bytes;
					return bytes ? new TextDecoder('latin1').decode(bytes) : null;
				};
				return readShapefile({ shp: first, dbf: part('dbf'), prj: text('prj'), cpg: text('cpg') });
			}
			case 'dbf': {
				const { readDbfAlone } = await import('./shapefile/index.ts');
				return { tables: [readDbfAlone(first)] };
			}
			case 'geopackage': {
				const { readGeopackage } = await import('./database/geopackage.ts');
				return readGeopackage(first);
			}
			case 'geojson': {
				const { readGeojson } = await import('./drawn/geojson.ts');
				return readGeojson(first);
			}
			case 'kml': {
				const { readKml } = await import('./drawn/kml.ts');
				return { boundaries: readKml(first) };
			}
			case 'gpx': {
				const { readGpx } = await import('./drawn/gpx.ts');
				return { tables: readGpx(first) };
			}
			default: {
				const { readText } = await import('./text/read.ts');
				return { tables: [readText(first.name, first.bytes)] };
			}
		}
	});
}

async function attempt(
	parts: readonly Loaded[],
	kind: RawFile['kind'],
	set: RawSet,
	read: () => Promise<{ tables?: RawTable[]; boundaries?: RawBoundary[] }>,
): Promise<void> {
	try {
		const { tables = [], boundaries = [] } = await read();
		set.tables.push(...tables);
		set.boundaries.push(...boundaries);
		set.files.push(
			fileOf(parts, kind, tables.length + boundaries.length === 0 ? 'it holds no records and no areas' : null),
		);
	} catch (fault) {
		set.files.push(fileOf(parts, kind, reasonOf(fault)));
	}
}

/** The reason in words, without the file's name, which is shown beside it. */
function reasonOf(fault: unknown): string {
	if (!(fault instanceof InputFault))
		return `it cannot be read: ${fault instanceof Error ? fault.message : String(fault)}`;
	return fault.faults.map((f) => (f.found === '' ? f.why : `${f.why} (found: ${f.found})`)).join('; ');
}

/** Entry of one file, or of several that belong together, under the name of the first. */
function fileOf(parts: readonly Loaded[], kind: RawFile['kind'], why: string | null): RawFile {
	const hash = sha256.create();
	for (const { bytes } of parts) hash.update(bytes);
	const hex = Array.from(hash.digest(), (b) => b.toString(16).padStart(2, '0')).join('');
	return { file: parts[0]!.name, bytes: parts.reduce((sum, p) => sum + p.bytes.length, 0), sha256: hex, kind, why };
}
