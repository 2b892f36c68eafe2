import type { MultiPolygon, Polygon } from 'geojson';
import type { Comparison } from './compare.ts';
import type { Factor } from './factor.ts';
import type { FieldPlan } from './field.ts';
import type { Ticket } from './load-book.ts';
import type { Contours } from './map.ts';
import type { DumpFate, Unloading } from './match.ts';
import type { Reference } from './reference.ts';
import type { Result } from './result.ts';
import type { SeamJump } from './seam.ts';

/** Kinds of the columns, in the order in which they are packed. One value per record, unless said. */
const columns = {
	/** Ground cut: rear-left, front-left, front-right, rear-right as x, y pairs; 8 per record, NaN where none. */
	corners_m: Float32Array,
	time_s: Float64Array,
	combine: Uint8Array,
	flag: Uint8Array,
	/** Index into `facts.fills`, −1 none. */
	fill: Int32Array,
	pass: Int32Array,
	area_m2: Float32Array,
	/** Wet mass as accounted, before the factor. */
	account_kg: Float32Array,
	/** Factor of the record; NaN where its combine has none. */
	factor: Float32Array,
	monitor_kg_ha: Float32Array,
	corrected_kg_ha: Float32Array,
	u_rel: Float32Array,
	/** The part of `u_rel` that a combine's records share. NaN where not known. */
	common_rel: Float32Array,
	moisture_pct: Float32Array,
	speed_m_s: Float32Array,
	flow_kg_s: Float32Array,
	/** The grid, row 0 northernmost; empty where there is none. */
	gridYield_kg_ha: Float32Array,
	gridSe_kg_ha: Float32Array,
	gridMonitor_kg_ha: Float32Array,
} as const;
type Columns = { -readonly [C in keyof typeof columns]: (typeof columns)[C]['prototype'] };
const names = Object.keys(columns) as (keyof Columns)[];

/**
 * What the viewer needs from a run: columns for drawing, facts for text. It is sent from the worker (or the
 * server) to the page as one block of bytes.
 *
 * Positions are meters east and south of `facts.origin`, in the web Mercator plane scaled to true length there:
 * conformal, and true to 0.1 % within 5 km.
 */
export interface Scene extends Columns {
	facts: SceneFacts;
	/** Records. */
	n: number;
}

/** Everything of a scene that is not a column. */
export interface SceneFacts {
	field: Pick<FieldPlan, 'name' | 'season' | 'client' | 'farm' | 'crop' | 'timeZone'>;
	/** The plan as read; null where only results were opened. */
	plan: FieldPlan | null;
	origin: { lon_deg: number; lat_deg: number };
	combines: string[];
	fills: string[];
	flags: string[];
	result: Result;
	/** Null where only results were opened. */
	evidence: SceneEvidence | null;
	outline: MultiPolygon | Polygon | null;
	seams: SceneSeam[];
	/** Corners of the grid: north-west, north-east, south-east, south-west, local meters. */
	grid: { columns: number; rows: number; cell_m: number; corners_m: [number, number][] } | null;
	/** null: not made yet, since few pages show them. */
	contours: Contours | null;
}

/** Evidence shown in the panels beside the map. */
export interface SceneEvidence {
	factors: Factor[];
	/** Covariance of the log factors between combines, row-major. */
	covariance: number[];
	reference: Reference;
	clockFit: { offset_s: number; cost: number }[];
	unloadings: Unloading[];
	fates: DumpFate[];
	tickets: Ticket[];
	jumps: SeamJump[];
	thresholds: Record<string, number>;
	/** Combines side by side; null where there is only one. */
	comparison: Comparison | null;
	inputs: { file: string; rows: number; bytes: number; sha256: string }[];
}

/** A seam between two combines, to be drawn. */
export interface SceneSeam {
	combineA: number;
	combineB: number;
	excluded: string | null;
	length_m: number;
	/** Middle line, local meters. */
	line_m: [number, number][];
	/** Weighted mean log jump of this seam's blocks as recorded; null where none. */
	log_jump: number | null;
}

/** "STLY", read little-endian. */
const magic = 0x594c5453;
const version = 1;
const aligned = (bytes: number) => (bytes + 7) & ~7;

/**
 * A scene as one block: magic, version, length of the header, the header as JSON (facts, lengths of the
 * columns), then each column on a multiple of eight bytes, little-endian. In the facts NaN and the
 * infinities become null.
 */
export function packScene(scene: Scene): Uint8Array<ArrayBuffer> {
	const lengths = names.map((name) => scene[name].length);
	const header = new TextEncoder().encode(JSON.stringify({ facts: scene.facts, n: scene.n, lengths }));
	let size = aligned(12 + header.length);
	for (const name of names) size = aligned(size + scene[name].byteLength);
	const bytes = new Uint8Array(size);
	const view = new DataView(bytes.buffer);
	view.setUint32(0, magic, true);
	view.setUint32(4, version, true);
	view.setUint32(8, header.length, true);
	bytes.set(header, 12);
	let at = aligned(12 + header.length);
	for (const name of names) {
		const column = scene[name];
		bytes.set(new Uint8Array(column.buffer, column.byteOffset, column.byteLength), at);
		at = aligned(at + column.byteLength);
	}
	return bytes;
}

/** The scene in a block made by `packScene`; its columns look into the block, nothing is copied. */
export function unpackScene(block: ArrayBuffer): Scene {
	const view = new DataView(block);
	if (block.byteLength < 12 || view.getUint32(0, true) !== magic) throw new Error('this is not a packed scene');
	if (view.getUint32(4, true) !== version) throw new Error('this scene was packed by another version');
	const length = view.getUint32(8, true);
	const header = JSON.parse(new TextDecoder().decode(new Uint8Array(block, 12, length))) as {
		facts: SceneFacts;
		n: number;
		lengths: number[];
	};
	let at = aligned(12 + length);
	const scene: Record<string, unknown> = { facts: header.facts, n: header.n };
	names.forEach((name, i) => {
		const column = new columns[name](block, at, header.lengths[i]!);
		scene[name] = column;
		at = aligned(at + column.byteLength);
	});
	return scene as unknown as Scene;
}
