import type { Loaded } from '../bytes.ts';
import { fileFault } from '../bytes.ts';
import type { RawBoundary, RawColumn, RawTable } from '../raw-table.ts';
import { boundariesOrRecords, namedApart, pointTable } from '../shapes.ts';
import { type Attributes, readDbf } from './read-dbf.ts';
import { readShp } from './shp.ts';

/** The parts of one shapefile that were given. */
export interface ShapefileParts {
	shp: Loaded;
	dbf: Loaded | null;
	/** Text of the .prj and the .cpg. */
	prj: string | null;
	cpg: string | null;
}

/**
 * Reads a shapefile: points become a table, areas boundaries.
 *
 * @throws InputFault if the shapes or the table beside them cannot be read
 */
export function readShapefile({ shp, dbf, prj, cpg }: ShapefileParts): {
	tables: RawTable[];
	boundaries: RawBoundary[];
} {
	const file = shp.name;
	const shapes = readShp(shp);
	if (shapes.kind === 'lines') {
		throw fileFault(file, 'lines', 'a shapefile of lines holds neither records nor an area; export the log as points');
	}
	const held = shapes.kind === 'points' ? shapes.x.length : shapes.rings.length;
	const table: Attributes = dbf
		? readDbf(dbf, cpg)
		: { n: held, columns: [], deleted: new Uint8Array(held), notes: [] };
	const notes = [...shapes.notes, ...table.notes];
	if (dbf === null) notes.push('The table of values (.dbf) is missing: only places are known.');
	if (prj === null) notes.push('The coordinate system (.prj) is missing.');
	if (table.n !== held)
		notes.push(`${held} shapes for ${table.n} rows; the first ${Math.min(held, table.n)} are read.`);
	const n = Math.min(held, table.n);
	const kept = Int32Array.from({ length: n }, (_, i) => i).filter((i) => table.deleted[i] === 0);
	if (kept.length < n) notes.push(`${n - kept.length} rows are marked as deleted and left out.`);
	const whole = kept.length === held && kept.length === table.n;
	const columns = whole ? table.columns : table.columns.map((c) => pick(c, kept));
	const crs = prj?.trim() || undefined;
	if (shapes.kind === 'polygons') {
		const rings = Array.from(kept, (i) => shapes.rings[i]!);
		return boundariesOrRecords({ file, kind: 'shapefile', rings, columns, crs, notes });
	}
	const numbers = (all: Float64Array) => (whole ? all : Float64Array.from(kept, (i) => all[i]!));
	const points = pointTable({
		file,
		kind: 'shapefile',
		x: numbers(shapes.x),
		y: numbers(shapes.y),
		z: shapes.z && { name: 'z', numbers: numbers(shapes.z) },
		rows: kept,
		columns,
		crs,
		meta: {},
		notes,
	});
	return { tables: [points], boundaries: [] };
}

function pick(c: RawColumn, rows: Int32Array): RawColumn {
	return c.numbers
		? { ...c, numbers: Float64Array.from(rows, (i) => c.numbers![i]!) }
		: { ...c, text: Array.from(rows, (i) => c.text![i]!) };
}

/**
 * Reads a dBASE table without shapes, the form in which some programs export lists.
 *
 * @throws InputFault if the bytes are not a dBASE table
 */
export function readDbfAlone(dbf: Loaded): RawTable {
	const { n, columns, deleted, notes } = readDbf(dbf, null);
	const kept = Int32Array.from({ length: n }, (_, i) => i).filter((i) => deleted[i] === 0);
	return {
		file: dbf.name,
		kind: 'shapefile',
		n: kept.length,
		columns: namedApart(columns.map((c) => pick(c, kept))),
		lines: kept.map((i) => i + 1),
		meta: {},
		notes: [...notes, 'This is the table of a shapefile without its shapes (.shp).'],
	};
}
