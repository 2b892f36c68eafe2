import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { InputFault, type Source } from '../model/index.ts';
import { endingOf, head, type Loaded, load, stemOf } from './bytes.ts';
import type { RawBoundary, RawFile, RawSet, RawTable } from './raw-table.ts';
import { type Readable, type Recognized, recognize } from './recognize.ts';

/** Zips nested deeper than this are not exports. */
const DEEPEST_ZIP = 3;
/** Number of bytes needed to recognize a format. */
const START = 4096;

/** One file, and its recognized format. */
interface Met {
	source: Source;
	found: Exclude<Recognized, { kind: 'zip' }>;
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
			if (await readPacked(zip, inside, set)) continue;
			if (depth + 1 >= DEEPEST_ZIP && inside.some((s) => endingOf(s.name) === 'zip')) {
				const why = `zips in zips, ${DEEPEST_ZIP} deep; unpack them and open the files in them`;
				set.files.push(fileOf([zip], 'zip', why));
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
		await attempt([zip], 'kml', set, async () => READERS.kml({ name: zip.name, bytes: (await load(kml)).bytes }, []));
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
	await attempt(loaded, kind, set, () => READERS[found.kind](first, loaded));
}

type Contents = { tables?: RawTable[]; boundaries?: RawBoundary[] };

/** Reads a file of each format, with the parts that belong to it. */
const READERS: Record<Readable, (main: Loaded, parts: readonly Loaded[]) => Promise<Contents>> = {
	taskdata: async (main, parts) => {
		const { readTaskData } = await import('./taskdata/index.ts');
		const folder = folderOf(main.name);
		const beside = new Map(parts.slice(1).map((l) => [l.name.slice(folder.length).toUpperCase(), l]));
		return readTaskData({ main, beside });
	},
	shapefile: async (shp, parts) => {
		const { readShapefile } = await import('./shapefile/index.ts');
		const part = (ending: string) => parts.find((l) => endingOf(l.name) === ending) ?? null;
		const text = (ending: string) => {
			const bytes = part(ending)?.bytes;
			return bytes ? new TextDecoder('latin1').decode(bytes) : null;
		};
		return readShapefile({ shp, dbf: part('dbf'), prj: text('prj'), cpg: text('cpg') });
	},
	dbf: async (main) => ({ tables: [(await import('./shapefile/index.ts')).readDbfAlone(main)] }),
	geopackage: async (main) => (await import('./database/geopackage.ts')).readGeopackage(main),
	geojson: async (main) => (await import('./drawn/geojson.ts')).readGeojson(main),
	kml: async (main) => ({ boundaries: (await import('./drawn/kml.ts')).readKml(main) }),
	gpx: async (main) => ({ tables: (await import('./drawn/gpx.ts')).readGpx(main) }),
	text: async (main) => ({ tables: [(await import('./text/read.ts')).readText(main.name, main.bytes)] }),
};

async function attempt(
	parts: readonly Loaded[],
	kind: RawFile['kind'],
	set: RawSet,
	read: () => Promise<Contents>,
): Promise<void> {
	try {
		const { tables = [], boundaries = [] } = await read();
		set.tables.push(...tables);
		set.boundaries.push(...boundaries);
		const empty = tables.length + boundaries.length === 0;
		set.files.push(fileOf(parts, kind, empty ? 'it holds no records and no areas' : null));
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
	const bytes = parts.reduce((sum, p) => sum + p.bytes.length, 0);
	return { file: parts[0]!.name, bytes, sha256: bytesToHex(hash.digest()), kind, why };
}
